"""What stands between an eye and the picture: shares by object and head, and where on the picture, from plain sight lines."""

from __future__ import annotations

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.geometry import on_screen_plane
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import Box, Scene
from ...scenes.rooms.inside import meets_pyramids
from ...scenes.rooms.outline import CEILING, FLOOR

COLUMNS, ROWS = 48, 27  # the grid of sight lines that `measure` uses for hidden_share


@dataclass(frozen=True)
class SightLines:
    """One seat's view of the white area.

    hidden  share of it that anything hides [1]
    by      (what, share it hides by itself [1]), the most first
    rows    (ROWS,) share hidden in each row, top row first [1]
    """

    seat: str
    hidden: float
    by: tuple[tuple[str, float], ...]
    rows: np.ndarray


def sight_lines(scene: Scene) -> list[SightLines]:
    """Sight lines of every seat to the flat white area.

    Source: segments against boxes (slab test, Kay and Kajiya 1986) and against heads as spheres of HEAD_RADIUS_M.
    """
    screen = scene.screen
    row, column = np.divmod(np.arange(ROWS * COLUMNS), COLUMNS)
    right = screen.width_m * ((column + 0.5) / COLUMNS - 0.5)
    up = screen.height_m * (0.5 - (row + 0.5) / ROWS)
    ends = np.array([on_screen_plane(scene, x, y) for x, y in zip(right, up, strict=True)])
    return [_of_seat(scene, i, ends) for i in range(len(scene.seats))]


def _of_seat(scene: Scene, seat: int, ends: np.ndarray) -> SightLines:
    eye = np.array(scene.seats[seat].eye_m, float)
    way = ends - eye
    blocked: dict[str, np.ndarray] = {}
    for thing in scene.room.objects:
        if isinstance(thing, Box):
            blocked[thing.name] = _box_between(eye, way, np.array(thing.min_m, float), np.array(thing.max_m, float))
        else:
            blocked[thing.name] = _mesh_between(eye, ends, thing.mesh.triangles)
    shell = scene.room.shell
    if shell is not None:
        level = {*scene.room.named(CEILING), *scene.room.named(FLOOR)}
        for index, name in enumerate(shell.names):
            called = name if name in level else f'wall "{name}"'
            blocked[called] = _mesh_between(eye, ends, shell.triangles[shell.surface == index])
    for other, head in enumerate(scene.seats):
        if other != seat:
            blocked[f"head at {head.name}"] = _head_between(eye, way, np.array(head.eye_m, float))
    hidden = np.any(list(blocked.values()), axis=0) if blocked else np.zeros(len(ends), bool)
    shares = sorted(((name, float(found.mean())) for name, found in blocked.items() if found.any()), key=lambda pair: -pair[1])
    return SightLines(scene.seats[seat].name, float(hidden.mean()), tuple(shares), hidden.reshape(ROWS, COLUMNS).mean(axis=1))


def _box_between(eye: np.ndarray, way: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """True where a box cuts the segment from the eye to the end of `way` (n, 3)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        first, second = (low - eye) / way, (high - eye) / way
    near = np.nanmax(np.minimum(first, second), axis=1)
    far = np.nanmin(np.maximum(first, second), axis=1)
    outside = ((way == 0.0) & ((eye < low) | (eye > high))).any(axis=1)
    return ~outside & (near < far) & (far > 1e-9) & (near < 1.0 - 1e-9)


def _mesh_between(eye: np.ndarray, ends: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """True where a triangle (F, 3, 3) of the inside frame cuts the segment from the eye to an end (n, 3), both [right, out, up].

    Source: Moeller and Trumbore (1997) on the triangles that reach into the pyramid of sight.
    """
    inner = np.array([1.0, -1.0, 1.0])
    start, way = eye * inner, (ends - eye) * inner
    corners = np.array([ends[0], ends[COLUMNS - 1], ends[-1], ends[-COLUMNS]]) * inner
    hidden = np.zeros(len(ends), bool)
    for a, b, c in triangles[meets_pyramids(triangles, np.vstack([start, corners])[None])[0]]:
        u, v, off = b - a, c - a, start - a
        across = np.cross(way, v)
        whole = across @ u
        with np.errstate(divide="ignore", invalid="ignore"):
            s = (across @ off) / whole
            q = np.cross(off, u)
            t, reach = (way @ q) / whole, float(v @ q) / whole
        hidden |= (np.abs(whole) > 1e-12) & (s >= 0.0) & (t >= 0.0) & (s + t <= 1.0) & (reach > 1e-9) & (reach < 1.0 - 1e-9)
    return hidden


def _head_between(eye: np.ndarray, way: np.ndarray, head: np.ndarray) -> np.ndarray:
    """True where a head lies between the eye and the end of `way` (n, 3)."""
    length = np.linalg.norm(way, axis=1)
    to_head = head - eye
    along = (way @ to_head) / length
    return (along > 0.0) & (along < length) & (to_head @ to_head - along**2 < HEAD_RADIUS_M**2)
