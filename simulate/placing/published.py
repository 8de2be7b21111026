"""What is published on how large and how high a picture should look: the demand, its document, how it was come by."""

from __future__ import annotations

import math

from ...materials.dataclass import dataclass
from ..measuring.targets import target_named

ONE_PIXEL_ARCMIN = 1.0  # visual acuity 1.0 parts two lines one minute of arc apart (ISO 8596, from memory)


@dataclass(frozen=True)
class Published:
    """A demand: its value in `unit` ("deg", "arcmin", "cd/m2", ":1"), who makes it, and how the text was come by."""

    name: str
    value: float
    unit: str
    source: str
    seen: str


def _of(name: str, *, high: bool = False) -> Published:
    target = target_named(name)
    value = target.high if high else target.low
    assert value is not None
    return Published(target.name, value, target.unit, target.source, target.seen)


LEAST_WIDTH = _of("width of the picture")
MOST_TOP = _of("top of the picture above the eye line", high=True)
BETTER_TOP = _of("top of the picture, preferred", high=True)
PIXEL = Published("a pixel no wider than", ONE_PIXEL_ARCMIN, "arcmin", "ITU-R BT.1845-1", "from memory")
WHITES = tuple(
    _of(name)
    for name in ("white luminance, theatre", "white luminance, home theatre, new lamp", "white luminance, HDTV reference white")
)
REVIEW_HEIGHTS = (2.0, 4.0)
"""Distances of a review room in picture heights, least and most. Source: SMPTE ST 196M-2003, section 9 (second-hand)."""


def asked_white(cd_m2: float) -> Published:
    """A white luminance [cd/m2] that the user asks for."""
    return Published("white luminance asked for", cd_m2, "cd/m2", "as asked", "given")


def widest_by_pixels(across: int) -> float:
    """Width of the picture over its distance [1] at which a pixel seen straight on is one minute of arc wide.

    across  pixels of a picture line, at least 1
    raises  ValueError where it is less
    Source: plane trigonometry. 1920 pixels give 31 degrees, 3840 give 58, as ITU-R BT.1845-1 has them (from memory).
    """
    if across < 1:
        raise ValueError(f"{across} pixels make no line; allowed at least 1")
    return across * 2.0 * math.tan(math.radians(ONE_PIXEL_ARCMIN / 60.0) / 2.0)
