"""
What a measured gain curve leaves open
======================================

A gain curve is measured at a dozen angles, with two per cent of noise, light along the normal. Several families of lobes fit it about
as well, and differ where nobody measured. How much of that reaches a seat? The same curve is measured four times, each time fitted
with six families, and every fabric is hung in five rooms: 120 variants, in each room on the same light paths.
"""

# %%
import halfgain as hg
import matplotlib.pyplot as plt
import numpy as np

FAMILIES = {  # name here: family of the fit, and the kind where light along the normal cannot tell it
    "gaussian": ("gaussian on a base", None),
    "cosine-power": ("cosine-power on a base", None),
    "half-vector": ("half-vector on a base", None),
    "half-vector, no base": ("half-vector", None),
    "the points": ("measured", None),
    "gaussian about the light": ("gaussian on a base", "retro-reflective"),
}
ROOMS = ("long-lounge", "dark-room", "wide-row", "quiet-room", "light-lounge")
NOISE, MEASUREMENTS = 0.02, 4

true = hg.fabric("pearl")
view_deg = np.arange(0.0, 76.0, 7.5)
curve = true.profile.gain(np.radians(view_deg))


def fitted(name, measurement):
    """The fabric that one family makes of one noisy measurement of the curve."""
    noise = 1.0 + NOISE * np.random.default_rng(measurement).standard_normal(len(view_deg))
    family, kind = FAMILIES[name]
    report = hg.fit(view_deg=view_deg, gain=curve * noise, gain_sd=NOISE * curve, family=family, kind=kind)
    return report.to_fabric(f"{name} {measurement}")


# %%
# A study takes fabrics made in code as it takes names; hangs are set to a frame, so that folds play no part.
fabrics = [fitted(family, k) for family in FAMILIES for k in range(MEASUREMENTS)]
result = hg.study(
    {
        "title": "What a measured gain curve leaves open",
        "scenes": [hg.load_scene(name).with_hang("fixed frame") for name in ROOMS],
        "outputs": ["white_cd_m2", "checkerboard_ratio"],
        "states": ["dark"],
        "error": 0.02,
        "factor": [{"name": "fabric", "key": "screen.fabric", "values": [true, *fabrics]}],
    }
)
frame = result.to_frame()
assert not result.failed

# %%
# Each figure over that of the true fabric, seat by seat: what a designer would be wrong by.
truth = frame[frame.fabric == true.name].set_index(["scene", "seat", "figure"]).value
found = frame[frame.fabric != true.name].set_index(["scene", "seat", "figure"])
found["error"] = 100.0 * (found.value / truth.reindex(found.index) - 1.0)
found = found.reset_index()
found[["family", "measurement"]] = found.fabric.str.rsplit(" ", n=1, expand=True)
scenes = list(dict.fromkeys(found.scene))

figure, rows = plt.subplots(2, len(scenes), figsize=(13.0, 6.0), sharey="row", layout="constrained")
for row, (key, name) in zip(rows, (("white_cd_m2", "white"), ("checkerboard_ratio", "contrast")), strict=True):
    for axes, scene, room in zip(row, scenes, ROOMS, strict=True):
        for i, family in enumerate(FAMILIES):
            here = found[(found.scene == scene) & (found.figure == key) & (found.family == family)]
            axes.plot(np.full(len(here), i), here.error, "o", ms=3.5, alpha=0.45)
        axes.axhline(0.0, color="0.6", lw=0.8)
        axes.set_xticks(
            range(len(FAMILIES)), FAMILIES if key == "checkerboard_ratio" else [], rotation=50, ha="right", fontsize=8
        )
        axes.set_title(room if key == "white_cd_m2" else "", fontsize=10)
    row[0].set_ylabel(f"{name}, off by [%]")
figure.suptitle("One gain curve, six families, four noisy measurements; a dot a seat")

# %%
# Two per cent of noise leave white within one per cent where the family is that of the sheet; another family that fits about as well
# moves it by one to three. What the curve never asked moves it by ten and more: whether the lobe stands about the mirror direction or
# about the light. No finer measurement along the normal would tell, one oblique angle does.
spread = found[found.figure == "white_cd_m2"].groupby("family").error.agg(lambda errors: float(np.sqrt(np.mean(errors**2))))
print(spread.round(1).to_string())

assert spread["gaussian"] < 3.0
assert spread["gaussian about the light"] > 2.0 * spread["gaussian"]
