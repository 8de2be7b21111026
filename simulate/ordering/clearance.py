"""How high the beam passes over the floor, over the seats, and over somebody who stands."""

from __future__ import annotations

from ...materials.dataclass import dataclass
from ...scenes.geometry import on_screen_plane, raster
from ...scenes.model import Scene

STATURE_M = 1.86  # 95th percentile of men, DIN 33402-2 (from memory); shoes not counted


@dataclass(frozen=True)
class OverSeat:
    """The beam over a seat: height of its lower edge above the floor there, and above the eye [m]."""

    seat: str
    above_floor_m: float
    above_eye_m: float


@dataclass(frozen=True)
class BeamClearance:
    """Where a standing head stays below the beam.

    stature_m     how high the head reaches [m]
    lowest_m      least height of the beam's lower edge, at the screen or at the lens [m]
    clear_from_m  from this distance out from the wall to the lens a standing head is below the beam [m];
                  0 where it is everywhere, None where it is nowhere
    clear_to_m    it is so up to this distance [m]: the lens, or less for a lens below the picture
    over          seats that the beam passes over or meets, from the front
    """

    stature_m: float
    lowest_m: float
    clear_from_m: float | None
    clear_to_m: float | None
    over: tuple[OverSeat, ...]


def beam_clearance(scene: Scene, stature_m: float = STATURE_M) -> BeamClearance:
    """The beam's lower edge against a standing head, level floor.

    stature_m  [m]
    Source: straight rays from the lens to the raster's lower edge, plane geometry.
    """
    lens, area = scene.projector.lens_m, raster(scene)
    edge = on_screen_plane(scene, 0.0, area.bottom_m)
    length, rise = lens[1] - edge[1], lens[2] - edge[2]
    at_screen, at_lens = edge[2] >= stature_m, lens[2] >= stature_m
    clear: tuple[float, float] | None = None
    if at_screen and at_lens:
        clear = (0.0, lens[1])
    elif at_screen or at_lens:
        turn = edge[1] + length * (stature_m - edge[2]) / rise
        clear = (turn, lens[1]) if at_lens else (0.0, turn)
    over = []
    for seat in sorted(scene.seats, key=lambda seat: seat.eye_m[1]):
        part = (seat.eye_m[1] - edge[1]) / length  # 0 at the screen, 1 at the lens
        if 0.0 <= part <= 1.0:
            middle = edge[0] + part * (lens[0] - edge[0])
            if abs(seat.eye_m[0] - middle) <= 0.5 * area.width_m * (1.0 - part):
                height = edge[2] + part * rise
                over.append(OverSeat(seat.name, height, height - seat.eye_m[2]))
    lowest = min(edge[2], lens[2])
    return BeamClearance(stature_m, lowest, clear and clear[0], clear and clear[1], tuple(over))
