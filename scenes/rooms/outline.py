"""Rooms by their plan: an outline with a name for each wall, a height at each corner, lines along which the ceiling bends."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from ...materials.dataclass import dataclass
from .mesh import Mesh
from .polygon import area_m2, convex_parts, cut, first_crossing, triangles

FLOOR, CEILING, FRONT = "floor", "ceiling", "front"
_USUAL = (FRONT, "back", "left", "right", CEILING, FLOOR)
SHORTEST_M = 0.01  # of a wall
EXACT_M = 1e-9
_PLANE_M = 0.001  # a part of the ceiling that bends by more needs a line
LOWEST_M = 0.3


class NoRoom(ValueError):
    """An outline that makes no room: `key` and `index` say where, str() what is wrong, `allowed` what would do."""

    def __init__(self, key: str, index: int | None, message: str, allowed: str = "") -> None:
        super().__init__(message)
        self.key, self.index, self.allowed = key, index, allowed


@dataclass(frozen=True)
class RoomPlan:
    """A plan [m]: corners (right, out) in order, the wall from each corner to the next by name, heights at the corners.

    bends  pairs of corners, counted from 0, between which the ceiling bends
    """

    corners: tuple[tuple[float, float], ...]
    walls: tuple[str, ...]
    heights: tuple[float, ...]
    bends: tuple[tuple[int, int], ...] = ()


def shell_of(outline: RoomPlan, named: Collection[str] = ()) -> Mesh:
    """The room's surfaces as a closed mesh that faces inwards; names: the usual six first, other walls in the order of the outline.

    named   names in use: a face of the ceiling whose own name is among them is a surface of its own, the rest are "ceiling"
    raises NoRoom for an outline that crosses itself, has no screen wall at out = 0, or a ceiling that is bent within a part
    Source: definition; floor and ceiling are cut into convex parts.
    """
    plan = np.array(outline.corners, float)
    _check(outline, plan)
    turned = area_m2(plan * [1.0, -1.0]) < 0.0  # seen from above with the screen wall at the top, y = -out is up
    order = np.arange(len(plan))[::-1] if turned else np.arange(len(plan))
    walls = [outline.walls[(i - 1) % len(plan)] for i in order] if turned else list(outline.walls)
    xy = plan[order] * [1.0, -1.0]
    height = np.array(outline.heights, float)[order]
    count = len(plan)
    corners = np.concatenate([np.column_stack([xy, np.zeros(count)]), np.column_stack([xy, height])])
    ceiling = _ceiling_parts(outline, xy, height, order)
    faces_of_ceiling = _face_names(outline, ceiling, order)
    own = [name if name in named else CEILING for name in faces_of_ceiling]
    usual = [name for name in _USUAL if name in {*walls, *own, FLOOR}]
    names = tuple(dict.fromkeys([*usual, *outline.walls, *sorted({*own} - {CEILING}, key=_by_number)]))
    faces: list[tuple[int, int, int]] = []
    surface: list[int] = []
    facet: list[int] = []

    def add(ring: list[int], three: list[tuple[int, int, int]], name: str, face: int) -> None:
        for triangle in three:
            faces.append((ring[triangle[0]], ring[triangle[1]], ring[triangle[2]]))
            surface.append(names.index(name))
            facet.append(face)

    number = 0
    for i, name in enumerate(walls):  # seen from inside, the wall from corner i to the next runs to the left
        j = (i + 1) % count
        number += i > 0 and not _goes_on(xy, walls, i)
        add([j, i, count + i, count + j], [(0, 1, 2), (0, 2, 3)], name, number)
    number += 1
    for ring in convex_parts(xy):
        add(ring, triangles(xy[ring]), FLOOR, number)
        number += 1
    for part, name in zip(ceiling, own, strict=True):
        for ring in part:
            add([count + i for i in ring], [turned[::-1] for turned in triangles(xy[ring])], name, number)
            number += 1
    parts_of = tuple((name, CEILING) for name in names if name in own and name != CEILING)
    nameable = tuple(sorted({*faces_of_ceiling} - {CEILING}, key=_by_number))
    return Mesh(corners, np.array(faces), np.array(surface), names, np.array(facet), part_of=parts_of, nameable=nameable)


def _by_number(name: str) -> tuple[int, str]:
    """Order of "ceiling 2" before "ceiling 10"."""
    return len(name), name


def _face_names(outline: RoomPlan, ceiling: list[list[list[int]]], order: np.ndarray) -> list[str]:
    """The own name of each flat face; CEILING where there is one alone, or a wall is called so."""
    corners = [tuple(sorted({int(order[i]) for ring in face for i in ring})) for face in ceiling]
    rank = {each: i + 1 for i, each in enumerate(sorted(corners))}
    names = [f"{CEILING} {rank[each]}" if len(ceiling) > 1 else CEILING for each in corners]
    return [CEILING if name in outline.walls else name for name in names]


def _goes_on(xy: np.ndarray, walls: list[str], i: int) -> bool:
    """True where the wall that begins at corner i is the last one's plane gone on, by the same name."""
    a, b, c = xy[i - 1], xy[i], xy[(i + 1) % len(xy)]
    turn = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
    return walls[i - 1] == walls[i] and abs(turn) < 1e-9


def _ceiling_parts(outline: RoomPlan, xy: np.ndarray, height: np.ndarray, order: np.ndarray) -> list[list[list[int]]]:
    """Convex parts of each flat part of the ceiling, by corners of the turned outline.  raises NoRoom where one is not flat

    order  the outline's own corner at each of the turned outline's
    """
    across = "pairs of corners that see each other across the plan"
    try:
        own = cut([int(i) for i in order], list(outline.bends))
    except ValueError as fault:
        raise NoRoom("ceiling_bends", None, str(fault), across) from None
    where, found = {int(old): new for new, old in enumerate(order)}, []
    for corners in own:
        ring = [where[i] for i in corners]
        points = np.column_stack([xy[ring], height[ring]])
        axis = np.linalg.svd(points - points.mean(axis=0))[2][2]
        off = float(np.abs((points - points.mean(axis=0)) @ axis).max())
        if off > _PLANE_M:
            raise NoRoom(
                "ceiling_bends",
                None,
                f"the ceiling over corners {', '.join(str(i + 1) for i in sorted(corners))} is not flat: it bends by {1000 * off:.0f} mm",
                "lines that cut the ceiling into flat parts, such as ceiling_bends = [[2, 5]]",
            )
        if area_m2(xy[ring]) <= 0.0:
            raise NoRoom("ceiling_bends", None, "a line leaves the plan", across)
        found.append([[ring[i] for i in part] for part in convex_parts(xy[ring])])
    return found


def _check(outline: RoomPlan, plan: np.ndarray) -> None:
    """raises NoRoom for what no mesh can be made of"""
    for i in range(len(plan)):
        if float(np.linalg.norm(plan[(i + 1) % len(plan)] - plan[i])) < SHORTEST_M:
            raise NoRoom("outline_m", i, f"is less than {100 * SHORTEST_M:g} cm from the next corner", "corners that differ")
    crossing = first_crossing(plan)
    if crossing is not None:
        i, j = crossing
        raise NoRoom(
            "outline_m",
            j,
            f"the wall that begins here meets the one from corner {i + 1}",
            "an outline that does not cross itself",
        )
    if abs(area_m2(plan)) < 1.0:
        raise NoRoom("outline_m", None, "encloses less than 1 m2", "corners [right, out] in order along the walls")
    if plan[:, 1].min() < -EXACT_M:
        i = int(np.argmin(plan[:, 1]))
        raise NoRoom("outline_m", i, "lies behind the screen wall", "out at least 0: the screen wall is at out = 0")
    for i, name in enumerate(outline.walls):
        j = (i + 1) % len(plan)
        at_front = max(plan[i, 1], plan[j, 1]) < EXACT_M
        if at_front and name != FRONT:
            raise NoRoom("walls", i, "is on the screen wall, at out = 0", FRONT)
    if not any(
        name == FRONT and plan[i, 1] < EXACT_M and plan[(i + 1) % len(plan), 1] < EXACT_M for i, name in enumerate(outline.walls)
    ):
        raise NoRoom("outline_m", None, "has no wall at out = 0, where the screen hangs", "two corners with out = 0")
