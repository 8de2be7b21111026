"""
What the ceiling costs
======================

Light paths are traced once and hold no reflectance, so any paint is answered from them in milliseconds. Here the ceiling goes from
white to black, and the checkerboard contrast with it.
"""

# %%
import halfgain as hg
import matplotlib.pyplot as plt
import numpy as np

room = hg.trace("light-lounge", error=0.02)

# %%
# Every `with_...` gives a new object on the same paths; nothing is traced again.
paints = np.linspace(0.02, 0.85, 12)
quick = [room.with_finish("ceiling", float(paint)).quick() for paint in paints]
contrast = np.array([each.checkerboard[0] for each in quick])  # (paints, seats); the first replicate is the mean

# %%
figure, axes = plt.subplots()
for seat, line in zip(room.scene.seats, contrast.T, strict=True):
    axes.plot(paints, line, label=seat.name)
axes.set(xlabel="reflectance of the ceiling", ylabel="checkerboard contrast, dark room", ylim=(0, None))
axes.legend()

assert np.all(np.diff(contrast, axis=0) < 0.0)  # a lighter ceiling never helps
