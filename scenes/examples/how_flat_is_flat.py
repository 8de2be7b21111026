"""
How flat is flat
================

The same motorised screen with its estimated folds made smaller and larger. A ratio above one can be seen in an even bright picture.
"""

# %%
import halfgain as hg
import matplotlib.pyplot as plt

wall = hg.load_scene("short-throw-wall").with_hang("motorised")
scales = [0.1, 0.3, 1.0, 3.0]
levels = ("low", "typical", "high")
ratios: dict[str, list[float]] = {level: [] for level in levels}
for scale in scales:
    found = hg.measure(wall.with_fold_scale(scale), error=0.2)
    for level in levels:
        ratios[level].append(max(seat.levels[level].visible.ratio for seat in found.folds.seats))

# %%
figure, axes = plt.subplots()
for level in levels:
    axes.plot(scales, ratios[level], marker="o", label=f"{level} estimate")
axes.axhline(1.0, color="grey", linewidth=1)
axes.set(
    xscale="log", yscale="symlog", xlabel="folds as a multiple of the estimate", ylabel="times the eye's threshold, worst seat"
)
axes.legend()

assert ratios["high"] == sorted(ratios["high"])  # more depth is never less visible
