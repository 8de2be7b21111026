"""
A fabric from a measured curve
==============================

A goniometer gives gain against view angle, with noise. A fit gives families of lobes with their errors, and a fabric to put into a
room; the difference it makes is judged on the same light paths.
"""

# %%
import halfgain as hg
import numpy as np

angles = np.arange(0.0, 75.0, 5.0)
true = 0.45 + 0.95 * np.exp(-0.5 * (angles / 24.0) ** 2)
noise = np.random.default_rng(7).normal(0.0, 0.01, len(angles))
fit = hg.fit(view_deg=angles, gain=true + noise, gain_sd=np.full(len(angles), 0.01))
for line in fit.fits[:3]:
    print(f"{line.family:24} rms {line.rms:.4f}  information criterion {line.aic:.1f}  albedo {line.albedo:.3f}")

# %%
# The best family as a fabric, against the matt white of the library.
mine = fit.to_fabric("my sheet")
compared = hg.compare("wide-row", fabric=["matt white", mine], error=0.03)
compared

# %%
# The frame holds every figure with its difference from the reference, and whether there is one.
frame = compared.to_frame()
print(
    frame[(frame.variant == "my sheet") & (frame.figure == "checkerboard_ratio")][
        ["seat", "value", "relative_difference", "verdict"]
    ]
)

assert fit.verdict == "possible"
assert abs(mine.gain - 1.4) < 0.05
