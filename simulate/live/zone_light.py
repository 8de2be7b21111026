"""What the picture's zones send to a room's cells under any fabric, from what they send under a perfect diffuser.

Whatever hides a part of the screen from a cell is in the diffuser's light already; a lobe multiplies each zone's part by its mean over
the zone, which does not heed what part of a zone is hidden: zones are an 192nd of the picture, and few cells see an edge cut one.
Lobes that are functions of the angle from one axis are read from a table, ten times as fast as they are worked out.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.axis import axis_shape, measured_shape
from ...materials.lobes.brdf import fabric_value
from ...materials.lobes.family import AXIS, FALL, FAMILY, GAIN, P0, P1, P2, Family
from ..light import workers
from ..light.geometry import Geometry
from ..light.irradiance_cache import level_for
from ..light.readonly import read_only
from ..light.screen_samples import LitScreen
from ..light.vectors import dot, row, sub, to_local

_STEPS = 2048  # of a lobe's table over sin(t / 2), t the angle from its axis: 0.06 degrees near it


class AxisLobes(NamedTuple):
    """A fabric whose lobes depend on the angle from one axis each.

    base    (1,) gain of the diffuse base [1];  height (L, _STEPS + 2) of each lobe over sin(t / 2) [1]
    towards (L, n, 3) axis of each lobe at the samples of the lit screen, inside frame [1]
    fall    (L,) q of the entrance fall-off exp(q (cos^2 ti + cos^2 to - 2));  inward (L, n) what it leaves of the lens's light [1]
    """

    base: np.ndarray
    height: np.ndarray
    towards: np.ndarray
    fall: np.ndarray
    inward: np.ndarray


class ZoneCells(NamedTuple):
    """Cells that the picture's zones light.

    place (T, 3) [m];  patch (T,) int32;  even (T, zones) illuminance under a perfect diffuser [lx];  sharpness  as `zone_map` has it [1]
    """

    geometry: Geometry
    lit: LitScreen
    place: np.ndarray
    patch: np.ndarray
    even: np.ndarray
    sharpness: float


@kernel
def fill_heights(fabric, out):
    """Heights of the lobes at even sin(t / 2) into out (L, _STEPS + 2) [1]. Source: `lobe_value` of these families."""
    lobes = fabric.lobes
    for k in range(out.shape[0]):
        family, p0, p1, p2 = np.int64(lobes[k, FAMILY]), lobes[k, P0], lobes[k, P1], lobes[k, P2]
        for i in range(out.shape[1]):
            v = min(2.0, 2.0 * (i / _STEPS) ** 2)
            if family == Family.MEASURED:
                out[k, i] = lobes[k, GAIN] * measured_shape(fabric.table, np.int64(p0), np.int64(p1), p2, v)
            else:
                out[k, i] = lobes[k, GAIN] * axis_shape(family, p0, p1, p2, v)


def axis_lobes(fabric: FabricArrays, lit: LitScreen) -> AxisLobes | None:
    """A fabric as `AxisLobes`, heights [1]; None where a lobe hangs on more than one angle. Source: `axis.deviation_v`."""
    lobes = fabric.lobes
    if not ((lobes[:, FAMILY] <= Family.MEASURED) & (lobes[:, FALL] >= 0.0)).all():
        return None
    height = np.zeros((len(lobes), _STEPS + 2))
    fill_heights(fabric, height)
    x, y, z = (lit.source[:, k, None] for k in range(3))
    towards = [-axis * (x * lit.right + y * lit.up) + z * lit.normal for axis in lobes[:, AXIS]]
    fall = np.ascontiguousarray(lobes[:, FALL])
    return AxisLobes(fabric.base, height, np.stack(towards), fall, np.exp(fall[:, None] * (lit.source[:, 2] ** 2 - 1.0)))


@kernel
def gain_of(lobes, k, dx, dy, dz, cosine):
    """pi f_r of sample k towards a unit direction, `cosine` off the cloth's normal [1]. Source: the tables, linear between their steps."""
    gain = lobes.base[0]
    for m in range(lobes.height.shape[0]):
        v = 1.0 - (lobes.towards[m, k, 0] * dx + lobes.towards[m, k, 1] * dy + lobes.towards[m, k, 2] * dz)
        x = math.sqrt(0.5 * min(max(v, 0.0), 2.0)) * _STEPS
        i = np.int64(x)
        lobe = lobes.height[m, i] + (x - i) * (lobes.height[m, i + 1] - lobes.height[m, i])
        gain += lobe if lobes.fall[m] == 0.0 else lobe * lobes.inward[m, k] * math.exp(lobes.fall[m] * (cosine * cosine - 1.0))
    return gain


@kernel
def under_axis_lobes(cells, lobes, out, low, high):
    """As `under_lobes` [lx], with the gains of `AxisLobes`. Source: the mean of pi f_r over a zone's samples."""
    geometry, lit, place, patch, even, sharpness = cells
    for i in range(low, high):
        y, n = row(place, i), row(geometry.normal, np.int64(patch[i]))
        for zone in range(even.shape[1]):
            out[i, zone] = 0.0
            if even[i, zone] <= 0.0:
                continue
            d = sub(y, row(lit.zone_place, zone))
            r = math.sqrt(dot(d, d)) + 1e-9
            level = level_for(sharpness * lit.zone_size[0] / r, lit.side)
            many = lit.side[level] * lit.side[level]
            first = lit.first[level] + zone * many
            if many == 1:
                cosine = (d[0] * lit.normal[first, 0] + d[1] * lit.normal[first, 1] + d[2] * lit.normal[first, 2]) / r
                out[i, zone] = even[i, zone] * gain_of(lobes, first, d[0] / r, d[1] / r, d[2] / r, cosine)
                continue
            total, whole = 0.0, 0.0
            for k in range(first, first + many):
                dx, dy, dz = y[0] - lit.place[k, 0], y[1] - lit.place[k, 1], y[2] - lit.place[k, 2]
                r = math.sqrt(dx * dx + dy * dy + dz * dz)
                cloth = dx * lit.normal[k, 0] + dy * lit.normal[k, 1] + dz * lit.normal[k, 2]
                cell = -(dx * n[0] + dy * n[1] + dz * n[2])
                share = lit.flux[k] * max(cloth, 0.0) * max(cell, 0.0) / (r * r * r * r)
                if share > 0.0:
                    total += share * gain_of(lobes, k, dx / r, dy / r, dz / r, cloth / r)
                    whole += share
            if whole > 0.0:
                out[i, zone] = even[i, zone] * total / whole


@kernel
def under_lobes(cells, fabric, out, low, high):
    """Illuminance [lx] of ZoneCells low .. high - 1 under a fabric into out (T, zones), from that under a perfect diffuser.

    Source: the mean of pi f_r over a zone's samples, each with its diffuse part as weight.
    """
    geometry, lit, place, patch, even, sharpness = cells
    for i in range(low, high):
        y, n = row(place, i), row(geometry.normal, np.int64(patch[i]))
        for zone in range(even.shape[1]):
            out[i, zone] = 0.0
            if even[i, zone] <= 0.0:
                continue
            d = sub(y, row(lit.zone_place, zone))
            level = level_for(sharpness * lit.zone_size[0] / (math.sqrt(dot(d, d)) + 1e-9), lit.side)
            many = lit.side[level] * lit.side[level]
            first = lit.first[level] + zone * many
            total, whole = 0.0, 0.0
            for k in range(first, first + many):
                dx, dy, dz = y[0] - lit.place[k, 0], y[1] - lit.place[k, 1], y[2] - lit.place[k, 2]
                r = math.sqrt(dx * dx + dy * dy + dz * dz)
                local = to_local((dx / r, dy / r, dz / r), row(lit.right, k), row(lit.up, k), row(lit.normal, k))
                cell = -(dx * n[0] + dy * n[1] + dz * n[2])
                share = 1.0 if many == 1 else lit.flux[k] * max(local[2], 0.0) * max(cell, 0.0) / (r * r * r)
                if share > 0.0:
                    total += share * fabric_value(fabric, row(lit.source, k), local)
                    whole += share
            if whole > 0.0:
                out[i, zone] = even[i, zone] * math.pi * total / whole


def zones_under(
    geometry: Geometry,
    lit: LitScreen,
    fabric: FabricArrays,
    place: np.ndarray,
    patch: np.ndarray,
    even: np.ndarray,
    *,
    sharpness: float,
    threads: int,
) -> np.ndarray:
    """Illuminance (T, zones) float32 [lx] of cells at place (T, 3) [m] on patch (T,), before the tint.

    even  (T, zones) the same under a perfect diffuser [lx];  sharpness  as `zone_map` has it [1]
    Source: `under_lobes`; without lobes a fabric scales the diffuser.
    """
    if len(fabric.lobes) == 0:
        return np.asarray(even * np.float32(fabric.base[0]))
    out, tabled = np.empty_like(even), axis_lobes(fabric, lit)
    fill, lobes = (under_lobes, fabric) if tabled is None else (under_axis_lobes, tabled)
    cells = ZoneCells(geometry, lit, np.ascontiguousarray(place), patch.astype(np.int32), even, float(sharpness))
    read = read_only((cells, lobes))
    workers.in_ranges(lambda low, high: fill(*read, out, low, high), len(out), threads)
    return out
