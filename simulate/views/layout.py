"""Cells on the surfaces of a room: they end where something touches or nearly touches the surface, and are finest there.

Light jumps or bends at such lines. Boxes, frame and walls all run along the axes, so lines across a whole surface follow them
exactly and no cell lies partly under a body.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np

from ..light.geometry import SCREEN, Geometry, is_pieced
from ..light.projector import CENTRE, NORMAL, ProjectorArrays

CELL_M = 0.15  # cells far from all lines
FINE_M = 0.01  # cells that touch a line
END_M = 0.02  # cells at the surface's own edges
GROWTH = 0.55  # by how much a cell may be larger, for each of its widths that it lies off a line
PER_DISTANCE = 0.5  # largest cell over the distance to the picture, within which its light rises and falls
PER_HEIGHT = 0.25  # cells at the outline of what stands off the surface, over its distance
REACH_M = 0.30  # what stands off a surface by more throws soft light only
MOST_CELLS = 24_000
_SAME_M = 0.002  # lines nearer together count as one
_COARSER = 1.25


def bounds_between(
    length_m: float, lines: np.ndarray, fine_m: np.ndarray, coarse_m: float | np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Where the cells along an edge end, and which piece of the edge each belongs to.

    length_m  of the edge [m];  lines  (n,) rising places 0 .. 1 with both ends;  fine_m  (n,) size of the cells there [m]
    coarse_m  largest size [m], one or (k,) at even places 0 .. 1
    returns   (cells + 1,) rising places 0 .. 1 [1], (cells,) int number of the piece between two lines
    Source: the count is the integral of 1 / wanted size, and the cells are even in that integral; derived.
    """
    bounds, pieces = [np.zeros(1)], []
    at, coarse = lines * length_m, np.atleast_1d(coarse_m)
    for k, (low, high) in enumerate(itertools.pairwise(at)):
        x = np.linspace(low, high, 65)
        most = np.interp(x / length_m, np.linspace(0.0, 1.0, len(coarse)), coarse)
        wanted = np.minimum(most, (fine_m + GROWTH * np.abs(x[:, None] - at)).min(axis=1))
        sums = np.concatenate([[0.0], np.cumsum(0.5 * (1.0 / wanted[1:] + 1.0 / wanted[:-1]) * np.diff(x))])
        cells = max(1 if high - low < 0.5 * FINE_M else 2, round(sums[-1]))  # one cell alone could tell no slope
        bounds.append(np.interp(np.arange(1, cells + 1) / cells * sums[-1], sums, x) / length_m)
        bounds[-1][-1] = lines[k + 1]
        pieces.append(np.full(cells, k))
    return np.concatenate(bounds), np.concatenate(pieces)


def _merged(places: np.ndarray, fine_m: np.ndarray, length_m: float, same_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Rising lines with both ends, those nearer together than same_m [m] as one with the finer cells."""
    inside = (places > same_m / length_m) & (places < 1.0 - same_m / length_m)
    order = np.argsort(places[inside], kind="stable")
    lines, sizes = [0.0], [END_M]
    for place, size in zip(places[inside][order], fine_m[inside][order], strict=True):
        if (place - lines[-1]) * length_m < same_m:
            sizes[-1] = min(sizes[-1], size)
        else:
            lines.append(float(place))
            sizes.append(float(size))
    return np.array([*lines, 1.0]), np.array([*sizes, END_M])


def cut_patches(geometry: Geometry) -> np.ndarray:
    """True for the patches (P,) of which triangles are met. Source: `Pieces`."""
    cut = np.zeros(len(geometry.role), bool)
    if is_pieced(geometry):
        triangle = geometry.pieces.plane[:, 12] > 0.0
        cut[geometry.pieces.front[triangle]] = True
        cut[geometry.pieces.back[triangle & (geometry.pieces.back >= 0)]] = True
    cut[geometry.role == SCREEN] = False
    return cut


class Bodies(NamedTuple):
    """Patches (B,) that may touch a surface along lines, and their corners (4, B, 3) [m]."""

    patch: np.ndarray
    corners: np.ndarray

    def on(self, patch: int, geometry: Geometry) -> tuple[list[np.ndarray], np.ndarray, np.ndarray]:
        """Shares (4, B) of a patch's edges u and v at which the corners stand [1], and how far bodies stand off it, least and most (B,) [m]."""
        off = self.corners - geometry.corner[patch]
        height = off @ geometry.normal[patch]
        plane = geometry.plane[patch]
        return [off @ plane[6:9], off @ plane[9:12]], height.min(axis=0), height.max(axis=0)


def bodies_of(geometry: Geometry) -> Bodies:
    """All but the walls of a box and what is cut: facets of meshes touch no surface along lines across the whole of it."""
    bodies = np.arange(0 if np.isnan(geometry.box[0, 0]) else 6, len(geometry.role))
    bodies = bodies[~cut_patches(geometry)[bodies]]
    u, v = geometry.edge_u[bodies], geometry.edge_v[bodies]
    return Bodies(bodies, geometry.corner[bodies] + np.stack([np.zeros_like(u), u, v, u + v]))


def _lines_on(patch: int, geometry: Geometry, projector: ProjectorArrays, bodies: Bodies) -> list[tuple[np.ndarray, np.ndarray]]:
    """Places 0 .. 1 along u and along v of a patch at which a body's outline or the screen's plane lies, and cell sizes [m]."""
    corner = geometry.corner[patch]
    at, low, high = bodies.on(patch, geometry)
    over = np.all([(a.max(axis=0) > -1e-9) & (a.min(axis=0) < 1.0 + 1e-9) for a in at], axis=0)
    near = np.flatnonzero(over & (high > -1e-6) & (low < REACH_M) & (bodies.patch != patch))
    size = np.maximum(FINE_M, PER_HEIGHT * np.maximum(low[near], 0.0))
    found = []
    centre, out = projector.frame[CENTRE], projector.frame[NORMAL]
    for edge, a in zip((geometry.edge_u[patch], geometry.edge_v[patch]), at, strict=True):
        places, sizes = [a[:, near].min(axis=0), a[:, near].max(axis=0)], [size, size]
        along = float(edge @ out)
        if abs(along) > 0.999 * float(np.linalg.norm(edge)):
            places.append(np.array([float((centre - corner) @ out) / along]))
            sizes.append(np.array([2.0 * FINE_M]))
        found.append((np.concatenate(places), np.concatenate(sizes)))
    return found


def _largest_on(patch: int, geometry: Geometry, projector: ProjectorArrays) -> list[np.ndarray]:
    """Largest cells [m] along u and along v of a patch, at even places: light near the picture bends within the distance to it.

    Source: the light of a small source at a distance d has its peak's width d; the nearest place on the other edge counts.
    """
    even = np.linspace(0.0, 1.0, 33)
    places = geometry.corner[patch] + even[:, None, None] * geometry.edge_u[patch] + even[:, None] * geometry.edge_v[patch]
    centre, across, upward, out = projector.frame[:4]
    left, right, bottom, top = projector.picture
    off = [(places - centre) @ axis for axis in (across, upward, out)]
    gap = [off[0] - np.clip(off[0], left, right), off[1] - np.clip(off[1], bottom, top), off[2]]
    corners = centre + np.array([x * across + z * upward for x in (left, right) for z in (bottom, top)])
    seen = ((corners - geometry.corner[patch]) @ geometry.normal[patch]).max() > 1e-6
    distance = np.where((off[2] > 0.0) & seen, np.sqrt(sum(g * g for g in gap)), np.inf)
    return [np.clip(PER_DISTANCE * distance.min(axis=axis), FINE_M, CELL_M) for axis in (1, 0)]


def cells_on(
    geometry: Geometry, projector: ProjectorArrays, left_out: np.ndarray | None = None
) -> dict[int, list[tuple[np.ndarray, np.ndarray]]]:
    """Bounds (n + 1,) and pieces (n,) of the cells along u and along v of every patch but the cloth, as `bounds_between` has them.

    left_out  patches (n,) that have none.  At most about MOST_CELLS in all: where lines would make more, all cells grow.
    Source: `_lines_on`; discontinuity meshing (Heckbert 1992), here with whole lines.
    """
    bodies = bodies_of(geometry)
    patches = np.flatnonzero(geometry.role != SCREEN)
    if left_out is not None:
        patches = np.setdiff1d(patches, left_out, assume_unique=True)
    lines = {int(i): _lines_on(int(i), geometry, projector, bodies) for i in patches}
    largest = {int(i): _largest_on(int(i), geometry, projector) for i in patches}
    factor = 1.0
    found: dict[int, list[tuple[np.ndarray, np.ndarray]]] = {}
    for _ in range(12):
        total = 0
        for i, both in lines.items():
            lengths = [float(np.linalg.norm(edge)) for edge in (geometry.edge_u[i], geometry.edge_v[i])]
            found[i] = []
            for length, (places, sizes), most in zip(lengths, both, largest[i], strict=True):
                merged, fine = _merged(places, sizes, length, factor * _SAME_M)
                found[i].append(bounds_between(length, merged, factor * fine, factor * most))
            total += (len(found[i][0][1])) * (len(found[i][1][1]))
        if total <= MOST_CELLS:
            break
        factor *= _COARSER
    return found
