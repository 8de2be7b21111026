"""Which zones of the lit picture a node of the map sees whole, in part or not at all, and how finely it must sample each.

A box holds all samples of a zone: where it lies wholly on one side of what cuts a node's view, no sample need be asked.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from .before import BY_TREE
from .screen_samples import LitScreen

CLEAR, CUT, HIDDEN = 0, 1, 2
_HAIR_M = 1e-9


class ZoneScratch(NamedTuple):
    """What is known of the zones of a lit screen, and what one node makes of them; of one thread.

    middle   (6, zones) middle of the box that holds a zone's samples, then of the zone itself [m]
    reach    (3, 3) half of the largest such box along each of its axes [m]
    columns  (7, n) samples of the two coarsest levels: of all zones the first, then of all zones the second ...
    level    (zones,) int32 the sampling level that each asks of a node
    mark     (zones,) int32 CLEAR, CUT or HIDDEN
    touched  (blockers, zones) int32, 1 where one of the things listed before the node may hide some of a zone
    """

    middle: np.ndarray
    reach: np.ndarray
    columns: np.ndarray
    level: np.ndarray
    mark: np.ndarray
    touched: np.ndarray


def zone_scratch(lit: LitScreen, blockers: int) -> ZoneScratch:
    """Scratch of one thread for a lit screen and as many things before it. Source: `ZoneScratch`."""
    zones, some = len(lit.zone_place), lit.side[:2].astype(np.int64)
    marks = np.empty((2, zones), np.int32)
    return ZoneScratch(
        np.empty((6, zones)), np.empty((3, 3)), np.empty((7, zones * int((some * some).sum()))), marks[0], marks[1],
        np.empty((blockers, zones), np.int32),
    )  # fmt: skip


@kernel
def limit_of(side):
    """Size of a zone over its distance [1] up to which side x side Gauss points serve.

    Source: the Gauss-Legendre rule of n points errs as ratio^(2n); limits chosen for 1e-3 at worst (tested).
    """
    return 0.05 if side == 1 else 0.35 if side == 2 else 1.2 if side == 4 else 2.4 if side == 8 else 3.0


@kernel
def lay_zones(lit, samples, rim, scratch):
    """Write middle, reach and columns of a ZoneScratch.

    samples  as `columns_of` gives them;  rim (4, 3) as `rim_of` gives it [m]: the boxes lie along it
    Source: bounds of all samples of a zone.
    """
    middle, reach, columns = scratch.middle, scratch.reach, scratch.columns
    zones = middle.shape[1]
    for k in range(2):  # along the rim's sides
        other = rim[1 + 2 * k]
        x, y, z = other[0] - rim[0, 0], other[1] - rim[0, 1], other[2] - rim[0, 2]
        size = math.sqrt(x * x + y * y + z * z)
        reach[k, 0], reach[k, 1], reach[k, 2] = x / size, y / size, z / size
    for k in range(3):
        i, j = (k + 1) % 3, (k + 2) % 3
        reach[2, k] = reach[0, i] * reach[1, j] - reach[0, j] * reach[1, i]
    levels = lit.side.shape[0]
    widest = (0.0, 0.0, 0.0)
    for zone in range(zones):
        low, high = (math.inf, math.inf, math.inf), (-math.inf, -math.inf, -math.inf)
        for level in range(levels + 1):
            many = lit.scattered[1] if level == levels else lit.side[level] * lit.side[level]
            first = (lit.scattered[0] if level == levels else lit.first[level]) + zone * many
            for i in range(first, first + many):
                x, y, z = samples[0, i], samples[1, i], samples[2, i]
                a = x * reach[0, 0] + y * reach[0, 1] + z * reach[0, 2]
                b = x * reach[1, 0] + y * reach[1, 1] + z * reach[1, 2]
                c = x * reach[2, 0] + y * reach[2, 1] + z * reach[2, 2]
                low = (min(low[0], a), min(low[1], b), min(low[2], c))
                high = (max(high[0], a), max(high[1], b), max(high[2], c))
        wide = (0.5 * (high[0] - low[0]), 0.5 * (high[1] - low[1]), 0.5 * (high[2] - low[2]))
        widest = (max(widest[0], wide[0]), max(widest[1], wide[1]), max(widest[2], wide[2]))
        for k in range(3):
            middle[k, zone] = (
                (low[0] + wide[0]) * reach[0, k] + (low[1] + wide[1]) * reach[1, k] + (low[2] + wide[2]) * reach[2, k]
            )
            middle[3 + k, zone] = lit.zone_place[zone, k]
    for k in range(3):
        reach[0, k] *= widest[0] + _HAIR_M
        reach[1, k] *= widest[1] + _HAIR_M
        reach[2, k] *= widest[2] + _HAIR_M
    done = 0
    for level in range(min(2, levels)):
        many = lit.side[level] * lit.side[level]
        for k in range(7):
            for zone in range(zones):
                for i in range(many):
                    columns[k, done + i * zones + zone] = samples[k, lit.first[level] + zone * many + i]
        done += many * zones


@kernel
def reaches(scratch, a, b, c):
    """How far the boxes reach along (a, b, c) [m times its unit]. Source: support function of a box."""
    total = 0.0
    for k in range(3):
        total += abs(a * scratch.reach[k, 0] + b * scratch.reach[k, 1] + c * scratch.reach[k, 2])
    return total


@kernel
def cut_by_horizon(sight, scratch):
    """Mark the zones that lie below a node's own horizon, or some of it. Source: `reaches`."""
    middle, mark = scratch.middle, scratch.mark
    a, b, c = sight.normal
    base = a * sight.place[0] + b * sight.place[1] + c * sight.place[2]
    reach = reaches(scratch, a, b, c)
    for zone in range(mark.shape[0]):
        above = a * middle[0, zone] + b * middle[1, zone] + c * middle[2, zone] - base
        mark[zone] = np.int32(HIDDEN) if above + reach <= 0.0 else np.int32(CUT) if above - reach <= 0.0 else np.int32(CLEAR)


@kernel
def cut_by_spaces(spaces, count, scratch):
    """Mark the zones that lie in the first `count` hidden spaces (n, 20), or some of it; edges.space_behind.

    Source: `reaches`; the loop has no branch, so the compiler takes several zones at once.
    """
    middle, mark = scratch.middle, scratch.mark
    for k in range(count):
        s, touched = spaces[k], scratch.touched[k]
        a0, b0, c0, d0, a1, b1, c1, d1 = s[0], s[1], s[2], s[3], s[4], s[5], s[6], s[7]
        a2, b2, c2, d2, a3, b3, c3, d3 = s[8], s[9], s[10], s[11], s[12], s[13], s[14], s[15]
        a4, b4, c4, d4 = s[16], s[17], s[18], s[19]
        r0, r1, r2 = reaches(scratch, a0, b0, c0), reaches(scratch, a1, b1, c1), reaches(scratch, a2, b2, c2)
        r3, r4 = reaches(scratch, a3, b3, c3), reaches(scratch, a4, b4, c4)
        for zone in range(mark.shape[0]):
            x, y, z = middle[0, zone], middle[1, zone], middle[2, zone]
            value = a0 * x + b0 * y + c0 * z + d0
            most, least = value + r0, value - r0
            value = a1 * x + b1 * y + c1 * z + d1
            most, least = min_of(most, value + r1), min_of(least, value - r1)
            value = a2 * x + b2 * y + c2 * z + d2
            most, least = min_of(most, value + r2), min_of(least, value - r2)
            value = a3 * x + b3 * y + c3 * z + d3
            most, least = min_of(most, value + r3), min_of(least, value - r3)
            value = a4 * x + b4 * y + c4 * z + d4
            most, least = min_of(most, value + r4), min_of(least, value - r4)
            now = np.int32(HIDDEN) if least >= 0.0 else np.int32(CUT) if most >= 0.0 else np.int32(CLEAR)
            touched[zone] = now
            mark[zone] = now if now > mark[zone] else mark[zone]


@kernel
def min_of(a, b):
    """The smaller of two numbers [any unit], as one instruction. Source: definition."""
    return a if a < b else b


@kernel
def level_zones(lit, sight, sharpness, scratch):
    """Write the level that each zone asks of a node; returns the level of the first two at which most zones serve.

    sharpness >= 1 refines the sampling for narrow lobes. Source: `limit_of`; a quarter of the zones asks for the second.
    """
    middle, level = scratch.middle, scratch.level
    zones, last = level.shape[0], lit.side.shape[0] - 1
    x, y, z = sight.place
    size = sharpness * lit.zone_size[0]
    for zone in range(zones):
        level[zone] = np.int32(0)
    for k in range(last):
        limit = limit_of(lit.side[k])
        least = size * size / (limit * limit)
        for zone in range(zones):
            dx, dy, dz = x - middle[3, zone], y - middle[4, zone], z - middle[5, zone]
            level[zone] = np.int32(k + 1) if dx * dx + dy * dy + dz * dz < least else level[zone]
    above = 0
    for zone in range(zones):
        above += 1 if level[zone] > 0 else 0
    return 1 if 4 * above >= zones and last > 0 else 0


@kernel
def mark_zones(sight, spaces, scratch):
    """Mark every zone as CLEAR, CUT or HIDDEN for a node.

    spaces  of what its sight lists, as `lay_spaces` wrote them
    Source: `cut_by_horizon`, `cut_by_spaces`; where the tree is asked each zone may be cut.
    """
    mark = scratch.mark
    if sight.whole:
        for zone in range(mark.shape[0]):
            mark[zone] = np.int32(CLEAR)
        return
    cut_by_horizon(sight, scratch)
    cut_by_spaces(spaces, max(0, sight.blockers), scratch)
    if sight.blockers == BY_TREE:
        for zone in range(mark.shape[0]):
            mark[zone] = np.int32(CUT) if mark[zone] == CLEAR else mark[zone]
