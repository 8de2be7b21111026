"""
What comes through the cloth
============================

A thin white cloth lets a part of the picture through to the wall behind it, and a light wall sends it back on the black patches. Here
its transmittance rises, before a white wall and with black cloth between.
"""

# %%
import halfgain as hg
import matplotlib.pyplot as plt
import numpy as np

room = hg.load_scene("dark-room").with_finish("front", 0.6)
through = np.array([0.05, 0.15, 0.25])


# %%
# What does not come through is sent back or kept, so the gain stays below one less the transmittance.
def contrast(transmittance: float, *, backed: bool) -> float:
    """Of the checkerboard at the first seat."""
    fabric = {"gain": 0.7, "kind": "diffuse", "transmittance": float(transmittance)}
    scene = room.change({"screen.fabric": fabric, "screen.backed": backed})
    return hg.measure(scene, error=0.1).seats[0].checkerboard.value


bare = np.array([contrast(each, backed=False) for each in through])
black = contrast(through[0], backed=True)

# %%
figure, axes = plt.subplots()
axes.plot(through, bare, "o-", label="white wall behind")
axes.axhline(black, color="black", label="black cloth between")
axes.set(xlabel="transmittance of the cloth", ylabel="checkerboard contrast, dark room", ylim=(0, None))
axes.legend()

assert np.all(np.diff(bare) < 0.0)
assert bare[-1] < 0.5 * black
