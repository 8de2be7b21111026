"""Charts of the map of the lit screen: which patches need one, and where its nodes stand along the patch's two edges.

A chart is a tensor grid over a parallelogram, the frame of a patch that is cut into pieces included. A triangle that is a patch of
its own and that the screen shines on is refused: without nodes it would be dark. groups.py makes patches of triangles.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from .geometry import DIFFUSE, Geometry
from .projector import CENTRE, NORMAL, ProjectorArrays
from .vectors import dot, row, sub

_LARGE_M = 1.0
_BEFORE, _FACES = np.uint8(1), np.uint8(2)


class PatchNotServed(ValueError):
    """The map cannot serve a patch that the lit screen shines on; str() is one line that names it."""


class Spacing(NamedTuple):
    """How the nodes along an edge stand, as `graded` takes it."""

    low: float
    cells: int
    strength: float


def graded(low: float, cells: int, strength: float) -> np.ndarray:
    """cells + 1 places [1] from low to 1, denser near low for a strength above 0.

    Source: exponential stretching; smooth, so that the error still falls as the square of the step.
    """
    s = np.linspace(0.0, 1.0, cells + 1)
    t = np.expm1(strength * s) / math.expm1(strength) if strength > 1e-6 else s
    return np.asarray(low + (1.0 - low) * t)


def even_cells(length_m: float, distance_m: float, cells: int) -> int:
    """Even number of cells for an edge [m] of a surface at a distance [m] from the screen: fine when near and long.

    returns  about cells x length / (distance + length / 4), from 4 to 2 x cells
    Source: rule of thumb.
    """
    wanted = cells * length_m / max(distance_m + 0.25 * length_m, 0.3)
    return int(min(max(2 * math.ceil(0.5 * wanted), 4), 2 * cells))


def charts(
    patches: np.ndarray, geometry: Geometry, projector: ProjectorArrays, *, cells: int, wall: Sequence[bool]
) -> list[tuple[Spacing, Spacing]]:
    """Spacing of the nodes [1] along u and v of patches (n,).

    cells  along a wall edge;  wall  (n,) True for one of the room's six
    Source: `graded`, `even_cells`.
    """
    centre, normal = projector.frame[CENTRE], projector.frame[NORMAL]
    corner, edges = geometry.corner[patches], np.array([geometry.edge_u[patches], geometry.edge_v[patches]])
    before, away = ((centre - corner) @ normal).tolist(), (edges @ normal).tolist()
    lengths, nearest = ([], []) if all(wall) else _sizes(corner, edges, centre)
    columns = []
    for k in range(2):
        column = []
        for i, of_wall in enumerate(wall):
            if not of_wall:
                each = Spacing(0.0, even_cells(lengths[k][i], nearest[k][i], max(8, cells // 2)), 0.0)
            elif away[k][i] > 1e-9:  # runs away from the screen wall: nothing before the screen plane
                each = Spacing(max(0.0, before[i] / away[k][i]), cells, 2.5)
            else:
                each = Spacing(0.0, cells, 0.0)
            column.append(each)
        columns.append(column)
    return list(zip(*columns, strict=True))


def _sizes(corner: np.ndarray, edges: np.ndarray, centre: np.ndarray) -> tuple[list[list[float]], list[list[float]]]:
    """Lengths of edges (2, n, 3) and how far from `centre` the patches are as each of their edges has it, (2, n) [m]. Source: rule of thumb."""
    lengths = np.sqrt((edges * edges).sum(axis=2))
    off = np.abs(corner + 0.5 * edges.sum(axis=0) - centre)
    gap = np.maximum(off - 0.5 * lengths[:, :, None], 0.0)
    return lengths.tolist(), np.sqrt((gap * gap).sum(axis=2)).tolist()


def lit_corners(geometry: Geometry, projector: ProjectorArrays) -> np.ndarray:
    """Corners (4 or 8, 3) [m] of the picture on the screen's plane, or of the slab that folded cloth fills there."""
    left, across, bottom, top = projector.picture.tolist()
    flat = np.array([(1.0, left, bottom), (1.0, left, top), (1.0, across, bottom), (1.0, across, top)]) @ projector.frame[:NORMAL]
    if not geometry.relief:
        return flat
    return np.concatenate([flat + height * projector.frame[NORMAL] for height in geometry.relief.reach[:2]])


def is_large(patch: int, geometry: Geometry) -> bool:
    """True for what is as large as a wall, where no shell names the walls. Source: rule of thumb, 1 m [m]."""
    return max(float(np.linalg.norm(geometry.edge_u[patch])), float(np.linalg.norm(geometry.edge_v[patch]))) >= _LARGE_M


@kernel
def mark_shone(corner, edge_u, edge_v, normal, plane, lit, frame, marks):
    """Mark the patches that lie before the screen plane (1), those whose fronts a lit corner (n, 3) [m] can see (2), or both (3).

    corner, edge_u, edge_v, normal, plane  of a Geometry;  frame  of the screen;  marks  (P,) uint8, written
    Source: a half-space holds some part of a convex body just where it holds one of its corners.
    """
    centre, ahead = row(frame, CENTRE), row(frame, NORMAL)
    for i in range(corner.shape[0]):
        place, n = row(corner, i), row(normal, i)
        u, v = dot(row(edge_u, i), ahead), dot(row(edge_v, i), ahead)
        both = u + v if plane[i, 12] == 0.0 else 0.0
        farthest = dot(sub(place, centre), ahead) + max(max(u, v), max(both, 0.0))
        base, highest = dot(place, n), -math.inf
        for k in range(lit.shape[0]):
            highest = max(highest, dot(row(lit, k), n) - base)
        marks[i] = (_BEFORE if farthest >= 1e-6 else 0) + (_FACES if highest > 1e-9 else 0)


def shone_on(geometry: Geometry, projector: ProjectorArrays, walls: int) -> np.ndarray:
    """Numbers of the patches that lie before the screen plane and whose fronts any part of the picture can see.

    walls  patches 0 .. walls - 1 are the room's, which always count
    Source: `mark_shone`.
    """
    marks = np.empty(len(geometry.corner), np.uint8)
    flats = geometry.corner, geometry.edge_u, geometry.edge_v, geometry.normal, geometry.plane
    mark_shone(*flats, lit_corners(geometry, projector), projector.frame, marks)
    marks[:walls] |= _FACES
    return ((geometry.role == DIFFUSE) & (marks == _BEFORE + _FACES)).nonzero()[0]


def served(geometry: Geometry, projector: ProjectorArrays, walls: int) -> np.ndarray:
    """`shone_on`, refusing what has no chart.

    raises  PatchNotServed for a triangle: left out of the map it would take in no light at all, without a word
    Source: definition.
    """
    needed = shone_on(geometry, projector, walls)
    if geometry.plane[needed, 12].any():
        triangles = needed[geometry.plane[needed, 12] != 0.0]
        which = int(triangles[0])
        more = f" and {len(triangles) - 1} more" if len(triangles) > 1 else ""
        raise PatchNotServed(
            f"patch {which} of surface {int(geometry.surface[which])}{more}: the screen shines on a triangle, and the map of its "
            "light serves parallelograms; light.connect needs no map"
        )
    return needed
