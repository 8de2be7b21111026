"""A clear top coat: its own mirror-like glint by Fresnel's law, and what it lets through to the cloth beneath and back.

Rows of `FabricArrays.lobes`: what lies beneath carries fall = -n, n the coat's refractive index, and is multiplied by
(1 - F(ti)) (1 - F(to)) / (1 - F(0))^2, a product, so reciprocal; the glint is a GGX row with p2 = n, multiplied by F(h) / F(0).
Beneath the coat is scattering cloth, so light that the coat sends back inwards is lost to the model: the whole gives back less than
it gets. Sources: Fresnel's equations, Born and Wolf, Principles of Optics, section 1.5; the product for a diffuse ground as in
Ashikhmin and Shirley, JGT 5(2), 2000 (both from memory).
"""

from __future__ import annotations

import math

import numpy as np

from ..kernels.jit import kernel

_y, _w = np.polynomial.legendre.leggauss(48)
COSINES, SHARES = 0.5 * (_y + 1.0), 0.5 * _w


@kernel
def fresnel(index, cosine):
    """Share [1] of unpolarised light from air that a smooth coat of refractive index [1] sends back, at an incidence of this cosine.

    Source: Fresnel's equations, mean of both polarisations.
    """
    c = min(1.0, max(0.0, cosine))
    inner = math.sqrt(index * index - 1.0 + c * c)
    across = (c - inner) / (c + inner)
    along = (index * index * c - inner) / (index * index * c + inner)
    return 0.5 * (across * across + along * along)


@kernel
def through_coat(index, wi, wo):
    """What a coat takes from light to the cloth beneath and back, 1 along the normal both ways [1]. Source: head of this file."""
    most = 1.0 - fresnel(index, 1.0)
    return (1.0 - fresnel(index, wi[2])) * (1.0 - fresnel(index, wo[2])) / (most * most)


@kernel
def glint(index, side, wi, wo):
    """F at the half-vector over F at normal incidence [1]; side as in microfacet.py. Source: cos^2 = (1 + wi . wo) / 2."""
    along = side * (wi[0] * wo[0] + wi[1] * wo[1]) + wi[2] * wo[2]
    return fresnel(index, math.sqrt(max(0.0, 0.5 * (1.0 + along)))) / fresnel(index, 1.0)


@kernel
def diffuse_under_coat(index, cosine):
    """Albedo of a perfect diffuser beneath a coat, gain 1 along the normal [1]. Source: 2 integral of (1 - F) cos d cos, Gauss-Legendre."""
    most = 1.0 - fresnel(index, 1.0)
    total = 0.0
    for j in range(COSINES.shape[0]):
        total += 2.0 * SHARES[j] * COSINES[j] * (1.0 - fresnel(index, COSINES[j]))
    return total * (1.0 - fresnel(index, cosine)) / (most * most)
