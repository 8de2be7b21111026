"""What joins the lit screen to the map's nodes whatever the fabric: a new fabric's map is then one short sum a node.

For lobes that depend on the angle from the mirror or source direction alone. Others go through light.irradiance_cache.zone_map.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.axis import axis_shape, deviation_v
from ...materials.lobes.family import AXIS, FALL, FAMILY, GAIN, P0, P1, P2, Family
from ...materials.lobes.profile import MIRROR, SOURCE
from ..light import workers
from ..light.edges import lay_node, look_at_zone, sight_scratch
from ..light.geometry import Geometry, is_pieced
from ..light.irradiance_cache import sight_of, source_of
from ..light.mapgrid import MapGrid
from ..light.screen_samples import LitScreen
from ..light.vectors import row, to_local
from ..light.zones import level_zones


class Links(NamedTuple):
    """Samples of the lit screen that each node sees, those of the checkerboard's white patches first.

    first     (N + 1,) int64, first link of a node;  middle (N,) int64, first link that the checkerboard leaves black
    strength  (L,) float32, irradiance at the node for f_r = 1 [lx sr];  mirror, source (L,) float32, 1 - cos of the angle from
              the mirror direction of the lens's ray, and from that to the lens, to the node's direction
    even      (N, 2) sums of the strengths for white and checkerboard
    """

    first: np.ndarray
    middle: np.ndarray
    strength: np.ndarray
    mirror: np.ndarray
    source: np.ndarray
    even: np.ndarray


def fits_links(geometry: Geometry, fabric: FabricArrays) -> bool:
    """True where `linked_map` is right: flat cloth, and lobes that are functions of one angle without entrance fall-off.

    Source: derived; a link keeps one angle from the mirror and one from the source direction, and the flat cloth's samples.
    """
    lobes = fabric.lobes
    return not geometry.relief and bool((lobes[:, FAMILY] <= Family.COSINE_POWER).all() and (lobes[:, FALL] == 0.0).all())


@kernel
def link_nodes(source, order, whites, scratch, links, low, high):
    """Count the links of nodes low .. high - 1 into first[node + 1], or where there is room for them fill them in, strength [lx sr].

    source  a ScreenSource;  order  zones, the first `whites` of them white on the checkerboard
    scratch  a SightScratch
    Source: light.irradiance_cache.node_irradiance without the fabric, for sharpness 1.
    """
    lit, sent, write = source.lit, scratch.sent, links.strength.shape[0] > 0
    for node in range(low, high):
        sight = sight_of(source, node, scratch)
        y = sight.place
        lay_node(source, sight, scratch)
        level_zones(lit, source.zones, sight, 1.0, scratch.zones)
        at = links.first[node] if write else np.int64(0)
        for k in range(order.shape[0]):
            if write and k == whites:
                links.middle[node] = at
            seen = look_at_zone(source, sight, order[k], scratch)
            for j in range(seen.many):
                value, i = sent[j], seen.first + j
                if value <= 0.0:
                    continue
                if write:
                    dx, dy, dz = y[0] - lit.place[i, 0], y[1] - lit.place[i, 1], y[2] - lit.place[i, 2]
                    r = math.sqrt(dx * dx + dy * dy + dz * dz)
                    local = to_local((dx / r, dy / r, dz / r), row(lit.right, i), row(lit.up, i), row(lit.normal, i))
                    links.strength[at] = value
                    links.mirror[at] = deviation_v(MIRROR, row(lit.source, i), local)
                    links.source[at] = deviation_v(SOURCE, row(lit.source, i), local)
                at += 1
        if not write:
            links.first[node + 1] = at


@kernel
def add_lobes(fabric, links, out, low, high):
    """Write irradiance for white and checkerboard into out (N, 2) [lx]. Source: brdf.fabric_value over the links."""
    lobes = fabric.lobes
    for node in range(low, high):
        white = fabric.base[0] * links.even[node, 0]
        board = fabric.base[0] * links.even[node, 1]
        for k in range(lobes.shape[0]):
            family, height, p0, p1, p2 = np.int64(lobes[k, FAMILY]), lobes[k, GAIN], lobes[k, P0], lobes[k, P1], lobes[k, P2]
            along = links.mirror if lobes[k, AXIS] > 0.0 else links.source
            on, off = 0.0, 0.0
            for i in range(links.first[node], links.middle[node]):
                on += links.strength[i] * axis_shape(family, p0, p1, p2, np.float64(along[i]))
            for i in range(links.middle[node], links.first[node + 1]):
                off += links.strength[i] * axis_shape(family, p0, p1, p2, np.float64(along[i]))
            white += height * (on + off)
            board += height * on
        out[node, 0] = white / math.pi
        out[node, 1] = board / math.pi


def make_links(
    geometry: Geometry, grid: MapGrid, lit: LitScreen, on_white: np.ndarray, *, test_blocked: bool, threads: int = 1
) -> Links:
    """Links of all nodes to samples of the lit screen, strength [lx sr].

    on_white      (zones,) bool, zones of `lit` that the checkerboard shows white
    test_blocked  as in light.irradiance_cache.zone_map
    Source: `link_nodes`.
    """
    nodes = len(grid.place)
    source, whites = source_of(geometry, grid, lit, test_blocked=test_blocked), int(on_white.sum())
    order = np.argsort(~on_white, kind="stable").astype(np.int64)
    first, middle, none = np.zeros(nodes + 1, np.int64), np.zeros(nodes, np.int64), np.zeros((nodes, 2))
    empty = np.zeros(0, np.float32)
    links = Links(first, middle, empty, empty, empty, none)

    def some(low: int, high: int) -> None:
        scratch = sight_scratch(lit, source.occluders, is_pieced(geometry))
        link_nodes(source, order, whites, scratch, links, low, high)

    workers.in_ranges(some, nodes, threads)
    np.cumsum(first, out=first)
    links = links._replace(strength=np.zeros(first[-1], np.float32), mirror=np.zeros(first[-1], np.float32),
                           source=np.zeros(first[-1], np.float32))  # fmt: skip
    workers.in_ranges(some, nodes, threads)
    summed = np.append(0.0, np.cumsum(links.strength, dtype=float))
    even = np.stack([summed[first[1:]] - summed[first[:-1]], summed[middle] - summed[first[:-1]]], axis=1)
    return links._replace(even=even)


def linked_map(links: Links, fabric: FabricArrays, *, threads: int = 1) -> np.ndarray:
    """Irradiance (N, 2) [lx] of the nodes for white and for the checkerboard, before the tint.

    Source: as solver.picture_map, with the samples' places put in beforehand.
    """
    out = np.zeros((len(links.middle), 2))
    workers.in_ranges(lambda low, high: add_lobes(fabric, links, out, low, high), len(out), threads)
    return out
