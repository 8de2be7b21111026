"""How the holes or threads of a scene's fabric beat with the projector's pixels, as the nearest seat sees it."""

from __future__ import annotations

import math

from ...materials.dataclass import dataclass
from ...materials.lobes.perforation import WOVEN, Moire, arc_minutes, moire
from ...scenes.geometry import on_screen_plane
from ...scenes.model import Scene
from ..folds.readings import pixel_pitch_m


@dataclass(frozen=True)
class ScreenMoire:
    """Holes against pixels.

    pitch_mm, pitch_arcmin  from hole to nearest hole, or thread to thread, on the sheet [mm] and from the nearest seat [']
    seat, distance_m        that seat, and how far its eye is from the middle of the white area [m]
    pixel_mm                pitch of the projector's pixels on the screen [mm]; None where the scene gives no pixels
    found                   the beat of both; None likewise
    """

    lattice: str
    pitch_mm: float
    pitch_arcmin: float
    seat: str
    distance_m: float
    pixel_mm: float | None
    found: Moire | None

    @property
    def words(self) -> str:
        """What to expect, in one sentence."""
        if self.found is not None:
            return self.found.words
        return "projector.pixels is not stated: no moire ratio"


def screen_moire(scene: Scene) -> ScreenMoire | None:
    """Holes of the scene's fabric against its pixels; None for a fabric without stated holes.

    returns  pitches on the sheet and of the pixels [mm], the pitch seen from the nearest seat ['], that seat's distance [m]
    Source: `moire`; the nearest seat sees the holes and the beat largest.
    """
    holes = scene.screen.fabric.perforation
    if holes is None:
        return None
    middle = on_screen_plane(scene, 0.0, 0.0)
    away = {seat.name: math.dist(seat.eye_m, middle) for seat in scene.seats}
    nearest = min(away, key=lambda name: away[name])
    pitch = pixel_pitch_m(scene)
    pixel_mm = None if pitch is None else 1e3 * pitch[0]
    what = "threads" if holes.lattice == WOVEN else "holes"
    return ScreenMoire(
        lattice=holes.lattice,
        pitch_mm=holes.pitch_mm,
        pitch_arcmin=arc_minutes(size_mm=holes.pitch_mm, distance_m=away[nearest]),
        seat=nearest,
        distance_m=away[nearest],
        pixel_mm=pixel_mm,
        found=None
        if pixel_mm is None
        else moire(pitch_mm=holes.pitch_mm, pixel_mm=pixel_mm, distance_m=away[nearest], what=what),
    )
