"""Triangles to patches: neighbours of one surface that lie in one plane become one patch with a frame round them, cut into pieces."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

_OFF_M = 3e-5  # single-precision corners of a flat face lie off its plane by less in rooms up to 100 m
_ALIKE = 0.9999  # cosine between the normals of neighbours in one plane; narrow triangles of rounded corners lean most
_OUT = np.array([0.0, -1.0, 0.0])  # the screen's normal in the inside frame


class Triangles(NamedTuple):
    """A mesh in the inside frame.

    corners  (V, 3) [m];  faces (F, 3) int, corners of each triangle, the reflecting side where they turn left
    surface  (F,) int, the named surface;  facet (F,) int: only triangles of one number may become one patch
    sheet    (F,) bool, True where the other side reflects as well
    """

    corners: np.ndarray
    faces: np.ndarray
    surface: np.ndarray
    facet: np.ndarray
    sheet: np.ndarray


class Grouped(NamedTuple):
    """Patches of a mesh: corner, edge_u, edge_v (G, 3) [m] of their frames, surface (G,), and of each triangle its group (F,).

    sheet (G,) bool
    """

    corner: np.ndarray
    edge_u: np.ndarray
    edge_v: np.ndarray
    surface: np.ndarray
    sheet: np.ndarray
    group: np.ndarray


def grouped(mesh: Triangles) -> Grouped:
    """The flat groups of a mesh, in the order of their first triangles.

    raises  ValueError for a triangle without area
    Source: connected components over shared edges; a group that turns out bent falls into its triangles.
    """
    a, b, c = (mesh.corners[mesh.faces[:, k]] for k in range(3))
    cross = np.cross(b - a, c - a)
    twice = np.linalg.norm(cross, axis=1)
    if not (twice > 0.0).all():
        raise ValueError(f"triangle {int(np.argmin(twice))} has no area")
    normal = cross / twice[:, None]
    group = _connected(mesh, normal)
    bent = _bent(mesh, group, cross)
    if bent.any():  # those triangles stand for themselves
        group = np.where(bent[group], len(mesh.faces) + np.arange(len(mesh.faces)), group)
        _, first, group = np.unique(group, return_index=True, return_inverse=True)
        order = np.empty(len(first), int)
        order[np.argsort(first)] = np.arange(len(first))
        group = order[group.ravel()]
    return _framed(mesh, group, cross)


def _connected(mesh: Triangles, normal: np.ndarray) -> np.ndarray:
    """Group (F,) of each triangle: neighbours of one facet, surface and plane together, numbered by their first triangle."""
    _, weld = np.unique(mesh.corners, axis=0, return_inverse=True)
    ring = weld.ravel()[mesh.faces]
    edges = np.sort(np.stack([ring, np.roll(ring, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    owner = np.repeat(np.arange(len(ring)), 3)
    order = np.lexsort((owner, edges[:, 1], edges[:, 0]))
    same = (edges[order[1:]] == edges[order[:-1]]).all(axis=1)
    one, two = owner[order[:-1]][same], owner[order[1:]][same]
    alike = (mesh.surface[one] == mesh.surface[two]) & (mesh.facet[one] == mesh.facet[two]) & (mesh.sheet[one] == mesh.sheet[two])
    alike &= (normal[one] * normal[two]).sum(axis=1) > _ALIKE
    off = mesh.corners[mesh.faces[two]] - mesh.corners[mesh.faces[one, 0]][:, None]
    alike &= np.abs((off * normal[one][:, None]).sum(axis=2)).max(axis=1) < _OFF_M
    return np.asarray(np.unique(_first_of(len(ring), one[alike], two[alike]), return_inverse=True)[1].ravel())


def _first_of(count: int, one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """The first of the things (count,) that each hangs together with, by links between things one and two (L,).

    Source: the lesser first of a link's two goes to both firsts, then ways of firsts are cut short, until every link's two agree.
    """
    first = np.arange(count)
    while (first[one] != first[two]).any():
        ends, least = np.concatenate([first[one], first[two]]), np.tile(np.minimum(first[one], first[two]), 2)
        np.minimum.at(first, ends, least)
        while (first[first] != first).any():
            first = first[first]
    return first


def _planes(mesh: Triangles, group: np.ndarray, cross: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Unit normal (G, 3) of each group, its triangles' by area, and how far its plane lies from the origin (G,) [m]."""
    groups = int(group.max()) + 1
    total, size = np.zeros((groups, 3)), np.zeros(groups)
    np.add.at(total, group, cross)
    area = np.linalg.norm(cross, axis=1)
    np.add.at(size, group, area)
    normal = total / np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-300)
    middle, offset = mesh.corners[mesh.faces].mean(axis=1), np.zeros(groups)
    np.add.at(offset, group, area * (middle * normal[group]).sum(axis=1))
    return normal, offset / size


def _bent(mesh: Triangles, group: np.ndarray, cross: np.ndarray) -> np.ndarray:
    """True for the groups (G,) of which a corner lies off the common plane: chains of small turns add up on fine curves."""
    normal, offset = _planes(mesh, group, cross)
    off = np.abs((mesh.corners[mesh.faces] * normal[group][:, None]).sum(axis=2) - offset[group][:, None]).max(axis=1)
    worst = np.zeros(len(normal))
    np.maximum.at(worst, group, off)
    return worst > 2.0 * _OFF_M


def _framed(mesh: Triangles, group: np.ndarray, cross: np.ndarray) -> Grouped:
    """Frames round the groups: u in the plane and in no part away from the screen, v runs away from it, u x v along the normal."""
    normal, offset = _planes(mesh, group, cross)
    u = np.cross(_OUT, normal)
    length = np.linalg.norm(u, axis=1, keepdims=True)
    u = np.where(length > 1e-6, u / np.maximum(length, 1e-300), [[1.0, 0.0, 0.0]])
    v = np.cross(normal, u)
    v /= np.linalg.norm(v, axis=1, keepdims=True)
    turn = np.where((v @ _OUT)[:, None] < -1e-12, -1.0, 1.0)
    u, v = turn * np.cross(v, normal), turn * v
    low, high = np.full((len(normal), 2), np.inf), np.full((len(normal), 2), -np.inf)
    for k in range(3):
        at = mesh.corners[mesh.faces[:, k]]
        place = np.stack([(at * u[group]).sum(axis=1), (at * v[group]).sum(axis=1)], axis=1)
        np.minimum.at(low, group, place)
        np.maximum.at(high, group, place)
    first = np.full(len(normal), len(group))
    np.minimum.at(first, group, np.arange(len(group)))
    corner = low[:, :1] * u + low[:, 1:] * v + offset[:, None] * normal
    return Grouped(corner, (high - low)[:, :1] * u, (high - low)[:, 1:] * v, mesh.surface[first], mesh.sheet[first], group)
