"""What the screen shows, by name: its zones' levels for the room's light, and its picture for the browser."""

from __future__ import annotations

import io
from functools import lru_cache

import numpy as np

from ..views.charts import CHARTS
from ..views.content import Content, load_content

LEAST_ASPECT, LARGEST_ASPECT = 0.2, 6.0
_WIDEST, _LEAST = 1920, 864


@lru_cache(maxsize=64)
def content(name: str, aspect: float) -> Content:
    """A chart or an even level by name; aspect is width / height [1]. raises PictureError where there is none of that name"""
    if name not in CHARTS and not name.endswith("%"):
        name = "%"  # no file of that name is looked for
    return load_content(name, aspect)


def zones(name: str, aspect: float) -> tuple[np.ndarray, float]:
    """Levels (192, C) [1] of the zones of a picture by name and its mean level [1]. raises PictureError"""
    return _zones(name, round(aspect, 3))


@lru_cache(maxsize=64)
def _zones(name: str, aspect: float) -> tuple[np.ndarray, float]:
    shown = content(name, aspect)
    return shown.zones(), shown.level


@lru_cache(maxsize=32)
def chart_png(name: str, aspect: float) -> bytes:
    """A chart as a grey PNG, sRGB. raises KeyError for an unknown one"""
    from PIL import Image

    chart = CHARTS[name](min(max(round(aspect, 3), LEAST_ASPECT), LARGEST_ASPECT))
    pixels = (255.0 * np.asarray(chart) + 0.5).astype(np.uint8)
    larger = [
        max(1, _LEAST // side) for side in pixels.shape
    ]  # few pixels are squares with edges, not spots that fade into each other
    image = Image.fromarray(pixels.repeat(larger[0], axis=0).repeat(larger[1], axis=1))
    if image.width > _WIDEST:
        image = image.resize((_WIDEST, round(image.height * _WIDEST / image.width)), Image.Resampling.LANCZOS)
    data = io.BytesIO()
    image.save(data, format="PNG")
    return data.getvalue()
