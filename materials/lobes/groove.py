"""Louvred fabric: the exact saw-tooth groove of two diffuse facets, as kernels read it from a table.

Grooves repeat with period 1 across direction c of the sheet. Facet A leans by `a` towards +c, facet B by `b` towards -c;
both run from a ridge down to the common bottom. Only the tangent t = (w . c) / wz of a direction counts. The lit and the
seen part of a facet both start at its ridge, so what is lit and seen is the shorter of the two: no approximation.

    G(ti, to) = sum over A, B of rho cos(tilt) min(l(ti), l(to)) (1 + e ti)+ (1 + e to)+     e = tan a, -tan b
              + sum over r of sign_r g_r(ti) g_r(to)                                          light that went on inside

The second line is the light of two and more bounces; groove_table.py makes the g_r. They are read between nodes even in
r = t / (1 + |t|) on four stretches, whose ends are the kinks of the shading: a facet vanishing, and t = 0.

Table from its `start`: 0 cx, 1 cy, 2 tan a, 3 tan b, 4 share of the period under A, 5 rho cos of A, 6 of B, 7 rank, 8
cells a stretch, 9, 10 the outer kinks in r, then signs (rank), then rows (albedo, g_1 .. g_rank) at 4 cells + 1 nodes.
Source: masking after Torrance and Sparrow, JOSA 57, 1967 (from memory); the rest derived here.
"""

from __future__ import annotations

import math

from ..kernels.jit import kernel

HEAD = 11


@kernel
def groove_place(table, start, t):
    """Node below t and the part of the cell above it [1]: (node, 0..1). Source: the nodes at this file's head."""
    r = t / (1.0 + abs(t))
    cells, low, high = int(table[start + 8]), table[start + 9], table[start + 10]
    if r < low:
        x, first = (r + 1.0) / (low + 1.0), 0
    elif r < 0.0:
        x, first = (r - low) / -low, cells
    elif r < high:
        x, first = r / high, 2 * cells
    else:
        x, first = (r - high) / (1.0 - high), 3 * cells
    x *= cells
    i = min(cells - 1, int(x))
    return first + i, x - i


@kernel
def groove_value(table, start, wi, wo):
    """Gain of the groove between two directions [1]. Source: this file's head."""
    cx, cy = table[start], table[start + 1]
    ti, to = (wi[0] * cx + wi[1] * cy) / wi[2], (wo[0] * cx + wo[1] * cy) / wo[2]
    # shadow of the neighbouring ridge: a facet is lit for 1 / (1 + t lean) of the period if t leans to its side, else all
    lean, under = table[start + 2], table[start + 4]
    lit = min(under, 1.0 / (1.0 + lean * max(0.0, ti, to)))
    gain = table[start + 5] * lit * max(0.0, 1.0 + lean * ti) * max(0.0, 1.0 + lean * to)
    lean, under = table[start + 3], 1.0 - under
    lit = min(under, 1.0 / (1.0 + lean * max(0.0, -ti, -to)))
    gain += table[start + 6] * lit * max(0.0, 1.0 - lean * ti) * max(0.0, 1.0 - lean * to)
    rank = int(table[start + 7])
    if rank > 0:
        i, p = groove_place(table, start, ti)
        j, q = groove_place(table, start, to)
        signs = start + HEAD - 1
        at = signs + rank + 1
        i, j = at + i * (rank + 1), at + j * (rank + 1)
        more = 0.0
        for r in range(1, rank + 1):
            one = table[i + r] + p * (table[i + rank + 1 + r] - table[i + r])
            two = table[j + r] + q * (table[j + rank + 1 + r] - table[j + r])
            more += table[signs + r] * one * two
        gain += max(0.0, more)
    return gain


@kernel
def groove_albedo(table, start, w):
    """Albedo of the groove for light from w [1], read between nodes. Source: groove_table.py."""
    i, p = groove_place(table, start, (w[0] * table[start] + w[1] * table[start + 1]) / w[2])
    width = int(table[start + 7]) + 1
    at = start + HEAD + width - 1 + i * width
    return table[at] + p * (table[at + width] - table[at])


@kernel
def groove_shares(table, start, wi):
    """Chances to draw about facet A and about facet B [1], by the light each sends on; the rest is for the sheet's normal.

    The normal gets a fifth of what the facets get together.
    Source: rho times the part of the beam that a facet takes; any chances would do, these keep the weights small.
    """
    t = (wi[0] * table[start] + wi[1] * table[start + 1]) / wi[2]
    lean, under = table[start + 2], table[start + 4]
    lit = min(under, 1.0 / (1.0 + lean * max(0.0, t)))
    a = table[start + 5] * math.sqrt(1.0 + lean * lean) * max(0.0, 1.0 + lean * t) * lit
    lean, under = table[start + 3], 1.0 - under
    lit = min(under, 1.0 / (1.0 + lean * max(0.0, -t)))
    b = table[start + 6] * math.sqrt(1.0 + lean * lean) * max(0.0, 1.0 - lean * t) * lit
    whole = 1.2 * (a + b) + 1e-12
    return a / whole, b / whole


@kernel
def groove_density(table, start, wi, wo):
    """Density of `groove_draw` [1/sr]; over the whole sphere it integrates to 1. Source: cosine law about each normal."""
    a, b = groove_shares(table, start, wi)
    across = wo[0] * table[start] + wo[1] * table[start + 1]
    cos_a, cos_b = 1.0 / math.sqrt(1.0 + table[start + 2] ** 2), 1.0 / math.sqrt(1.0 + table[start + 3] ** 2)
    total = a * max(0.0, cos_a * (wo[2] + table[start + 2] * across))
    total += b * max(0.0, cos_b * (wo[2] - table[start + 3] * across))
    return (total + (1.0 - a - b) * max(0.0, wo[2])) / math.pi


@kernel
def groove_draw(table, start, wi, u1, u2):
    """Unit direction [1] by the cosine law about one facet's normal or the sheet's; it may lie below the horizon.

    u1, u2  uniform in 0..1 [1]; u1 picks the normal and is stretched to serve again. Source: Malley's projection, tilted.
    """
    a, b = groove_shares(table, start, wi)
    lean = 0.0
    if u1 < a:
        u1, lean = u1 / a, table[start + 2]
    elif u1 < a + b:
        u1, lean = (u1 - a) / b, -table[start + 3]
    else:
        u1 = (u1 - a - b) / (1.0 - a - b)
    u1 = min(u1, 1.0 - 1e-16)
    r, turn = math.sqrt(u1), 2.0 * math.pi * u2
    p, q, z = r * math.cos(turn), r * math.sin(turn), math.sqrt(1.0 - u1)
    cosine = 1.0 / math.sqrt(1.0 + lean * lean)
    across, up = cosine * (p + lean * z), cosine * (z - lean * p)
    cx, cy = table[start], table[start + 1]
    return across * cx - q * cy, across * cy + q * cx, up
