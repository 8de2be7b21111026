"""Where an edge cuts the lit screen as a node of the map sees it: shadows on it, what stands before it, the node's own horizon."""

from __future__ import annotations

import math

import numpy as np
from numba.extending import overload

from ...materials.kernels.jit import kernel
from .before import cut_by_piece
from .patches import frozen
from .rays import patch_hit
from .screen_samples import LitScreen
from .vectors import dot, row, sub

PROBE, AT_EDGES = 4, 16  # Gauss points a side of a zone: to find an edge that crosses it, and to sample such a zone near by


def cut_off(geometry, sight, blockers, sample, way):
    """True when one of the first `blockers` patches that a node's sight holds cuts the segment `way` [m] from a sample [m] to the node.

    Source: `patch_hit`.
    """
    find = cut_by_piece if len(geometry.pieces) else cut_by_patch
    return find(geometry, sight, blockers, sample, way)


@overload(cut_off)
def _cut_off(geometry, sight, blockers, sample, way):
    if geometry[geometry.fields.index("pieces")].count == 0:
        return lambda geometry, sight, blockers, sample, way: cut_by_patch(geometry, sight, blockers, sample, way)
    return lambda geometry, sight, blockers, sample, way: cut_by_piece(geometry, sight, blockers, sample, way)


@kernel
def cut_by_patch(geometry, sight, blockers, sample, way):
    """`cut_off` [m] without pieces. Source: `patch_hit`."""
    for k in range(blockers):
        s, _, _ = patch_hit(geometry.plane, sight.found[k], sample, way, 1.0 - 1e-9)
        if s > 0.0:
            return True
    return False


@kernel
def horizon_cuts(rim, y, n):
    """True when a node y [m] with normal n has some of the rim (4, 3) [m] below its horizon.

    Source: definition; a node with all of it below sees nothing, and costs little.
    """
    lowest = math.inf
    for i in range(4):
        lowest = min(lowest, (rim[i, 0] - y[0]) * n[0] + (rim[i, 1] - y[1]) * n[1] + (rim[i, 2] - y[2]) * n[2])
    return lowest <= 0.0


@kernel
def samples_of(geometry, lit, sight, zone, level, ragged):
    """First sample, number of samples and of blockers to test for a zone as a node sees it.

    The samples are those of `level`, or more where an edge crosses the zone; none where all of it is hidden.

    sight  a NodeSight;  ragged  the zone's own light has an edge
    An edge is that of a shadow on the screen, of what stands before the screen, or the node's own horizon. Across it what a
    sample sends jumps, and rows of a product rule fall off all at once: scattered samples err far less (measured: a sixth).
    Source: some of the zone's samples at PROBE a side are seen and some not; derived.
    """
    own = lit.side[level] * lit.side[level]
    crossed, left = ragged, sight.blockers
    if not (ragged or sight.whole):
        probe = level
        while probe < lit.side.shape[0] - 1 and lit.side[probe] < PROBE:
            probe += 1
        many = lit.side[probe] * lit.side[probe]
        seen, unseen = 0, 0
        for i in range(lit.first[probe] + zone * many, lit.first[probe] + (zone + 1) * many):
            sample = row(lit.place, i)
            way = sub(sight.place, sample)
            if dot(way, sight.normal) >= 0.0 or cut_off(geometry, sight, sight.blockers, sample, way):
                unseen += 1
            else:
                seen += 1
            if seen > 0 and unseen > 0:
                crossed = True
                break
        if seen == 0:
            return np.int64(0), np.int64(0), 0
        if not crossed:
            left = 0
    if crossed:
        if own < lit.scattered[1]:
            return lit.scattered[0] + zone * lit.scattered[1], lit.scattered[1], left
        while level < lit.side.shape[0] - 1 and lit.side[level] < AT_EDGES:
            level += 1
        own = lit.side[level] * lit.side[level]
    return lit.first[level] + zone * own, own, left


def ragged_zones(lit: LitScreen) -> np.ndarray:
    """True for the zones (zones,) that the edge of a shadow in the beam, or of the cloth, crosses: some samples carry no flux.

    Source: definition, at the first level with PROBE samples a side.
    """
    level = min(int(np.searchsorted(lit.side, PROBE)), len(lit.side) - 1)
    many, first, zones = int(lit.side[level]) ** 2, int(lit.first[level]), len(lit.zone_place)
    lit_up = lit.flux[first : first + zones * many].reshape(zones, many) > 0.0
    return frozen(np.asarray(lit_up.any(axis=1) & ~lit_up.all(axis=1)))
