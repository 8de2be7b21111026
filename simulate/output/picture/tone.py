"""Luminance to a picture for a display, by a stated curve with a stated adaptation level."""

from __future__ import annotations

import io

import numpy as np

from ...measuring.colour import luminance
from ...views.content import to_srgb

KEY = 0.18
ADAPTED_SHARE = 0.1  # of the picture's white: between the screen and a dark room around it
_HEADROOM = 1.1


def tone_mapped(cd_m2: np.ndarray, *, adaptation_cd_m2: float, white_cd_m2: float) -> np.ndarray:
    """sRGB bytes (H, W, 3) of luminances (H, W, 3) [cd/m2].

    adaptation_cd_m2  luminance shown as 18 % grey;  white_cd_m2  luminance that comes out a little below display white
    Source: E. Reinhard et al., Photographic tone reproduction, SIGGRAPH 2002, equations 2 and 4, without local dodging;
    colours keep their ratios.
    """
    y = luminance(cd_m2)
    scaled = KEY * y / adaptation_cd_m2
    top = _HEADROOM * KEY * white_cd_m2 / adaptation_cd_m2
    display = scaled * (1.0 + scaled / top**2) / (1.0 + scaled)
    rgb = cd_m2 * np.divide(display, y, out=np.zeros_like(y), where=y > 0.0)[..., None]
    return (255.0 * to_srgb(rgb) + 0.5).astype(np.uint8)


def words(adaptation_cd_m2: float, white_cd_m2: float) -> str:
    """The curve and its levels [cd/m2] in one line."""
    return (
        f"photographic curve of Reinhard et al. 2002 on luminance, 18 % grey at the adaptation level {adaptation_cd_m2:.4g}"
        f" cd/m2, burn-out at {_HEADROOM * white_cd_m2:.4g} cd/m2; sRGB"
    )


def png_bytes(rgb: np.ndarray, notes: dict[str, str]) -> bytes:
    """PNG of sRGB bytes (H, W, 3), uint8, with its notes as text. Source: ISO/IEC 15948."""
    from PIL import Image
    from PIL.PngImagePlugin import PngInfo

    info = PngInfo()
    for name, text in notes.items():
        info.add_text(name, text)
    data = io.BytesIO()
    Image.fromarray(rgb).save(data, format="PNG", pnginfo=info)
    return data.getvalue()
