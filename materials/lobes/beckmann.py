"""Beckmann's half-vector lobe, in numpy: no fabric uses it, it checks the GGX one and serves those who compare models.

Source: Beckmann and Spizzichino 1963; Walter et al., EGSR 2007; Heitz, JCGT 3(2), 2014; all from memory.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_erfc = np.vectorize(math.erfc, otypes=[float])


def shade(alpha: float, w: npt.ArrayLike) -> Array:
    """Smith's L(w) = exp(-x^2) / (2 x sqrt(pi)) - erfc(x) / 2, x = 1 / (a tan t), of directions (..., 3) [1]. Source: as in the head."""
    w = np.asarray(w, float)
    tangent = np.maximum(alpha * np.hypot(w[..., 0], w[..., 1]) / w[..., 2], 0.03)  # below, exp(-x^2) is 0
    x = 1.0 / tangent
    return np.asarray(0.5 * (np.exp(-x * x) / (x * math.sqrt(math.pi)) - _erfc(x)))


def gain(alpha: float, wi: npt.ArrayLike, wo: npt.ArrayLike) -> Array:
    """Gain pi f_r for F = 1, directions (..., 3) above the horizon [1].

    Source: f = D G2 / (4 cos cos), D = exp(-tan^2 / a^2) / (pi a^2 cos^4), G2 = 1 / (1 + L(wi) + L(wo)).
    """
    wi, wo = np.asarray(wi, float), np.asarray(wo, float)
    h = wi + wo
    z = h[..., 2] / np.linalg.norm(h, axis=-1)
    facets = np.exp(-(1.0 / z**2 - 1.0) / alpha**2) / (math.pi * alpha**2 * z**4)
    seen = 1.0 + shade(alpha, wi) + shade(alpha, wo)
    return np.asarray(math.pi * facets / (4.0 * wi[..., 2] * wo[..., 2] * seen))


def albedo(alpha: float, incidence_rad: float, count: int = 400) -> float:
    """Directional albedo for F = 1 [1] at an incidence [rad], by a midpoint sum in sine and turn of the view.

    count   points each way
    Source: definition, integral of gain cos / pi over the half-space; cos dw = r dr dp with r the sine, p the turn.
    """
    side = (np.arange(count) + 0.5) / count
    turn = 2.0 * math.pi * (np.arange(count) + 0.5) / count
    r, p = np.meshgrid(side, turn, indexing="ij")
    wo = np.stack([r * np.cos(p), r * np.sin(p), np.sqrt(1.0 - r * r)], axis=-1)
    wi = np.array([math.sin(incidence_rad), 0.0, math.cos(incidence_rad)])
    return float(np.mean(2.0 * r * gain(alpha, wi, wo)))
