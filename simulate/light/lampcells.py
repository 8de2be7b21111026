"""Pieces of the room's surfaces, small where a lamp's light is strong and the screen is near: what a lamp's first reflection is summed over.

Paths meet the bright spot beside a lamp too seldom to tell its light; a sum over pieces of alike weight does, whatever the spot's size.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from .geometry import DIFFUSE, Geometry
from .lamps import AREA, LINE, Lamps, whole_lux
from .ledger import Starts
from .patches import frozen
from .readonly import read_only
from .vectors import along, dot, row, sub

PIECES = 512  # that a lamp's surfaces are cut into, about
_BY_PLACE, _BY_WEIGHT = 6, 8  # rounds that cut what is longer than it is far from the lamp, lit or not; and what weighs too much
LEAST_M = 0.05
MOST_PATCHES = 4000  # of a geometry; beyond, the paths find a lamp's first reflection themselves


class LampCells(NamedTuple):
    """Pieces for one lamp, n of them: patch (n,) int64, corner and size on it (n, 2) [1] in u and v."""

    patch: np.ndarray
    corner: np.ndarray
    size: np.ndarray


@kernel
def nearest_of(lamps, lamp, p):
    """The point of a lamp nearest to p [m]. Source: its edges stand square to each other."""
    place, u, v = row(lamps.place, lamp), row(lamps.edge_u, lamp), row(lamps.edge_v, lamp)
    q = sub(p, place)
    if lamps.kind[lamp] == LINE:  # from its middle to either end
        return along(place, u, min(max(dot(q, u) / dot(u, u), -1.0), 1.0))
    if lamps.kind[lamp] == AREA:
        return along(along(place, u, min(max(dot(q, u) / dot(u, u), 0.0), 1.0)), v, min(max(dot(q, v) / dot(v, v), 0.0), 1.0))
    return place


@kernel
def weigh(geometry, lamps, lamp, starts, cells, out):
    """What pieces may send to the screen at most, about [any unit], into out (n, 2), and how long they are for their distance [1].

    Light is asked at four points of a piece and at that nearest to the lamp, the screen at three starts, nothing between:
    what a shadow leaves dark is cut too, since its edge is not known.
    Source: rule of thumb; it decides where pieces are small, not what is summed.
    """
    many = starts.place.shape[0]
    for i in range(cells.patch.shape[0]):
        patch = cells.patch[i]
        n = row(geometry.normal, patch)
        corner, u, v = row(geometry.corner, patch), row(geometry.edge_u, patch), row(geometry.edge_v, patch)
        side = math.sqrt(dot(u, u)) * cells.size[i, 0], math.sqrt(dot(v, v)) * cells.size[i, 1]
        centre = along(
            along(corner, u, cells.corner[i, 0] + 0.5 * cells.size[i, 0]), v, cells.corner[i, 1] + 0.5 * cells.size[i, 1]
        )
        q = sub(nearest_of(lamps, lamp, centre), corner)
        near_u = min(max(dot(q, u) / dot(u, u), cells.corner[i, 0]), cells.corner[i, 0] + cells.size[i, 0])
        near_v = min(max(dot(q, v) / dot(v, v), cells.corner[i, 1]), cells.corner[i, 1] + cells.size[i, 1])
        light, coupled = 0.0, 0.0
        for k in range(5):
            a = near_u if k == 4 else cells.corner[i, 0] + cells.size[i, 0] * (0.25 if k & 1 else 0.75)
            b = near_v if k == 4 else cells.corner[i, 1] + cells.size[i, 1] * (0.25 if k & 2 else 0.75)
            p = along(along(corner, u, a), v, b)
            light += whole_lux(lamps, lamp, p, n)
            for s in range(3):
                at = (many - 1) * s // 2
                d = sub(p, row(starts.place, at))
                square = dot(d, d) + 0.25 * (side[0] * side[0] + side[1] * side[1])
                here, there = dot(d, row(starts.normal, at)), -dot(d, n)
                coupled += max(here, 0.0) * max(there, 0.0) / (square * square)
        out[i, 0] = light * coupled * side[0] * side[1]
        near = along(along(corner, u, near_u), v, near_v)
        away = sub(near, nearest_of(lamps, lamp, near))
        out[i, 1] = max(side[0], side[1]) / max(math.sqrt(dot(away, away)), LEAST_M)


def lamp_cells(geometry: Geometry, lamps: Lamps, lamp: int, starts: Starts, *, pieces: int = PIECES) -> LampCells:
    """Pieces of all surfaces that reflect, cut until none weighs more than its share, and none near the lamp is longer than it is far.

    pieces   about how many there will be
    Source: `weigh`; a piece of more than its share is cut in four, a long one in two.
    """
    patch = np.flatnonzero(geometry.role == DIFFUSE).astype(np.int64)
    cells = LampCells(patch, np.zeros((len(patch), 2)), np.ones((len(patch), 2)))
    edges = np.stack([np.linalg.norm(geometry.edge_u, axis=1), np.linalg.norm(geometry.edge_v, axis=1)], axis=1)
    read = read_only((geometry, lamps, lamp, starts))

    def asked(some: LampCells) -> np.ndarray:
        found = np.zeros((len(some.patch), 2))
        weigh(*read, read_only(some), found)
        return found

    for _ in range(_BY_PLACE):
        long = asked(cells)[:, 1] > 1.0
        cells = _joined(_some(cells, ~long), _cut(_some(cells, long), edges))
    ready = _some(cells, np.zeros(len(cells.patch), bool))
    total = float(asked(cells)[:, 0].sum())
    for _ in range(_BY_WEIGHT):
        heavy = asked(cells)[:, 0] > total / pieces
        ready, cells = _joined(ready, _some(cells, ~heavy)), _cut(_some(cells, heavy), edges)
    return LampCells(*map(frozen, _joined(ready, cells)))


def _some(cells: LampCells, which: np.ndarray) -> LampCells:
    return LampCells(cells.patch[which], cells.corner[which], cells.size[which])


def _joined(*parts: LampCells) -> LampCells:
    return LampCells(*(np.concatenate(each) for each in zip(*parts, strict=True)))


def _cut(cells: LampCells, edges: np.ndarray) -> LampCells:
    """Each piece in four, or in two across its long side where that is more than twice the other."""
    side = cells.size * edges[cells.patch]
    along_u, along_v = side[:, 0] > 2.0 * side[:, 1], side[:, 1] > 2.0 * side[:, 0]
    parts = []
    for a in (0, 1):
        for b in (0, 1):
            kept = ~((along_u & (b == 1)) | (along_v & (a == 1)))
            size = cells.size * np.stack([np.where(along_v, 1.0, 0.5), np.where(along_u, 1.0, 0.5)], axis=1)
            corner = cells.corner + size * [a, b]
            parts.append(LampCells(cells.patch[kept], corner[kept], size[kept]))
    return _joined(*parts)
