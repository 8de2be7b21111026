"""The parts a fabric is made of, besides its diffuse base: one row of `FabricArrays.lobes` each.

A row is a `family.LobeRow`, its columns are named there. What p0 to p2 mean, and the formulas, stand at the head of the
file of the family:

    axis.py        GAUSSIAN, PLATEAU, COSINE_POWER, MEASURED: functions of the deviation from an axis
    microfacet.py  GGX: half-vector lobes
    cloth.py       ELLIPSE, ROUGH, HOLES: the sheet as a whole
    groove.py      GROOVE: saw-tooth grooves; p0 = its place in `table`

fall = -n < 0 puts a lobe beneath a clear coat of refractive index n, a GGX row with p2 = n is its glint (coat.py).
fall = q > 0 adds an entrance fall-off exp(-q (sin^2 ti + sin^2 to)): a product k(wi) k(wo), so reciprocal, and at most 1.
That beads dim beyond 20 to 30 degrees of incidence is common practice, no source; the form is made here.
"""

from __future__ import annotations

import math

from ..kernels.jit import kernel
from .axis import (
    FabricArrays,
    around_axis,
    axis_density,
    axis_shape,
    axis_v,
    deviation_v,
    measured_density,
    measured_shape,
    measured_v,
)
from .cloth import cosine_draw, ellipse_density, ellipse_draw, ellipse_value, open_share, rough_value
from .coat import glint, through_coat
from .family import AXIS, FALL, FAMILY, P0, P1, P2, Family
from .groove import groove_density, groove_draw, groove_value
from .microfacet import facet_density, facet_draw, ggx_value

__all__ = ["TABLED", "FabricArrays", "lobe_density", "lobe_draw", "lobe_value", "row_value", "table_value"]


TABLED = (Family.MEASURED, Family.GROOVE)


@kernel
def row_value(family, axis, p0, p1, p2, wi, wo):
    """Height of a lobe without a table between two directions above the horizon, 1 on its axis at normal incidence [1]. Source: the family's file.

    It takes numbers, not arrays: handing arrays on costs more (their owner's count goes up and down) than most lobes do.
    """
    if family <= Family.COSINE_POWER:
        return axis_shape(family, p0, p1, p2, deviation_v(axis, wi, wo))
    if family == Family.GGX:
        value = ggx_value(axis, p0, p1, wi, wo)
        return value * glint(p2, axis, wi, wo) if p2 > 0.0 else value
    if family == Family.ELLIPSE:
        return ellipse_value(axis, p0, p1, wi, wo)
    if family == Family.ROUGH:
        return rough_value(p0, p1, wi, wo)
    return open_share(p0, p1, p2, wi) * open_share(p0, p1, p2, wo)


@kernel
def table_value(table, family, axis, p0, p1, p2, wi, wo):
    """The same [1] for a lobe with a table. Source: axis.py and groove.py."""
    if family == Family.GROOVE:
        return groove_value(table, int(p0), wi, wo)
    return measured_shape(table, int(p0), int(p1), p2, deviation_v(axis, wi, wo))


@kernel
def lobe_value(lobes, table, k, wi, wo):
    """Height of lobe k between two directions above the horizon, 1 on its axis at normal incidence [1].

    Source: `row_value`, `table_value`, and the entrance fall-off of this file's head.
    """
    family = int(lobes[k, FAMILY])
    if family in TABLED:
        value = table_value(table, family, lobes[k, AXIS], lobes[k, P0], lobes[k, P1], lobes[k, P2], wi, wo)
    else:
        value = row_value(family, lobes[k, AXIS], lobes[k, P0], lobes[k, P1], lobes[k, P2], wi, wo)
    if lobes[k, FALL] > 0.0:
        value *= math.exp(lobes[k, FALL] * (wi[2] * wi[2] + wo[2] * wo[2] - 2.0))
    elif lobes[k, FALL] < 0.0:
        value *= through_coat(-lobes[k, FALL], wi, wo)
    return value


@kernel
def lobe_density(lobes, table, k, wi, wo):
    """Density with which `lobe_draw` draws `wo` for lobe k [1/sr]. Source: the family's file."""
    family, axis, p0, p1, p2 = int(lobes[k, FAMILY]), lobes[k, AXIS], lobes[k, P0], lobes[k, P1], lobes[k, P2]
    if family <= Family.COSINE_POWER:
        return axis_density(family, p0, p1, p2, deviation_v(axis, wi, wo))
    if family == Family.MEASURED:
        return measured_density(table, int(p0), int(p1), p2, deviation_v(axis, wi, wo))
    if family == Family.GGX:
        return facet_density(axis, p0, p1, wi, wo)
    if family == Family.ELLIPSE:
        return ellipse_density(axis, p0, p1, p2, wi, wo)
    if family == Family.GROOVE:
        return groove_density(table, int(p0), wi, wo)
    return max(0.0, wo[2]) / math.pi


@kernel
def lobe_draw(lobes, table, k, wi, u1, u2):
    """Outgoing direction drawn for lobe k from two uniform numbers [1]; it may lie below the horizon. Source: the family's file."""
    family, axis, p0, p1, p2 = int(lobes[k, FAMILY]), lobes[k, AXIS], lobes[k, P0], lobes[k, P1], lobes[k, P2]
    if family <= Family.COSINE_POWER:
        return around_axis(axis, wi, axis_v(family, p0, p1, p2, u1), u2)
    if family == Family.MEASURED:
        return around_axis(axis, wi, measured_v(table, int(p0), int(p1), p2, u1), u2)
    if family == Family.GGX:
        return facet_draw(axis, p0, p1, wi, u1, u2)
    if family == Family.ELLIPSE:
        return ellipse_draw(axis, p0, p1, p2, wi, u1, u2)
    if family == Family.GROOVE:
        return groove_draw(table, int(p0), wi, u1, u2)
    return cosine_draw(u1, u2)
