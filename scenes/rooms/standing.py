"""Whether places, things, the screen and the beam are where a room has room for them, whatever the room's shape."""

from __future__ import annotations

import math

import numpy as np

from ..model import Body, Box, Place, Room, Screen, Thing
from ..solids import TOUCH_M, Pyramid, boxes_overlap, inside_box, pyramid_meets_box
from .inside import distances, is_inside, meets_box, meets_pyramid
from .overlaps import first_crossing, reaches_into

_TRIED = 400  # corners of a mesh whose place in the room is looked at
_NEAR_M = 1e-4  # corners of meshes may touch a wall to within single precision


def _inner(place: Place) -> np.ndarray:
    """A file's place in the inside frame, as geometry.to_inside has it."""
    return np.array([place[0], -place[1], place[2]])


def in_room(room: Room, place: Place, clear_m: float) -> bool:
    """True for a place [m] at least `clear_m` off every wall, inside. Source: limits of a box; winding number of a shell."""
    if not all(low + clear_m <= x <= high - clear_m for x, (low, high) in zip(place, room.limits, strict=True)):
        return False
    if room.shell is None:
        return True
    at, mesh = _inner(place), room.shell.triangles
    return bool(is_inside(mesh, at[None])[0]) and float(distances(mesh, at).min()) >= clear_m


def stands_in(room: Room, thing: Thing) -> bool:
    """True where a thing lies within a shell; it may touch it.

    Source: no triangle of the shell reaches into a box whose middle is inside; of a mesh at most _TRIED corners are asked, and no edge
    of it goes through a wall or one of a wall's through it.
    """
    if room.shell is None:
        return True
    mesh = room.shell.triangles
    if isinstance(thing, Box):
        low, high = np.minimum(_inner(thing.min_m), _inner(thing.max_m)), np.maximum(_inner(thing.min_m), _inner(thing.max_m))
        return not meets_box(mesh, low, high).any() and bool(is_inside(mesh, 0.5 * (low + high)[None])[0])
    corners = np.unique(thing.mesh.triangles.reshape(-1, 3), axis=0)
    some = corners[:: max(1, math.ceil(len(corners) / _TRIED))]
    outside = some[~is_inside(mesh, some)]
    if not all(float(distances(mesh, place).min()) < _NEAR_M for place in outside):
        return False
    return first_crossing(thing.mesh.triangles, mesh) is None


def free_box(room: Room, low: Place, high: Place) -> bool:
    """True where no wall of a shell reaches into the box between two places [m], and it lies inside. Source: `meets_box`."""
    if room.shell is None:
        return True
    a, b = _inner(low), _inner(high)
    return not meets_box(room.shell.triangles, a, b).any() and bool(is_inside(room.shell.triangles, 0.5 * (a + b)[None])[0])


def inside_thing(place: Place, thing: Thing) -> bool:
    """True within a box, or within the closed bodies of a mesh. Source: winding number; a sheet has no inside."""
    if not inside_box(place, thing):
        return False
    if isinstance(thing, Box):
        return True
    closed = thing.mesh.triangles[~thing.mesh.sheet]
    return bool(len(closed)) and bool(is_inside(closed, _inner(place)[None])[0])


def thing_in_box(thing: Thing, low: Place, high: Place) -> bool:
    """True where a mesh reaches into the box between two places [m]. Source: `meets_box`."""
    return isinstance(thing, Body) and bool(meets_box(thing.mesh.triangles, _inner(low), _inner(high)).any())


def in_pyramid(pyramid: Pyramid, thing: Thing) -> bool:
    """True where a thing and a pyramid share more than TOUCH_M of depth. Source: separating axes."""
    if isinstance(thing, Box):
        return pyramid_meets_box(pyramid, thing)
    return bool(meets_pyramid(thing.mesh.triangles, np.array([_inner(corner) for corner in pyramid])).any())


def wall_in_pyramid(room: Room, pyramid: Pyramid) -> list[str]:
    """Names of the surfaces of a shell that reach into a pyramid: a convex room has none. Source: `meets_pyramid`."""
    if room.shell is None:
        return []
    met = meets_pyramid(room.shell.triangles, np.array([_inner(corner) for corner in pyramid]))
    return list(dict.fromkeys(room.shell.names[i] for i in room.shell.surface[met]))


def share_space(one: Thing, other: Thing) -> bool:
    """True where two things share space. Source: separating axes for boxes, `overlaps` for meshes; of sheets only what they go through."""
    if isinstance(one, Box) and isinstance(other, Box):
        return boxes_overlap(one, other)
    if any(max(one.min_m[k], other.min_m[k]) >= min(one.max_m[k], other.max_m[k]) - TOUCH_M for k in range(3)):
        return False
    if isinstance(one, Body) and isinstance(other, Body):
        if first_crossing(one.mesh.triangles, other.mesh.triangles) is not None:
            return True
        (a, b) = (each.mesh.triangles[~each.mesh.sheet] for each in (one, other))
        return bool(len(a)) and bool(len(b)) and (reaches_into(a, b) or reaches_into(b, a))
    box, body = (one, other) if isinstance(one, Box) else (other, one)
    low, high = _inner(box.min_m), _inner(box.max_m)
    low, high = np.minimum(low, high) + TOUCH_M, np.maximum(low, high) - TOUCH_M
    if not isinstance(body, Body) or not (low < high).all():
        return False
    closed = body.mesh.triangles[~body.mesh.sheet]
    within = bool(len(closed)) and bool(is_inside(closed, 0.5 * (low + high)[None])[0])
    return within or bool(meets_box(body.mesh.triangles, low, high).any())


def ceiling_over(room: Room, screen: Screen) -> float:
    """Height [m] of the ceiling above the middle of the screen. Source: the shell cut by a line straight up."""
    if room.shell is None:
        return room.height_m
    at = _inner((screen.right_m, screen.gap_to_wall_m, 0.0))
    a, b, c = (room.shell.triangles[:, k] - at for k in range(3))
    sides = [p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] for p, q in ((a, b), (b, c), (c, a))]
    over = (np.minimum.reduce(sides) >= 0.0) | (np.maximum.reduce(sides) <= 0.0)
    whole = sum(sides)
    over &= np.abs(whole) > 1e-12
    heights = (sides[1] * a[:, 2] + sides[2] * b[:, 2] + sides[0] * c[:, 2])[over] / whole[over]
    above = heights[heights > screen.bottom_m]
    return float(above.min()) if len(above) else room.limits[2][1]
