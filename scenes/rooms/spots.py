"""Where the parts of a surface lie: as parallelograms on its flat faces."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

import numpy as np

from ...materials.finish import Finish
from ..model import SURFACES, Room, SurfacePart, Window
from .groups import Grouped, Triangles, grouped
from .mesh import Mesh

_FLAT = 1e-7  # an axis that an edge does not run along
_LEAST_M = 1e-4  # what a part must have of a face each way
_LOOKS = 12  # places a side at which a part is looked for on a face that is no rectangle


class NotFlat(ValueError):
    """A part whose edges are no parallelogram on its surface; str() says so."""


class Spot(NamedTuple):
    """A parallelogram in the inside frame: corner, edge_u, edge_v (3,) [m], on face `face` of the room."""

    face: int
    corner: np.ndarray
    edge_u: np.ndarray
    edge_v: np.ndarray


def triangles_of(mesh: Mesh, first_surface: int = 0) -> Triangles:
    """A mesh as the light takes it, its surfaces numbered from `first_surface`. Source: definition."""
    return Triangles(mesh.corners, mesh.faces, mesh.surface + first_surface, mesh.facet, mesh.sheet)


@lru_cache(maxsize=16)
def groups_of(mesh: Mesh) -> Grouped:
    """The flat faces of a mesh, made once. Source: `grouped`."""
    return grouped(triangles_of(mesh))


def box_walls(room: Room) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Corner, edge_u, edge_v (6, 3) [m] of a box's walls in the order of SURFACES, u x v into the room. Source: the inside frame."""
    w, d, h = room.width_m, room.depth_m, room.height_m
    x, y, z = np.array([w, 0.0, 0.0]), np.array([0.0, -d, 0.0]), np.array([0.0, 0.0, h])
    low = np.array([-0.5 * w, 0.0, 0.0])
    walls = [(low, x, z), (low + y, z, x), (low, z, y), (low + x, y, z), (low + z, x, y), (low, y, x)]
    corner, u, v = (np.array(part) for part in zip(*walls, strict=True))
    return corner, u, v


def spots(room: Room, part: SurfacePart) -> list[Spot]:
    """Where a part lies: of a box on one of its walls, of a shell on each flat face of the surface.

    raises NotFlat where three limits cut an oblique face
    Source: the face's plane between the part's limits.
    """
    if room.shell is None:
        corner, u, v = box_walls(room)
        some = [SURFACES.index(part.on)]
    else:
        groups = groups_of(room.shell)
        corner, u, v = groups.corner, groups.edge_u, groups.edge_v
        some = [
            int(i)
            for i in np.flatnonzero(np.isin(groups.surface, [room.shell.names.index(name) for name in room.named(part.on)]))
        ]
    found = []
    for face in some:
        spot = _on_face(part, face, corner[face], u[face], v[face])
        if spot is not None and (room.shell is None or _meets(room.shell, face, spot)):
            found.append(spot)
    return found


def _on_face(part: SurfacePart, face: int, corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray) -> Spot | None:
    length = [float(np.linalg.norm(edge)) for edge in (edge_u, edge_v)]
    a, b = edge_u / length[0], edge_v / length[1]
    limits = _limits(part)
    between = [[0.0, length[0]], [0.0, length[1]]]
    for k, (low, high) in enumerate(limits):
        if math.isinf(low) and math.isinf(high):
            continue
        along = [abs(axis[k]) > _FLAT for axis in (a, b)]
        if all(along):
            low_end, high_end = _ends(k, corner, edge_u, edge_v)
            if low <= low_end + _LEAST_M and high >= high_end - _LEAST_M:
                continue
            if low >= high_end or high <= low_end:
                return None
            return _aslant(part, face, corner, edge_u, edge_v)
        if not any(along):
            if not low - _LEAST_M <= corner[k] <= high + _LEAST_M:
                return None
            continue
        i, axis = (0, a) if along[0] else (1, b)
        ends = sorted((each - corner[k]) / axis[k] for each in (low, high))
        between[i] = [max(between[i][0], ends[0]), min(between[i][1], ends[1])]
    if any(high - low < _LEAST_M for low, high in between):
        return None
    (s0, s1), (t0, t1) = between
    return Spot(face, corner + s0 * a + t0 * b, (s1 - s0) * a, (t1 - t0) * b)


def _limits(part: SurfacePart) -> tuple[tuple[float, float], ...]:
    """From where to where in the inside frame's x, y, z [m]."""
    right, out, up = part.span_m
    return right, (-out[1], -out[0]), up


def _ends(k: int, corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray) -> tuple[float, float]:
    """Least and greatest coordinate k of a parallelogram [m]."""
    ends = [float(corner[k] + i * edge_u[k] + j * edge_v[k]) for i in (0, 1) for j in (0, 1)]
    return min(ends), max(ends)


def _aslant(part: SurfacePart, face: int, corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray) -> Spot | None:
    """Where a part lies on a face that its limits cut in oblique lines: one limit leaves a strip, two a parallelogram.

    raises NotFlat where a third limit cuts that again
    Source: places of the plane by two of their coordinates, n . p being the third equation.
    """
    cuts: list[tuple[int, float, float]] = []
    for k, (low, high) in enumerate(_limits(part)):
        low_end, high_end = _ends(k, corner, edge_u, edge_v)
        if low >= high_end or high <= low_end:
            return None
        if high_end - low_end > _LEAST_M and (low > low_end + _LEAST_M or high < high_end - _LEAST_M):
            cuts.append((k, max(low, low_end), min(high, high_end)))
    if not cuts:
        return Spot(face, corner, edge_u, edge_v)
    for pair in combinations(cuts, 2) if len(cuts) > 1 else [(cuts[0],)]:
        spot = _between(pair, face, corner, edge_u, edge_v)
        if spot is not None and not any(_cut_again(spot, each) for each in cuts if each not in pair):
            return spot
    raise NotFlat(f'"{part.on}" lies aslant: these limits cut no parallelogram from it, leave one out')


def _between(
    cuts: Sequence[tuple[int, float, float]], face: int, corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray
) -> Spot | None:
    """What one or two limits (axis, low, high) leave of a face's plane; None where both run along one line."""
    normal, axes = np.cross(edge_u, edge_v), np.eye(3)
    normal /= np.linalg.norm(normal)
    first = axes[cuts[0][0]]
    second = axes[cuts[1][0]] if len(cuts) > 1 else np.cross(normal, first)
    rows = np.array([first, second, normal])
    if abs(float(np.linalg.det(rows))) < _FLAT:
        return None
    (s0, s1), (t0, t1) = cuts[0][1:], cuts[1][1:] if len(cuts) > 1 else _ends_along(second, corner, edge_u, edge_v)
    height = float(corner @ normal)
    at, to_s, to_t = (np.linalg.solve(rows, [s, t, height]) for s, t in ((s0, t0), (s1, t0), (s0, t1)))
    u, v = to_s - at, to_t - at
    return Spot(face, at, u, v) if float(np.cross(u, v) @ normal) > 0.0 else Spot(face, at, v, u)


def _cut_again(spot: Spot, limit: tuple[int, float, float]) -> bool:
    """True where a limit (axis, low, high) takes something more of a spot."""
    k, low, high = limit
    low_end, high_end = _ends(k, spot.corner, spot.edge_u, spot.edge_v)
    return low > low_end + _LEAST_M or high < high_end - _LEAST_M


def _ends_along(axis: np.ndarray, corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray) -> tuple[float, float]:
    """Least and greatest place of a parallelogram along an axis of any length, in its units."""
    ends = [float(axis @ (corner + i * edge_u + j * edge_v)) for i in (0, 1) for j in (0, 1)]
    return min(ends), max(ends)


def _meets(shell: Mesh, face: int, spot: Spot) -> bool:
    """True where some of a spot lies on the face itself and not only in its frame. Source: places of an even grid."""
    mine = shell.triangles[groups_of(shell).group == face]
    s = (np.arange(_LOOKS) + 0.5) / _LOOKS
    places = spot.corner + s[:, None, None] * spot.edge_u + s[None, :, None] * spot.edge_v
    a, b, c = mine[:, 0], mine[:, 1], mine[:, 2]
    normal = np.cross(b - a, c - a)
    p = places.reshape(-1, 1, 3)
    inside = np.ones((p.shape[0], len(mine)), bool)
    for start, end in ((a, b), (b, c), (c, a)):
        inside &= (np.cross(end - start, p - start) * normal).sum(2) >= -1e-12
    return bool(inside.any())


def window_spots(room: Room, window: Window) -> list[Spot]:
    """Where a window lies in a room that is no box, as `spots` has it.  raises NotFlat as that"""
    everywhere = (-math.inf, math.inf)
    span = (window.right_m or everywhere, window.out_m or everywhere, window.up_m or everywhere)
    found = spots(room, SurfacePart(window.name, window.surface, span, Finish("", (0.0, 0.0, 0.0))))
    for spot in found:
        if abs(float(spot.edge_u @ spot.edge_v)) > 1e-6 * float(np.linalg.norm(spot.edge_u) * np.linalg.norm(spot.edge_v)):
            raise NotFlat(f'"{window.surface}" lies aslant: these limits cut no rectangle from it')
    return found


def share_on_face(room: Room, spot: Spot) -> float:
    """Share of a spot that lies on its face and not beyond it [1]. Source: an even grid of places."""
    return _seen(room, spot, [])


def areas_m2(room: Room) -> dict[str, float]:
    """Area [m2] of each surface less its parts, and of each part, by name. Source: cross products; parts on parts are taken off these.

    What reaches over the edge of a face that is no rectangle counts in the part as far as an even grid of places finds it on the face.
    """
    if room.shell is None:
        _, u, v = box_walls(room)
        found = dict(zip(SURFACES, map(float, np.linalg.norm(np.cross(u, v), axis=1)), strict=True))
    else:
        found = room.shell.areas_m2()
    laid: list[tuple[SurfacePart, Spot]] = [(part, spot) for part in room.parts for spot in spots(room, part)]
    for i, (part, spot) in enumerate(laid):
        shares = _seen(room, spot, [other for _, other in laid[i + 1 :] if other.face == spot.face])
        size = float(np.linalg.norm(np.cross(spot.edge_u, spot.edge_v)))
        found[part.name] = found.get(part.name, 0.0) + size * shares
        found[SURFACES[spot.face] if room.shell is None else _surface_of(room.shell, spot.face)] -= size * shares
    return found


def _surface_of(shell: Mesh, face: int) -> str:
    return shell.names[int(groups_of(shell).surface[face])]


def _seen(room: Room, spot: Spot, above: list[Spot], looks: int = 200) -> float:
    """Share of a spot that lies on its face and under no other part [1]. Source: an even grid of places."""
    s = (np.arange(looks) + 0.5) / looks
    places = (spot.corner + s[:, None, None] * spot.edge_u + s[None, :, None] * spot.edge_v).reshape(-1, 3)
    seen = np.ones(len(places), bool)
    for other in above:
        u, v = np.linalg.lstsq(np.column_stack([other.edge_u, other.edge_v]), (places - other.corner).T, rcond=None)[0]
        seen &= ~((u >= 0) & (u <= 1) & (v >= 0) & (v <= 1))
    if room.shell is not None:
        mine = room.shell.triangles[groups_of(room.shell).group == spot.face]
        on = np.zeros(len(places), bool)
        for a, b, c in mine:
            normal = np.cross(b - a, c - a)
            on |= np.all([(np.cross(q - p, places - p) @ normal) >= -1e-12 for p, q in ((a, b), (b, c), (c, a))], axis=0)
        seen &= on
    return float(seen.mean())
