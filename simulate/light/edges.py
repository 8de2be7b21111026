"""What a node of the map sees of the lit screen where an edge cuts it: shadows on it, what stands before it, the node's own horizon."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.by_type import by_type, holds
from ...materials.kernels.jit import kernel, within_callers
from .before import BY_TREE, cut_by_tree, list_of
from .patches import frozen
from .screen_samples import LitScreen
from .vectors import dot

PROBE, AT_EDGES = 4, 16  # Gauss points a side of a zone: to find an edge that crosses it, and to sample such a zone near by
_NUMBERS = 20  # of five half-spaces
_GRAZING_M, _BEYOND_M = 1e-9, 1e-7
_NONE, _SCATTERED = -1, -2  # in place of a sampling level


class SeenZone(NamedTuple):
    """A zone as a node sees it: samples `first` .. first + many - 1, what each sends from place `at` on in a SightScratch's `sent`."""

    first: int
    many: int
    at: int


class SightScratch(NamedTuple):
    """What a node's sight writes on its way, for one thread.

    found   int64 as `before.list_of` gives it;  spaces (n, 20) half-spaces of what it lists;  inside (n,)
    sent    what samples send: of all zones at one level, then of one zone
    """

    found: np.ndarray
    spaces: np.ndarray
    inside: np.ndarray
    sent: np.ndarray


def sight_scratch(lit: LitScreen, occluders: np.ndarray, pieced: bool) -> SightScratch:
    """Scratch of one thread for the nodes that look at a lit screen; occluders, pieced  as `before.list_of` takes them."""
    found, side = list_of(occluders, pieced), int(lit.side[probe_level(lit.side)])
    zones, most = len(lit.zone_place), max(int(lit.side.max()) ** 2, int(lit.scattered[1]))
    sent = np.empty(zones * side * side + most)
    return SightScratch(found, np.empty((len(found), _NUMBERS)), np.empty(len(found)), sent)


def columns_of(lit: LitScreen) -> np.ndarray:
    """Samples of the lit screen as rows (7, n): place [m], normal [1], flux [lm]."""
    return np.ascontiguousarray(np.concatenate([lit.place.T, lit.normal.T, lit.flux[None]]))


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
def hide_behind(spaces, count, samples, first, many, sent, at):
    """Put nought into `sent` for the samples that lie in any of the first `count` hidden spaces (n, 20). Source: `space_behind`."""
    start, to = np.uint64(first), np.uint64(at)
    for k in range(count):
        s = spaces[k]
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
def look(geometry, samples, sight, first, many, scratch, at):
    """What some samples send to a node, nought for those that are hidden from it, into scratch.sent from `at` on [lx sr].

    scratch.spaces  as `lay_spaces` left them for this node. Source: `fill`, `hide_behind`.
    """
    fill(samples, sight, first, many, scratch.sent, at)
    hide_behind(scratch.spaces, max(0, sight.blockers), samples, first, many, scratch.sent, at)
    if sight.blockers == BY_TREE:
        hide_by_tree(geometry, sight, samples, first, many, scratch.sent, at)


@within_callers
def look_at_all(lit, geometry, samples, sight, scratch):
    """Begin with a node: `look` at all zones, at the coarsest level, or where something may hide some of them at that of `probe_level`.

    returns  the level;  scratch.sent  begins with its zones [lx sr]
    Source: `look`.
    """
    level = 0 if sight.whole else probe_level(lit.side)
    many = lit.zone_place.shape[0] * lit.side[level] * lit.side[level]
    look(geometry, samples, sight, lit.first[level], many, scratch, np.int64(0))
    return level


@kernel
def parted(sent, at, many):
    """1 where some of sent[at .. at + many - 1] are above nought and some are not, 0 where none is, else 2. Source: definition."""
    seen = 0
    for i in range(at, at + many):
        seen += 1 if sent[i] > 0.0 else 0
    return 0 if seen == 0 else 2 if seen == many else 1


@within_callers
def look_at_zone(seeing, samples, sight, zone, level, coarse, scratch):
    """A zone as a node sees it at a sampling level, as SeenZone; more samples where an edge crosses it, none where all of it is hidden.

    seeing  (lit, geometry, ragged): LitScreen, Geometry, whether the zone's own light has an edge;  coarse  the level of `look_at_all`,
            which has been asked for this node
    An edge is that of a shadow on the screen, of what stands before the screen, or the node's own horizon. Across it what a
    sample sends jumps, and rows of a product rule fall off all at once: scattered samples err far less (measured: a sixth).
    Source: some of the zone's samples at PROBE a side are seen and some not; derived.
    """
    lit, geometry, ragged = seeing
    many = lit.side[coarse] * lit.side[coarse]
    first, at, alone = lit.first[coarse] + zone * many, zone * many, lit.zone_place.shape[0] * many
    wanted, last = level if level > coarse else _NONE, lit.side.shape[0] - 1
    for turn in range(2):  # so that the loops of `look` are compiled once
        if turn == 1:
            state = 2 if sight.whole else parted(scratch.sent, at, many)
            if state == 0:
                return SeenZone(first, np.int64(0), at)
            wanted = level if level < coarse else _NONE
            if state == 1 or ragged[zone]:
                wanted = _SCATTERED
                if lit.side[level] * lit.side[level] >= lit.scattered[1]:
                    wanted = max(level, coarse)
                    while wanted < last and lit.side[wanted] < AT_EDGES:
                        wanted += 1
                    wanted = wanted if wanted > max(level, coarse) else _NONE
        if wanted == _NONE:
            continue
        many = lit.scattered[1] if wanted == _SCATTERED else lit.side[wanted] * lit.side[wanted]
        first, at = (lit.scattered[0] if wanted == _SCATTERED else lit.first[wanted]) + zone * many, alone
        look(geometry, samples, sight, first, many, scratch, at)
    return SeenZone(first, many, at)


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
    level = min(int(np.searchsorted(lit.side, PROBE)), len(lit.side) - 1)
    many, first, zones = int(lit.side[level]) ** 2, int(lit.first[level]), len(lit.zone_place)
    lit_up = lit.flux[first : first + zones * many].reshape(zones, many) > 0.0
    return frozen(np.asarray(lit_up.any(axis=1) & ~lit_up.all(axis=1)))
