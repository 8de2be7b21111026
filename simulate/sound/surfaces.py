"""Sound absorption of everything in a scene, by surface and octave band, with both ends where a finish does not state it."""

from __future__ import annotations

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.finish import Finish
from ...scenes.model import Scene
from ...scenes.viewers import furniture
from .areas import UP, Areas, areas_of
from .assumed import BORDER, OBJECT, PERSON, SHEET_DAMPING, of_object, of_wall
from .bands import Array, by_band, held
from .cloth import before_wall_by_band
from .sheets import sheets_of

STATED, ASSUMED, DERIVED = "stated", "assumed", "derived"
SCREEN, BORDER_NAME, PEOPLE = "screen", "border", "people"


@dataclass(frozen=True)
class SoundSurface:
    """One thing that takes sound.

    name, finish   as in the scene;  area  by the axis it looks along, (3,): right, out, up [m2]
    low, high      least and greatest absorption coefficient [1] by octave band (8,); of people [m2] for all of them
    basis          "stated" by the finish, "assumed" between two ends, or "derived" from the sheet
    words          what was assumed or filled in, empty where nothing was
    source         of the finish's numbers;  people  True: they have no faces, area is 0
    """

    name: str
    finish: str
    area: Array
    low: Array
    high: Array
    basis: str
    words: str = ""
    source: str = ""
    people: bool = False

    @property
    def area_m2(self) -> float:
        """Area in all [m2]."""
        return float(self.area.sum())

    def taken_m2(self, coefficient: Array) -> Array:
        """Equivalent absorption area by band (8,) [m2] for `low` or `high`. Source: definition, ISO 354."""
        return coefficient if self.people else self.area_m2 * coefficient


def surfaces_of(
    scene: Scene, *, people: int = 0, sheet_mass_kg_m2: float | None = None, areas: Areas | None = None
) -> tuple[SoundSurface, ...]:
    """Walls, objects, cloth, border and people of a scene with their absorption.

    people             in the room, seated; at least those who have a body in the scene
    sheet_mass_kg_m2   of the cloth [kg/m2]; None: both ends of `sheets.MASS`
    """
    found = areas or areas_of(scene)
    room = scene.room
    walls = {name: _wall(name, room.finish[name], found.walls[name]) for name in room.surfaces}
    parts = [_wall(part.on, part.finish, area, part.name) for part, area in zip(room.parts, found.parts, strict=True)]
    objects = [
        _object(box.name, box.finish, faces, float(np.prod(np.subtract(box.max_m, box.min_m)[:UP])))
        for box, faces in zip(furniture(room, scene.seats), found.objects, strict=True)
    ]
    front = walls.get("front") or next(iter(walls.values()))
    cloth = _screen(scene, found, front, sheet_mass_kg_m2)
    edge = [_border(scene, found)] if found.border > 0.0 else []
    seated = max(people, sum(seat.body is not None for seat in scene.seats))
    return (*walls.values(), *parts, *objects, cloth, *edge, *([_people(seated)] if seated else []))


def coefficients(finish: Finish, ends: tuple[Array, Array]) -> tuple[Array, Array, str]:
    """Least and greatest coefficient (8,) [1] of a finish, and its basis; `ends` where it states none."""
    if not finish.absorption:
        return *ends, ASSUMED
    stated = by_band(finish.absorption)
    return stated, stated, STATED


def _made(name: str, finish: Finish, area: Array, ends: tuple[Array, Array], assumed: str) -> SoundSurface:
    low, high, basis = coefficients(finish, ends)
    words = assumed if basis == ASSUMED else ""
    if basis == STATED and (missing := held(finish.absorption)):
        words = f"filled in from the bands beside: {', '.join(map(str, missing))} Hz"
    return SoundSurface(name, finish.name, area, low, high, basis, words, finish.source)


def _wall(name: str, finish: Finish, area: Array, called: str = "") -> SoundSurface:
    """A wall, or a part of it that is called otherwise."""
    ends = of_wall(name)
    return _made(called or name, finish, area, ends.both, ends.words)


def _object(name: str, finish: Finish, area: Array, floor_m2: float) -> SoundSurface:
    return _made(name, finish, area, of_object(float(area.sum()), floor_m2), OBJECT.words)


def _border(scene: Scene, areas: Areas) -> SoundSurface:
    return _made(BORDER_NAME, scene.screen.border_finish, np.array([0.0, areas.border, 0.0]), BORDER.both, BORDER.words)


def _screen(scene: Scene, areas: Areas, front: SoundSurface, mass: float | None) -> SoundSurface:
    """The cloth before its wall: every end of the sheet with every end of the wall, and its own damping on top of the greatest."""
    gap = scene.screen.gap_to_wall_m
    found = [
        before_wall_by_band(sheet, gap_m=gap, wall_absorption=wall)
        for sheet in sheets_of(scene.screen.fabric, mass)
        for wall in (front.low, front.high)
    ]
    low, high = np.min(found, axis=0), np.max(found, axis=0) + SHEET_DAMPING.both[1]
    words = f"sheet, {100.0 * gap:.0f} cm of air and the wall behind; {SHEET_DAMPING.words}"
    return SoundSurface(
        SCREEN, scene.screen.fabric.name, np.array([0.0, areas.screen, 0.0]), low, np.minimum(high, 1.0), DERIVED, words
    )


def _people(count: int) -> SoundSurface:
    low, high = PERSON.both
    return SoundSurface(PEOPLE, f"{count} seated", np.zeros(3), count * low, count * high, ASSUMED, PERSON.words, people=True)
