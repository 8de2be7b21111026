"""Light inside a saw-tooth groove: strips that light one another, solved once and put into the table that groove.py reads.

Period 1; facet A leans by `a` towards the groove's + side, facet B by `b` towards the other; the ridge stands at the ends
of the period. Every strip of A sees every strip of B and none of its own facet, so Hottel's crossed strings are exact.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..dataclass import dataclass

Array = npt.NDArray[np.float64]

STRIPS = 96  # a facet, finer towards ridge and bottom
CELLS = 128  # a stretch of the table; strips, straight lines between nodes and parts left out: below 2.5e-4 (tested)
SMALLEST_PART = 1e-5  # parts of the bounced light below this gain are left out


@dataclass(frozen=True)
class Groove:
    """A saw-tooth groove.

    tilt_a_deg, tilt_b_deg  how far each facet leans from the sheet [deg], above 0, below 90
    rho_a, rho_b            diffuse reflectance of the facets [1]
    turn_deg                direction that facet A faces, from the sheet's up [deg], anticlockwise seen from the seats
    """

    tilt_a_deg: float
    tilt_b_deg: float
    rho_a: float
    rho_b: float
    turn_deg: float = 0.0

    @property
    def leans(self) -> tuple[float, float]:
        """tan of the two tilts [1]. Source: definition."""
        return math.tan(math.radians(self.tilt_a_deg)), math.tan(math.radians(self.tilt_b_deg))

    @property
    def under_a(self) -> float:
        """Share of the period that facet A covers [1]. Source: both facets are equally deep."""
        lean_a, lean_b = self.leans
        return lean_b / (lean_a + lean_b)

    @property
    def across(self) -> tuple[float, float]:
        """Unit direction (right, up) on the sheet that facet A faces [1]. Source: definition of `turn_deg`."""
        turn = math.radians(self.turn_deg)
        return -math.sin(turn), math.cos(turn)

    def single(self, ti: npt.ArrayLike, to: npt.ArrayLike) -> Array:
        """Gain [1] by light that meets one facet once; ti, to tangents (w . c) / wz, any shapes. Source: head of groove.py."""
        ti, to = np.asarray(ti, float), np.asarray(to, float)
        total = np.zeros(np.broadcast_shapes(ti.shape, to.shape))
        for sign, lean, under, rho in self._facets():
            seen = np.maximum(0.0, 1.0 + sign * lean * ti) * np.maximum(0.0, 1.0 + sign * lean * to)
            length = np.minimum(lit_length(sign * ti, lean, under), lit_length(sign * to, lean, under))
            total = total + rho * math.cos(math.atan(lean)) * seen * length
        return total

    def _facets(self) -> tuple[tuple[float, float, float, float], ...]:
        lean_a, lean_b = self.leans
        return (1.0, lean_a, self.under_a, self.rho_a), (-1.0, lean_b, 1.0 - self.under_a, self.rho_b)

    def taken(self, t: npt.ArrayLike, edges: Array) -> Array:
        """Share [1] of a beam from tangent t that each strip takes, (n, 2 strips); rows sum to 1. Strips count from the ridge.

        edges   of the strips, 0 at the ridge to 1 at the bottom, the same for both facets
        Source: a strip takes its lit part times (1 + e t)+ of the period; the lit part starts at the ridge.
        """
        t = np.atleast_1d(np.asarray(t, float))
        parts = []
        for sign, lean, under, _ in self._facets():
            lit = lit_length(sign * t, lean, under)[:, None] / under
            share = np.clip(lit - edges[:-1], 0.0, np.diff(edges)) * under
            parts.append(share * np.maximum(0.0, 1.0 + sign * lean * t)[:, None])
        return np.hstack(parts)

    def onward(self, edges: Array) -> Array:
        """Symmetric matrix R, (2 strips)^2: gain [1] of light bounced at least twice = taken(to) R taken(ti).

        Source: radiosity B = rho (E + F B), Hottel's crossed strings for F; R = ((1 - rho F)^-1 - 1) rho / length.
        """
        return _onward(self, tuple(edges))

    def strings(self, edges: Array) -> tuple[Array, Array]:
        """Lengths of the strips, (2 strips,), and length times view factor between them, (2 strips)^2, both [periods].

        Source: crossed strings, Hottel and Sarofim 1967 (from memory).
        """
        lean_a, lean_b = self.leans
        under = self.under_a
        strips = len(edges) - 1
        a = np.stack([edges * under, -edges * under * lean_a], axis=1)
        b = np.stack([1.0 - edges * (1.0 - under), -edges * (1.0 - under) * lean_b], axis=1)
        gap = np.linalg.norm(a[:, None] - b[None], axis=2)
        # strip i of A from node i to i + 1, of B from j to j + 1: both counted down from the ridge, so the crossed
        # strings join upper with lower ends
        pairs = 0.5 * (gap[:-1, 1:] + gap[1:, :-1] - gap[:-1, :-1] - gap[1:, 1:])
        exchange = np.zeros((2 * strips, 2 * strips))
        exchange[:strips, strips:] = np.maximum(pairs, 0.0)
        exchange += exchange.T
        cos_a, cos_b = math.cos(math.atan(lean_a)), math.cos(math.atan(lean_b))
        lengths = np.concatenate([np.diff(edges) * under / cos_a, np.diff(edges) * (1.0 - under) / cos_b])
        return lengths, exchange

    def gain(self, ti: npt.ArrayLike, to: npt.ArrayLike, edges: Array | None = None) -> Array:
        """Gain [1] between tangents ti and to, (n,) each, all bounces. Source: `single` and `onward`."""
        edges = graded(STRIPS) if edges is None else edges
        onward = np.sum((self.taken(to, edges) @ self.onward(edges)) * self.taken(ti, edges), axis=1)
        return np.asarray(np.atleast_1d(self.single(ti, to)) + onward)

    def albedo(self, t: npt.ArrayLike) -> Array:
        """Directional albedo for light from tangents t, (n,) [1].

        With s = sine of the direction's angle in the plane across the grooves, cos dw / pi integrates along the groove to
        ds / 2: albedo = half the integral of G(t, s) over s in -1..1. Source: derived here; 48 Gauss points a stretch.
        """
        t, edges = np.atleast_1d(np.asarray(t, float)), graded(STRIPS)
        nodes, weights = np.polynomial.legendre.leggauss(48)
        kink = np.clip(t / np.sqrt(1.0 + t * t), -1.0, 1.0)  # min(l, l) bends where the two tangents meet
        fixed = [-1.0, -math.cos(math.radians(self.tilt_a_deg)), 0.0, math.cos(math.radians(self.tilt_b_deg)), 1.0]
        cuts = np.sort(np.column_stack([np.tile(fixed, (len(t), 1)), kink]), axis=1)
        half, middle = 0.5 * np.diff(cuts)[:, :, None], 0.5 * (cuts[:, 1:] + cuts[:, :-1])[:, :, None]
        s = np.clip(middle + half * nodes, -1.0 + 1e-15, 1.0 - 1e-15)
        once = self.single(t[:, None, None], s / np.sqrt(1.0 - s * s))
        total = 0.5 * np.sum(half * weights * once, axis=(1, 2))
        low, high = np.array(fixed[:-1])[:, None], np.array(fixed[1:])[:, None]
        even = (0.5 * (low + high) + 0.5 * (high - low) * nodes).ravel()
        share = (0.25 * (high - low) * weights).ravel() @ self.taken(even / np.sqrt(1.0 - even * even), edges)
        return np.asarray(total + self.taken(t, edges) @ (self.onward(edges) @ share))

    def tangent(self, incidence_deg: float, toward_deg: float) -> float:
        """Tangent t [1] of a direction `incidence_deg` off the normal, leaning to `toward_deg` from the sheet's up [deg].

        Source: derived; t = (w . c) / wz with c at `turn_deg` from up.
        """
        lean = math.tan(math.radians(incidence_deg))
        return lean * math.cos(math.radians(toward_deg - self.turn_deg))


@lru_cache(maxsize=4)  # a fabric's gain, albedo and words stand on the same groove
def _onward(groove: Groove, edges: tuple[float, ...]) -> Array:
    lengths, exchange = groove.strings(np.array(edges))
    rho = np.repeat([groove.rho_a, groove.rho_b], len(edges) - 1)
    system = np.eye(len(rho)) - (rho / lengths)[:, None] * exchange
    matrix = np.linalg.solve(system, np.diag(rho / lengths)) - np.diag(rho / lengths)
    found = np.asarray(0.5 * (matrix + matrix.T))
    found.flags.writeable = False
    return found


def lit_length(t: npt.ArrayLike, lean: float, under: float) -> Array:
    """Lit part of a facet in the period [1], from the ridge down; t towards the facet's own side. Source: groove.py."""
    t = np.asarray(t, float)
    return np.where(t > 0.0, np.minimum(under, 1.0 / (1.0 + np.maximum(t, 0.0) * lean)), under)


def graded(strips: int) -> Array:
    """Edges of strips, (strips + 1,), 0 at the ridge to 1 at the bottom [1], finer towards both ends.

    Light at grazing incidence meets the ridge only, and facets light each other most at the bottom.
    Source: Chebyshev's points.
    """
    return np.asarray(0.5 - 0.5 * np.cos(math.pi * np.arange(strips + 1) / strips))


@lru_cache(maxsize=64)
def groove_table(groove: Groove) -> Array:
    """The table of groove.py for one groove, (m,) [1], read-only; its layout stands at the head of that file.

    Source: bounced light as a sum of products g(ti) g(to), by the eigenvectors of `onward`; derived here.
    """
    lean_a, lean_b = groove.leans
    kinks = [-1.0, -1.0 / (1.0 + lean_a), 0.0, 1.0 / (1.0 + lean_b), 1.0]  # r = t / (1 + |t|) at t = -cot a, cot b
    steps = np.arange(CELLS) / CELLS
    r = np.concatenate([low + (high - low) * steps for low, high in pairwise(kinks)] + [[1.0]])
    r = np.clip(r, -1.0 + 1e-9, 1.0 - 1e-9)
    t = r / (1.0 - np.abs(r))
    edges = graded(STRIPS)
    taken = groove.taken(t, edges)
    frame, mixing = np.linalg.qr(taken)
    values, vectors = np.linalg.eigh(mixing @ groove.onward(edges) @ mixing.T)
    vectors = frame @ vectors
    weight = np.abs(values) * np.max(np.abs(vectors), axis=0) ** 2
    kept = np.argsort(-weight)[: int(np.sum(weight > SMALLEST_PART))]
    parts = vectors[:, kept] * np.sqrt(np.abs(values[kept]))
    head = [
        *groove.across,
        lean_a,
        lean_b,
        groove.under_a,
        groove.rho_a * math.cos(math.atan(lean_a)),
        groove.rho_b * math.cos(math.atan(lean_b)),
        float(len(kept)),
        float(CELLS),
        kinks[1],
        kinks[3],
    ]
    rows = np.hstack([groove.albedo(t)[:, None], parts])
    table = np.concatenate([head, np.sign(values[kept]), rows.ravel()])
    table.flags.writeable = False
    return table
