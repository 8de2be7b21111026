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
from .vectors import dot, row

CLEAR, CUT, HIDDEN = 0, 1, 2
SERVED = (
    0.05,
    0.35,
    1.2,
    2.4,
    3.0,
)  # size of a zone over its distance [1] up to which 1, 2, 4, 8 and more Gauss points a side serve
_HAIR_M = 1e-9


class Zones(NamedTuple):
    """The zones of a lit screen as nodes judge them; read-only.

    middle   (6, zones) middle of the box that holds a zone's samples, then of the zone itself [m]
    reach    (3, 3) half of the largest such box along each of its axes [m]
    columns  (7, n) samples of the two coarsest levels: of all zones the first, then of all zones the second ...
    """

    middle: np.ndarray
    reach: np.ndarray
    columns: np.ndarray


class ZoneScratch(NamedTuple):
    """What one node makes of the zones; of one thread.

    level    (zones,) int32 the sampling level that each asks of a node
    mark     (zones,) int32 CLEAR, CUT or HIDDEN
    touched  (blockers, zones) int32, other than CLEAR where one of the things listed before the node may hide some of a zone
    """

    level: np.ndarray
    mark: np.ndarray
    touched: np.ndarray


def zone_scratch(zones: int, blockers: int) -> ZoneScratch:
    """Scratch of one thread for as many zones and things before them. Source: `ZoneScratch`."""
    level, mark = np.empty((2, zones), np.int32)
    return ZoneScratch(level, mark, np.empty((blockers, zones), np.int32))


def columns_of(lit: LitScreen) -> np.ndarray:
    """Samples of the lit screen as rows (7, n): place [m], normal [1], flux [lm]."""
    rows = np.empty((7, len(lit.flux)))
    rows[:3], rows[3:6], rows[6] = lit.place.T, lit.normal.T, lit.flux
    return rows


def zones_of(lit: LitScreen, samples: np.ndarray) -> tuple[Zones, np.ndarray]:
    """Zones of a lit screen, and the rim (4, 3) [m] of a rectangle, farthest back, that holds all samples in its outline.

    samples  as `columns_of` gives them;  rim  right x up points into the room, 2 % wider on each side
    Source: bounds of the samples in the frame of their mean normal.
    """
    axes = _axes_of(samples[3:6].sum(axis=1).tolist())  # samples that no cloth caught have no normal
    place, count = axes @ samples[:3], len(lit.zone_place)
    blocks = [(int(first), int(side) ** 2) for first, side in zip(lit.first, lit.side, strict=True)]
    blocks += [(int(lit.scattered[0]), int(lit.scattered[1]))] if lit.scattered[1] else []
    least, most = place.min(axis=1), place.max(axis=1)
    flat = most[2] - least[2] < _HAIR_M  # then the finest rows reach farthest
    each = [
        place[:, first : first + count * many].reshape(3, count, many)
        for first, many in (blocks[len(lit.side) - 1 :] if flat else blocks)
    ]
    low, high = each[0].min(axis=2), each[0].max(axis=2)
    for block in each[1:]:
        low, high = np.minimum(low, block.min(axis=2)), np.maximum(high, block.max(axis=2))
    columns = [
        samples[:, first : first + count * many].reshape(7, count, many).transpose(0, 2, 1).reshape(7, -1)
        for first, many in blocks[: min(2, len(lit.side))]
    ]
    middle = np.concatenate([axes.T @ (0.5 * (low + high)), lit.zone_place.T])
    reach = (0.5 * (high - low).max(axis=1) + _HAIR_M)[:, None] * axes
    used = lit.patch >= 0
    if not used.all():
        least, most = place[:, used].min(axis=1), place[:, used].max(axis=1)
    wide = 0.02 * (most - least)
    (a, b, _), (c, d, _), back = (least - wide).tolist(), (most + wide).tolist(), least[2]
    rim = np.array([[a, b, back], [c, b, back], [c, d, back], [a, d, back]]) @ axes
    return Zones(middle, reach, np.concatenate(columns, axis=1)), rim


def _axes_of(mean: list[float]) -> np.ndarray:
    """Right, up and normal (3, 3) [1] of cloth that faces `mean`, of any length. Source: `screen_tangents`."""
    size = math.hypot(*mean)
    a, b, c = mean[0] / size, mean[1] / size, mean[2] / size
    slant = math.hypot(a, b)
    if slant < 1e-9:  # it faces the ceiling or the floor
        return np.array([(c, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, c)])
    return np.array([(-b / slant, a / slant, 0.0), (-a * c / slant, -b * c / slant, slant), (a, b, c)])


@kernel
def limit_of(side):
    """Size of a zone over its distance [1] up to which side x side Gauss points serve.

    Source: the Gauss-Legendre rule of n points errs as ratio^(2n); limits chosen for 1e-3 at worst (tested).
    """
    return (
        SERVED[0] if side == 1 else SERVED[1] if side == 2 else SERVED[2] if side == 4 else SERVED[3] if side == 8 else SERVED[4]
    )


@kernel
def reaches(zones, a, b, c):
    """How far the boxes reach along (a, b, c) [m times its unit]. Source: support function of a box."""
    n = (a, b, c)
    return abs(dot(n, row(zones.reach, 0))) + abs(dot(n, row(zones.reach, 1))) + abs(dot(n, row(zones.reach, 2)))


@kernel
def cut_by_horizon(zones, sight, scratch):
    """Mark the zones that lie below a node's own horizon, or some of it. Source: `reaches`."""
    middle, mark = zones.middle, scratch.mark
    a, b, c = sight.normal
    base = a * sight.place[0] + b * sight.place[1] + c * sight.place[2]
    reach = reaches(zones, a, b, c)
    for zone in range(mark.shape[0]):
        above = a * middle[0, zone] + b * middle[1, zone] + c * middle[2, zone] - base
        mark[zone] = np.int32(HIDDEN) if above + reach <= 0.0 else np.int32(CUT) if above - reach <= 0.0 else np.int32(CLEAR)


@kernel
def cut_by_spaces(zones, spaces, count, scratch):
    """Mark the zones that lie in the first `count` hidden spaces (n, 20), or some of it; edges.space_behind.

    Source: `reaches`; the loop has no branch, so the compiler takes several zones at once.
    """
    middle, mark = zones.middle, scratch.mark
    for k in range(count):
        s, touched = spaces[k], scratch.touched[k]
        a0, b0, c0, d0, a1, b1, c1, d1 = s[0], s[1], s[2], s[3], s[4], s[5], s[6], s[7]
        a2, b2, c2, d2, a3, b3, c3, d3 = s[8], s[9], s[10], s[11], s[12], s[13], s[14], s[15]
        a4, b4, c4, d4 = s[16], s[17], s[18], s[19]
        r0, r1, r2 = reaches(zones, a0, b0, c0), reaches(zones, a1, b1, c1), reaches(zones, a2, b2, c2)
        r3, r4 = reaches(zones, a3, b3, c3), reaches(zones, a4, b4, c4)
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
def level_zones(lit, zones, sight, sharpness, scratch):
    """Write the level that each zone asks of a node; returns the level of the first two at which most zones serve.

    sharpness >= 1 refines the sampling for narrow lobes. Source: `limit_of`; a quarter of the zones asks for the second.
    """
    middle, level = zones.middle, scratch.level
    count, last = level.shape[0], lit.side.shape[0] - 1
    x, y, z = sight.place
    size = sharpness * lit.zone_size[0]
    for zone in range(count):
        level[zone] = np.int32(0)
    for k in range(last):
        limit = limit_of(lit.side[k])
        least = size * size / (limit * limit)
        for zone in range(count):
            dx, dy, dz = x - middle[3, zone], y - middle[4, zone], z - middle[5, zone]
            level[zone] = np.int32(k + 1) if dx * dx + dy * dy + dz * dz < least else level[zone]
    above = 0
    for zone in range(count):
        above += 1 if level[zone] > 0 else 0
    return 1 if 4 * above >= count and last > 0 else 0


@kernel
def mark_zones(zones, sight, spaces, scratch):
    """Mark every zone as CLEAR, CUT or HIDDEN for a node.

    spaces  of what its sight lists, as `lay_spaces` wrote them
    Source: `cut_by_horizon`, `cut_by_spaces`; where the tree is asked each zone may be cut.
    """
    mark = scratch.mark
    if sight.whole:
        for zone in range(mark.shape[0]):
            mark[zone] = np.int32(CLEAR)
        return
    cut_by_horizon(zones, sight, scratch)
    cut_by_spaces(zones, spaces, max(0, sight.blockers), scratch)
    if sight.blockers == BY_TREE:
        for zone in range(mark.shape[0]):
            mark[zone] = np.int32(CUT) if mark[zone] == CLEAR else mark[zone]
