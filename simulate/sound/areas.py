"""Areas that sound meets: walls less what stands against them, the free faces of boxes, and the volume of air between."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ...materials.dataclass import dataclass
from ...scenes.model import Body, Box, Room, Scene
from ...scenes.rooms.mesh import Mesh
from ...scenes.rooms.spots import areas_m2
from ...scenes.viewers import furniture

Array = npt.NDArray[np.float64]

TOUCH_M = 0.01
"""Things closer than this to a wall or to each other touch: our own choice, far below any wavelength here."""
RIGHT, OUT, UP = 0, 1, 2
WALLS = {"left": (RIGHT, 0), "right": (RIGHT, 1), "front": (OUT, 0), "back": (OUT, 1), "floor": (UP, 0), "ceiling": (UP, 1)}
"""Axis across which a wall lies, and its end on it."""


@dataclass(frozen=True)
class Areas:
    """Areas by the axis that the face looks along, (3,): right, out, up [m2].

    walls    of each wall, what screen, border and boxes cover taken off
    objects  of each box its free faces, of a mesh all of it, in the order of `furniture`;  parts  of each part of a surface, taken off that
    screen, border  of the cloth and its border, their front alone [m2]
    volume_m3  of air: the room less its boxes [m3]
    """

    walls: dict[str, Array]
    objects: tuple[Array, ...]
    parts: tuple[Array, ...]
    screen: float
    border: float
    volume_m3: float


def areas_of(scene: Scene) -> Areas:
    """Areas [m2] and volume [m3] that sound meets in a scene.

    Who sits on the seats takes none: sound counts people by the head.
    Source: geometry. The back of the cloth and the wall behind it are one thing with its front (`cloth.before_wall`).
    """
    room, screen = scene.room, scene.screen
    size = np.array(room.limits)
    things = furniture(room, scene.seats)
    boxes = [each for each in things if isinstance(each, Box)]
    low = np.array([box.min_m for box in boxes], float).reshape(-1, 3)
    high = np.array([box.max_m for box in boxes], float).reshape(-1, 3)
    half, edge = screen.width_m / 2, screen.border_m
    outer = np.array(
        [
            [
                screen.right_m - half - edge,
                screen.bottom_m - edge,
                screen.right_m + half + edge,
                screen.bottom_m + screen.height_m + edge,
            ]
        ]
    )
    walls = {}
    for name, (axis, end) in WALLS.items() if room.shell is None else ():
        across = [other for other in range(3) if other != axis]
        against = (low[:, axis] - size[axis, 0] if end == 0 else size[axis, 1] - high[:, axis]) <= TOUCH_M
        covered = np.concatenate([low[against][:, across], high[against][:, across]], axis=1)
        if name == "front":
            covered = np.concatenate([covered, outer])
        whole = np.concatenate([size[across, 0], size[across, 1]])
        walls[name] = _on_axis(axis, _free(whole, covered))
    picture = screen.width_m * screen.height_m
    whole_m3 = float(np.prod(size[:, 1] - size[:, 0]))
    if room.shell is not None:
        walls, whole_m3 = (
            _shell_walls(room.shell, low, high, float(np.prod(outer[0, 2:] - outer[0, :2]))),
            abs(room.shell.volume_m3),
        )
    bodies = [each for each in things if isinstance(each, Body)]
    faces = {box.name: _free_faces(i, low, high, size) for i, box in enumerate(boxes)}
    faces |= {body.name: by_axis(body.mesh)[0] for body in bodies}
    parts = _parts(room, walls)
    return Areas(
        walls=walls,
        objects=tuple(faces[each.name] for each in things),
        parts=parts,
        screen=picture,
        border=(screen.width_m + 2 * edge) * (screen.height_m + 2 * edge) - picture,
        volume_m3=whole_m3 - _volume(low, high) - sum(abs(body.mesh.volume_m3) for body in bodies if not body.mesh.sheet.any()),
    )


def by_axis(mesh: Mesh) -> Array:
    """Area of each named surface of a mesh by the axis it looks along, (surfaces, 3) [m2]: a face aslant counts for each by cos^2.

    Source: the squares of a normal's components add up to 1.
    """
    size = np.linalg.norm(mesh.cross, axis=1)
    found = np.zeros((len(mesh.names), 3))
    np.add.at(found, mesh.surface, 0.5 * mesh.cross[:, [0, 1, 2]] ** 2 / size[:, None])
    return found


def _shell_walls(shell: Mesh, low: Array, high: Array, screen_m2: float) -> dict[str, Array]:
    """Areas of a shell's surfaces, what boxes on the floor and the screen cover taken off [m2]."""
    found = dict(zip(shell.names, by_axis(shell), strict=True))
    standing = low[:, UP] <= TOUCH_M
    for name, axis, covered in (("floor", UP, _union(low[standing, :2], high[standing, :2])), ("front", OUT, screen_m2)):
        if name in found:
            found[name][axis] = max(found[name][axis] - covered, 0.0)
    return found


def _parts(room: Room, walls: dict[str, Array]) -> tuple[Array, ...]:
    """Areas of the parts by axis (3,) [m2], taken off the surfaces they are on, as far as these have that much."""
    sizes, found = areas_m2(room) if room.parts else {}, []
    for part in room.parts:
        own = room.named(part.on)  # the faces of a ceiling give in proportion
        whole = sum((walls[name] for name in own), np.zeros(3)).sum()
        taken = min(1.0, sizes[part.name] / whole) if whole > 0.0 else 0.0
        found.append(sum((walls[name] * taken for name in own), np.zeros(3)))
        walls |= {name: walls[name] - walls[name] * taken for name in own}
    return tuple(found)


def _on_axis(axis: int, area: float) -> Array:
    found = np.zeros(3)
    found[axis] = area
    return found


def _free_faces(i: int, low: Array, high: Array, size: Array) -> Array:
    """Area of the faces of box i by axis (3,) [m2] that neither touch a wall nor lie on or in another box."""
    found = np.zeros(3)
    order = np.arange(len(low))
    for axis in range(3):
        across = [other for other in range(3) if other != axis]
        whole = np.concatenate([low[i, across], high[i, across]])
        for end, place in enumerate((low[i, axis], high[i, axis])):
            if abs(place - size[axis, end]) <= TOUCH_M:
                continue
            ends = (low, high)[end][:, axis]
            if end == 0:  # the face looks back along the axis: hidden by what ends on it or goes through it
                hides = (high[:, axis] >= place - TOUCH_M) & (ends < place - TOUCH_M)
            else:
                hides = (low[:, axis] <= place + TOUCH_M) & (ends > place + TOUCH_M)
            hides |= (np.abs(ends - place) <= TOUCH_M) & (order < i)  # faces in one plane: the first box has what they share
            hides &= order != i
            found[axis] += _free(whole, np.concatenate([low[hides][:, across], high[hides][:, across]], axis=1))
    return found


def _free(whole: Array, covered: Array) -> float:
    """Area of a rectangle (4,) left, low, right, high that rectangles (n, 4) leave free [m2]."""
    left, bottom, right, top = whole
    low = np.maximum(covered[:, :2], whole[:2])
    high = np.minimum(covered[:, 2:], whole[2:])
    real = (high > low).all(axis=1)
    return float((right - left) * (top - bottom)) - _union(low[real], high[real])


def _union(low: Array, high: Array) -> float:
    """Area that rectangles, corners (n, 2), cover together [m2]. Source: cells of the grid that their edges draw."""
    if not len(low):
        return 0.0
    xs, ys = (np.unique(np.concatenate([low[:, k], high[:, k]])) for k in (0, 1))
    cells = np.zeros((len(xs) - 1, len(ys) - 1), bool)
    for (x0, y0), (x1, y1) in zip(low, high, strict=True):
        cells[np.searchsorted(xs, x0) : np.searchsorted(xs, x1), np.searchsorted(ys, y0) : np.searchsorted(ys, y1)] = True
    return float(np.diff(xs) @ cells @ np.diff(ys))


def _volume(low: Array, high: Array) -> float:
    """Volume that boxes fill together [m3], layer by layer."""
    heights = np.unique(np.concatenate([low[:, UP], high[:, UP]]))
    total = 0.0
    for bottom, top in pairwise(heights):
        inside = (low[:, UP] <= bottom) & (high[:, UP] >= top)
        total += (top - bottom) * _union(low[inside, :2], high[inside, :2])
    return float(total)
