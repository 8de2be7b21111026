"""Whether places, things, the screen and the beam are where a room has room for them, whatever the room's shape."""

from __future__ import annotations

import math
from collections.abc import Sequence
from operator import attrgetter

import numpy as np

from ..model import Body, Box, Place, Room, Screen, Thing
from ..solids import boxes_overlap, meet_boxes
from .inside import TOUCH_M, distances, is_inside, meets_box, meets_pyramids, nearest
from .overlaps import first_crossing, reaches_into

_LEAST, _MOST = attrgetter("min_m"), attrgetter("max_m")
_TRIED = 400  # corners of a mesh whose place in the room is looked at
_NEAR_M = 1e-4  # corners of meshes may touch a wall to within single precision


def _inner(places: Place | np.ndarray) -> np.ndarray:
    """A file's places (..., 3) in the inside frame, as geometry.to_inside has them."""
    return np.asarray(places, float) * [1.0, -1.0, 1.0]


def in_room(room: Room, places: Place | np.ndarray, clear_m: float) -> np.ndarray:
    """(...) True for places (..., 3) [m] at least `clear_m` off every wall, inside. Source: limits of a box; winding number of a shell."""
    places, (low, high) = np.asarray(places, float), np.array(room.limits).T
    found = np.asarray(((low + clear_m <= places) & (places <= high - clear_m)).all(axis=-1))
    if room.shell is not None and found.any():
        at, mesh = _inner(places[found]), room.shell.triangles
        found[found] = is_inside(mesh, at) & (nearest(mesh, at) >= clear_m)
    return found


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


def inside_thing(places: Place | np.ndarray, thing: Thing) -> np.ndarray:
    """(...) True for places (..., 3) [m] within a box, or within the closed bodies of a mesh. Source: winding number; a sheet has no inside."""
    places = np.asarray(places, float)
    found = np.asarray(((thing.min_m <= places) & (places <= thing.max_m)).all(axis=-1))
    if not isinstance(thing, Box) and found.any():
        found[found] = is_inside(thing.mesh.triangles[~thing.mesh.sheet], _inner(places[found]))
    return found


def thing_in_box(thing: Thing, low: Place, high: Place) -> bool:
    """True where a mesh reaches into the box between two places [m]. Source: `meets_box`."""
    return isinstance(thing, Body) and bool(meets_box(thing.mesh.triangles, _inner(low), _inner(high)).any())


def in_pyramids(pyramids: np.ndarray, things: Sequence[Thing]) -> np.ndarray:
    """(n, m) True where a pyramid (n, 5, 3) and a thing (m,) share more than TOUCH_M of depth. Source: separating axes."""
    met = np.zeros((len(pyramids), len(things)), bool)
    boxes = [i for i, thing in enumerate(things) if isinstance(thing, Box)]
    if boxes:
        met[:, boxes] = meet_boxes(pyramids, *(np.array([end(things[i]) for i in boxes]) for end in (_LEAST, _MOST)))
    for i, thing in enumerate(things):
        if not isinstance(thing, Box):
            met[:, i] = meets_pyramids(thing.mesh.triangles, _inner(pyramids)).any(axis=1)
    return met


def walls_in_pyramids(room: Room, pyramids: np.ndarray) -> dict[str, np.ndarray]:
    """The surfaces of a shell that reach into pyramids (n, 5, 3), by name, and into which (n,): a convex room has none. Source: `meets_pyramids`."""
    if room.shell is None:
        return {}
    met = meets_pyramids(room.shell.triangles, _inner(pyramids))
    surfaces = dict.fromkeys(room.shell.surface[met.any(axis=0)].tolist())
    return {room.shell.names[each]: np.asarray(met[:, room.shell.surface == each].any(axis=1)) for each in surfaces}


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
    return _reaches_into_mesh(box.min_m, box.max_m, body)


def boxes_share_space(low: np.ndarray, high: np.ndarray, thing: Thing) -> np.ndarray:
    """(n,) True where a box between two corners (n, 3) [m] and a thing share space. Source: as `share_space`."""
    shared = np.asarray((np.minimum(high, thing.max_m) - np.maximum(low, thing.min_m) > TOUCH_M).all(axis=1))
    if not isinstance(thing, Box):
        shared[shared] = [_reaches_into_mesh(a, b, thing) for a, b in zip(low[shared], high[shared], strict=True)]
    return shared


def _reaches_into_mesh(corner: Place | np.ndarray, opposite: Place | np.ndarray, body: Thing) -> bool:
    """True where a box between two corners (3,) [m] shares space with a mesh."""
    low, high = _inner(corner), _inner(opposite)
    low, high = np.minimum(low, high) + TOUCH_M, np.maximum(low, high) - TOUCH_M
    if not isinstance(body, Body) or not (low < high).all():
        return False
    closed = body.mesh.triangles[~body.mesh.sheet]
    within = bool(len(closed)) and bool(is_inside(closed, 0.5 * (low + high)[None])[0])
    return within or bool(meets_box(body.mesh.triangles, low, high).any())


def ceilings_over(room: Room, screen: Screen) -> tuple[float, float]:
    """Least and greatest height [m] of the ceiling above the screen, its border included.

    Source: `ceiling_over` at both ends and where the ceiling bends between.
    """
    half = screen.width_m / 2 + screen.border_m
    ends = (screen.right_m - half, screen.right_m + half)
    bends = () if room.shell is None else np.unique(room.shell.triangles[..., 0])
    found = [ceiling_over(room, screen, at) for at in (*ends, *(float(at) for at in bends if ends[0] < at < ends[1]))]
    return min(found), max(found)


def ceiling_over(room: Room, screen: Screen, right_m: float | None = None) -> float:
    """Height [m] of the ceiling above the middle of the screen, or above `right_m` along it. Source: the shell cut by a line straight up."""
    if room.shell is None:
        return room.height_m
    at = _inner((screen.right_m if right_m is None else right_m, screen.gap_to_wall_m, 0.0))
    a, b, c = (room.shell.triangles[:, k] - at for k in range(3))
    sides = [p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] for p, q in ((a, b), (b, c), (c, a))]
    over = (np.minimum.reduce(sides) >= 0.0) | (np.maximum.reduce(sides) <= 0.0)
    whole = sum(sides)
    over &= np.abs(whole) > 1e-12
    heights = (sides[1] * a[:, 2] + sides[2] * b[:, 2] + sides[0] * c[:, 2])[over] / whole[over]
    above = heights[heights > screen.bottom_m]
    return float(above.min()) if len(above) else room.limits[2][1]
