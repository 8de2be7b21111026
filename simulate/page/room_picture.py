"""The room in 3-D for the page: pictures of its finishes and of its light, or one sentence on why there are none."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.model import Scene
from ..views.cell_light import CellLight
from ..views.content import content_of
from .seat_pictures import CALM, jpeg

if TYPE_CHECKING:
    from ..views.room3d import Shown

_WORDS_PX, _MARGIN_PX = 104, 12  # with the tails of the last line's letters


@dataclass(frozen=True)
class RoomPicture:
    """JPEG bytes of the room in its finishes, or None and the reason in one sentence; folds are drawn `exaggeration` times as deep.

    light  the same view coloured by illuminance, JPEG bytes
    """

    image: bytes | None
    reason: str
    exaggeration: float
    light: bytes | None = None


def draw_room(scene: Scene, light: CellLight) -> Shown:
    """The room with a calm grey picture on the screen, its light [lx] on the walls, beam and seats, not drawn yet. Source: `show_room`."""
    from ..views.room3d import show_room

    return show_room(scene, content_of(scene, CALM), seed=0, threads=1, off_screen=True, light=light)


def image_of(shown: Shown) -> RoomPicture:
    """The room drawn, both sides apart. raises whatever the drawing library raises where it cannot"""
    from PIL import Image

    data = io.BytesIO()
    shown.plotter.screenshot(data)
    shown.plotter.close()
    both = np.asarray(Image.open(data).convert("RGB"))
    halves = np.array_split(both, 2, axis=1)
    return RoomPicture(jpeg(without_margins(halves[0])), "", shown.exaggeration, jpeg(without_margins(halves[1])))


def without_margins(rgb: np.ndarray) -> np.ndarray:
    """The picture (H, W, 3), uint8, without its words at the top, which the page has itself, and without empty margins."""
    below = rgb[_WORDS_PX:]
    drawn = np.abs(below.astype(int) - below[-1, 0].astype(int)).max(axis=2) > 8
    rows, columns = np.flatnonzero(drawn.any(axis=1)), np.flatnonzero(drawn.any(axis=0))
    if not len(rows):
        return rgb
    top, left = max(0, rows[0] - _MARGIN_PX), max(0, columns[0] - _MARGIN_PX)
    return below[top : rows[-1] + _MARGIN_PX, left : columns[-1] + _MARGIN_PX]
