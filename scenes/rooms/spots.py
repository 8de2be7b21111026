"""Where the parts of a surface lie: as parallelograms on its flat faces."""

from __future__ import annotations

import math
from functools import lru_cache
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

    raises NotFlat where limits cut an oblique face aslant
    Source: the face's plane between the part's limits.
    """
    if room.shell is None:
        corner, u, v = box_walls(room)
        some = [SURFACES.index(part.on)]
    else:
        groups = groups_of(room.shell)
        corner, u, v = groups.corner, groups.edge_u, groups.edge_v
        some = [int(i) for i in np.flatnonzero(groups.surface == room.shell.names.index(part.on))]
    found = []
    for face in some:
        spot = _on_face(part, face, corner[face], u[face], v[face])
        if spot is not None and (room.shell is None or _meets(room.shell, face, spot)):
            found.append(spot)
    return found


def _on_face(part: SurfacePart, face: int, corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray) -> Spot | None:
    length = [float(np.linalg.norm(edge)) for edge in (edge_u, edge_v)]
    a, b = edge_u / length[0], edge_v / length[1]
    (right, out, up) = part.span_m
    limits = (right, (-out[1], -out[0]), up)
    between = [[0.0, length[0]], [0.0, length[1]]]
    for k, (low, high) in enumerate(limits):
        if math.isinf(low) and math.isinf(high):
            continue
        along = [abs(axis[k]) > _FLAT for axis in (a, b)]
        if all(along):
            ends = [corner[k] + i * edge_u[k] + j * edge_v[k] for i in (0, 1) for j in (0, 1)]
            if low <= min(ends) + _LEAST_M and high >= max(ends) - _LEAST_M:
                continue
            if low >= max(ends) or high <= min(ends):
                return None
            raise NotFlat(f'"{part.on}" lies aslant: a limit {("right", "out", "up")[k]} cuts no rectangle from it')
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
    return spots(room, SurfacePart(window.name, window.surface, span, Finish("", (0.0, 0.0, 0.0))))


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
        found[part.on] -= size * shares
    return found


def _seen(room: Room, spot: Spot, above: list[Spot], looks: int = 200) -> float:
    """Share of a spot that lies on its face and under no other part [1]. Source: an even grid of places."""
    s = (np.arange(looks) + 0.5) / looks
    places = (spot.corner + s[:, None, None] * spot.edge_u + s[None, :, None] * spot.edge_v).reshape(-1, 3)
    seen = np.ones(len(places), bool)
    for other in above:
        q = places - other.corner
        u, v = (q @ edge / float(edge @ edge) for edge in (other.edge_u, other.edge_v))
        seen &= ~((u >= 0) & (u <= 1) & (v >= 0) & (v <= 1))
    if room.shell is not None:
        mine = room.shell.triangles[groups_of(room.shell).group == spot.face]
        on = np.zeros(len(places), bool)
        for a, b, c in mine:
            normal = np.cross(b - a, c - a)
            on |= np.all([(np.cross(q - p, places - p) @ normal) >= -1e-12 for p, q in ((a, b), (b, c), (c, a))], axis=0)
        seen &= on
    return float(seen.mean())
