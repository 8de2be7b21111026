"""Linear RGB on BT.709 primaries to luminance and to CIE 1976 u'v'."""

from __future__ import annotations

import numpy as np

from ...materials.tint import LUMINANCE_WEIGHTS

# Source: ITU-R BT.709-6 primaries and D65 white; rows X, Y, Z from linear R, G, B (rounded matrix of the recommendation's
# chromaticities, recomputed in the tests from the primaries).
XYZ_FROM_RGB = np.array(
    [
        [0.4123907992659595, 0.3575843393838780, 0.1804807884018343],
        [0.2126390058715104, 0.7151686787677559, 0.0721923153607337],
        [0.0193308187155918, 0.1191947797946259, 0.9505321522496608],
    ]
)


def luminance(rgb: np.ndarray) -> np.ndarray:
    """Luminance of linear RGB, or of one grey channel.

    rgb      (..., 3) or (..., 1) [any unit]
    returns  (...) in the same unit
    Source: ITU-R BT.709-6, item 3.2.
    """
    return rgb[..., 0] if rgb.shape[-1] == 1 else rgb @ np.array(LUMINANCE_WEIGHTS)


def chromaticity_uv(rgb: np.ndarray) -> np.ndarray:
    """CIE 1976 u', v' of linear RGB.

    rgb      (..., 3), or (..., 1) for grey [any unit]
    returns  (..., 2) u', v' [1]; NaN where there is no light
    Source: ISO/CIE 11664-5: u' = 4X / (X + 15Y + 3Z), v' = 9Y / (X + 15Y + 3Z).
    """
    if rgb.shape[-1] == 1:
        rgb = np.repeat(rgb, 3, axis=-1)
    xyz = rgb @ XYZ_FROM_RGB.T
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.stack([4.0 * xyz[..., 0], 9.0 * xyz[..., 1]], axis=-1) / (xyz @ [1.0, 15.0, 3.0])[..., None]


WHITE_UV = chromaticity_uv(np.ones(3))
