"""What a node of the map sees of the lit screen where an edge cuts it: shadows on it, what stands before it, the node's own horizon."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from ...materials.kernels.by_type import by_type, holds
from ...materials.kernels.jit import kernel, within_callers
from .before import BY_TREE, LISTED, cut_by_tree, list_of
from .patches import frozen
from .screen_samples import LitScreen
from .vectors import dot
from .zones import CLEAR, CUT, HIDDEN, ZoneScratch, mark_zones, zone_scratch

PROBE, AT_EDGES = 4, 16  # Gauss points a side of a zone: to find an edge that crosses it, and to sample such a zone near by
_NUMBERS = 20  # of five half-spaces
_GRAZING_M, _BEYOND_M = 1e-9, 1e-7
_NONE, _SCATTERED = -1, -2  # in place of a sampling level


class SeenZone(NamedTuple):
    """A zone as a node sees it: samples `first` .. first + many - 1, what each sends from the start of a SightScratch's `sent`."""

    first: int
    many: int


class SightScratch(NamedTuple):
    """What a node's sight writes on its way, for one thread.

    planes  (6, 4) as `before.pyramid_of` writes them
    found   int64 as `before.list_of` gives it;  spaces (n, 20) half-spaces of what it lists;  inside (n,)
    sent    what samples send, of one zone or of all at one level
    zones   as zones.zone_scratch gives it
    """

    planes: np.ndarray
    found: np.ndarray
    spaces: np.ndarray
    inside: np.ndarray
    sent: np.ndarray
    zones: ZoneScratch


def sight_scratch(lit: LitScreen, occluders: np.ndarray, pieced: bool) -> SightScratch:
    """Scratch of one thread for the nodes that look at a lit screen; occluders, pieced  as `before.list_of` takes them."""
    found = list_of(occluders, pieced)
    listed, most = min(len(found), LISTED) if pieced else len(found), int(max(lit.side.max() ** 2, lit.scattered[1]))
    count = len(lit.zone_place)
    sent = np.empty(max(count * int(lit.side[:2].max()) ** 2, most))
    return SightScratch(
        np.empty((6, 4)), found, np.empty((listed, _NUMBERS)), np.empty(listed), sent, zone_scratch(count, listed)
    )


@kernel
def probe_level(sides):
    """The first of some levels with PROBE samples a side, or the last; sides (levels,) as LitScreen has them. Source: definition."""
    level = 0
    while level < sides.shape[0] - 1 and sides[level] < PROBE:
        level += 1
    return level


@kernel
def fill(samples, sight, first, many, sent, at):
    """What samples first .. first + many - 1 send to a node for f_r = 1, nothing between, into sent from `at` on [lx sr].

    samples  as `columns_of` gives them: the loop has no branch, so the compiler takes several at once
    Source: flux x cos x cos / r^2, 0 behind either; derived.
    """
    y, n = sight.place, sight.normal
    start, to = np.uint64(first), np.uint64(at)  # an unsigned index spares the test for a negative one
    for i in range(many):
        j = start + np.uint64(i)
        dx, dy, dz = y[0] - samples[0, j], y[1] - samples[1, j], y[2] - samples[2, j]
        cos_cloth = dx * samples[3, j] + dy * samples[4, j] + dz * samples[5, j]
        cos_node = -(dx * n[0] + dy * n[1] + dz * n[2])
        square = dx * dx + dy * dy + dz * dz
        cos_cloth, cos_node = cos_cloth if cos_cloth > 0.0 else 0.0, cos_node if cos_node > 0.0 else 0.0
        sent[to + np.uint64(i)] = samples[6, j] * cos_cloth * cos_node / (square * square)


@kernel
def space_behind(plane, edge_u, edge_v, i, eye, out):
    """Five half-spaces, a x + b y + c z + d >= 0 [m^3, m], that hold what patch i hides from `eye` [m], into out (20,).

    plane, edge_u, edge_v  of patches or of pieces
    Nothing is hidden where the eye lies in the patch's plane. Source: the cone from the eye over the patch, beyond its plane;
    a triangle's third side stands for the two far ones of a parallelogram.
    """
    qx, qy, qz = plane[i, 0] - eye[0], plane[i, 1] - eye[1], plane[i, 2] - eye[2]
    ux, uy, uz = edge_u[i, 0], edge_u[i, 1], edge_u[i, 2]
    vx, vy, vz = edge_v[i, 0], edge_v[i, 1], edge_v[i, 2]
    height = qx * plane[i, 3] + qy * plane[i, 4] + qz * plane[i, 5]
    turn = 1.0 if height > 0.0 else -1.0
    a, b = (qx + ux, qy + uy, qz + uz), (qx + vx, qy + vy, qz + vz)
    near_u = (turn * (vy * qz - vz * qy), turn * (vz * qx - vx * qz), turn * (vx * qy - vy * qx))
    near_v = (turn * (qy * uz - qz * uy), turn * (qz * ux - qx * uz), turn * (qx * uy - qy * ux))
    if plane[i, 12] == 0.0:
        far_u = (turn * (a[1] * vz - a[2] * vy), turn * (a[2] * vx - a[0] * vz), turn * (a[0] * vy - a[1] * vx))
        far_v = (turn * (uy * b[2] - uz * b[1]), turn * (uz * b[0] - ux * b[2]), turn * (ux * b[1] - uy * b[0]))
    else:
        far_u = (turn * (a[1] * b[2] - a[2] * b[1]), turn * (a[2] * b[0] - a[0] * b[2]), turn * (a[0] * b[1] - a[1] * b[0]))
        far_v = far_u
    beyond = (turn * plane[i, 3], turn * plane[i, 4], turn * plane[i, 5])
    for k, m in enumerate((near_u, near_v, far_u, far_v, beyond)):
        out[4 * k], out[4 * k + 1], out[4 * k + 2] = m[0], m[1], m[2]
        out[4 * k + 3] = -dot(m, eye)
    out[19] -= abs(height) + _BEYOND_M if abs(height) > _GRAZING_M else math.inf


@kernel
def hide_behind(space, samples, first, many, sent, at):
    """Put nought into `sent` for the samples that lie in a hidden space (20,). Source: `space_behind`."""
    start, to, s = np.uint64(first), np.uint64(at), space
    a0, b0, c0, d0, a1, b1, c1, d1 = s[0], s[1], s[2], s[3], s[4], s[5], s[6], s[7]
    a2, b2, c2, d2, a3, b3, c3, d3 = s[8], s[9], s[10], s[11], s[12], s[13], s[14], s[15]
    a4, b4, c4, d4 = s[16], s[17], s[18], s[19]
    for i in range(many):
        x, y, z = samples[0, start + np.uint64(i)], samples[1, start + np.uint64(i)], samples[2, start + np.uint64(i)]
        inside = a0 * x + b0 * y + c0 * z + d0
        each = a1 * x + b1 * y + c1 * z + d1
        inside = each if each < inside else inside
        each = a2 * x + b2 * y + c2 * z + d2
        inside = each if each < inside else inside
        each = a3 * x + b3 * y + c3 * z + d3
        inside = each if each < inside else inside
        each = a4 * x + b4 * y + c4 * z + d4
        inside = each if each < inside else inside
        j = to + np.uint64(i)
        sent[j] = 0.0 if inside >= 0.0 else sent[j]


@by_type(lambda geometry, *_: _spaces_of_pieces if holds(geometry, "pieces") else spaces_of)  # type: ignore[has-type]
def lay_spaces(geometry, sight, spaces):
    """Write the half-spaces of what a node's sight lists into `spaces` (n, 20); returns of how many. Source: `space_behind`."""
    if len(geometry.pieces):
        return spaces_of(geometry.pieces, sight, spaces)
    return spaces_of(geometry, sight, spaces)


@kernel
def _spaces_of_pieces(geometry, sight, spaces):
    return spaces_of(geometry.pieces, sight, spaces)


@kernel
def spaces_of(flats, sight, spaces):
    """`lay_spaces`; flats  what has plane, edge_u and edge_v: the Geometry [m], or its Pieces. Source: `space_behind`."""
    eye = (sight.place[0] + sight.shift[0], sight.place[1] + sight.shift[1], sight.place[2] + sight.shift[2])
    for k in range(sight.blockers):
        space_behind(flats.plane, flats.edge_u, flats.edge_v, sight.found[k], eye, spaces[k])
    return max(0, sight.blockers)


@by_type(lambda geometry, *_: cut_by_tree if holds(geometry, "pieces") else _hide_nothing)  # type: ignore[has-type]
def hide_by_tree(geometry, sight, samples, first, many, sent, at):
    """Put nought into `sent` for the samples [m] that the tree says are hidden, where so much may be before the screen that none is listed.

    Source: before.cut_by_tree.
    """
    if len(geometry.pieces):
        cut_by_tree(geometry, sight, samples, first, many, sent, at)


@kernel
def _hide_nothing(geometry, sight, samples, first, many, sent, at):
    return None


@within_callers
def look(geometry, samples, sight, zone, first, many, scratch):
    """What some samples of a zone send to a node, nought for those that are hidden from it, into scratch.sent [lx sr].

    scratch  has this node's zones marked. Source: `fill`, `hide_behind`.
    """
    sent, none = scratch.sent, np.int64(0)
    fill(samples, sight, first, many, sent, none)
    for k in range(max(0, sight.blockers)):
        if scratch.zones.touched[k, zone] != CLEAR:
            hide_behind(scratch.spaces[k], samples, first, many, sent, none)
    if sight.blockers == BY_TREE:
        hide_by_tree(geometry, sight, samples, first, many, sent, none)


@kernel
def lay_node(source, sight, scratch):
    """Make ready for `look_at_zone` of a node: half-spaces of what may hide something from it, marks of zones. Source: `mark_zones`."""
    lay_spaces(source.geometry, sight, scratch.spaces)
    mark_zones(source.zones, sight, scratch.spaces, scratch.zones)


@kernel
def parted(sent, many):
    """1 where some of the first `many` of `sent` are above nought and some are not, 0 where none is, else 2. Source: definition."""
    seen = 0
    for i in range(many):
        seen += 1 if sent[i] > 0.0 else 0
    return 0 if seen == 0 else 2 if seen == many else 1


@within_callers
def look_at_zone(source, sight, zone, scratch):
    """A zone as a node sees it, as SeenZone; more samples where an edge crosses it, none where all of it is hidden.

    source  a ScreenSource;  scratch  a SightScratch whose zones have marks and levels for this node
    An edge is that of a shadow on the screen, of what stands before the screen, or the node's own horizon. Across it what a
    sample sends jumps, and rows of a product rule fall off all at once: scattered samples err far less (measured: a sixth).
    Source: some of the samples that serve an edge are seen and some not, of PROBE a side where each asks the tree; derived.
    """
    lit, mark, level = source.lit, scratch.zones.mark[zone], np.int64(scratch.zones.level[zone])
    if mark == HIDDEN:
        return SeenZone(np.int64(0), np.int64(0))
    edge = edge_level(lit, level)
    tried = np.int64(_NONE) if mark != CUT else probe_level(lit.side) if sight.blockers == BY_TREE else edge
    wanted, first, many = tried, np.int64(0), np.int64(0)
    for turn in range(2):  # so that the loops of `look` are compiled once
        if turn == 1:
            state = 2 if mark != CUT else parted(scratch.sent, many)
            if state == 0:
                return SeenZone(first, np.int64(0))
            wanted = edge if state == 1 or source.ragged[zone] else level
        if wanted == _NONE or (turn == 1 and wanted == tried):
            continue
        many = lit.scattered[1] if wanted == _SCATTERED else lit.side[wanted] * lit.side[wanted]
        first = (lit.scattered[0] if wanted == _SCATTERED else lit.first[wanted]) + zone * many
        look(source.geometry, source.samples, sight, zone, first, many, scratch)
    return SeenZone(first, many)


@kernel
def edge_level(lit, level):
    """Level at which to sample a zone that an edge crosses and that would else have `level`; _SCATTERED for scattered samples.

    Source: as many samples as the zone would have, at least AT_EDGES a side where there are no scattered ones.
    """
    if lit.side[level] * lit.side[level] < lit.scattered[1]:
        return np.int64(_SCATTERED)
    wanted = np.int64(level)
    while wanted < lit.side.shape[0] - 1 and lit.side[wanted] < AT_EDGES:
        wanted += 1
    return wanted


@kernel
def horizon_cuts(rim, y, n):
    """True when a node y [m] with normal n has some of the rim (4, 3) [m] below its horizon.

    Source: definition; a node with all of it below sees nothing, and costs little.
    """
    lowest = math.inf
    for i in range(4):
        lowest = min(lowest, (rim[i, 0] - y[0]) * n[0] + (rim[i, 1] - y[1]) * n[1] + (rim[i, 2] - y[2]) * n[2])
    return lowest <= 0.0


def ragged_zones(lit: LitScreen) -> np.ndarray:
    """True for the zones (zones,) that the edge of a shadow in the beam, or of the cloth, crosses: some samples carry no flux.

    Source: definition, at the first level with PROBE samples a side.
    """
    zones = len(lit.zone_place)
    if lit.flux.min(initial=1.0) > 0.0:
        return _no_zone(zones)
    level = min(int(np.searchsorted(lit.side, PROBE)), len(lit.side) - 1)
    many, first = int(lit.side[level]) ** 2, int(lit.first[level])
    lit_up = lit.flux[first : first + zones * many].reshape(zones, many) > 0.0
    return frozen(np.asarray(lit_up.any(axis=1) & ~lit_up.all(axis=1)))


@lru_cache(maxsize=64)
def _no_zone(zones: int) -> np.ndarray:
    """False for all of so many zones."""
    return frozen(np.zeros(zones, bool))
