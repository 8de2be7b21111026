"""Vectors in arrays whose last axis is right, out, up (or x, y, z): products written out, for the library's own take ten times as long."""

from __future__ import annotations

import numpy as np


def dots(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Scalar products (...) of (..., 3). Source: definition."""
    return np.asarray(a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2])


def crosses(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Vector products (..., 3) of (..., 3). Source: definition."""
    x, y, z = a[..., 0], a[..., 1], a[..., 2]
    u, v, w = b[..., 0], b[..., 1], b[..., 2]
    return np.stack([y * w - z * v, z * u - x * w, x * v - y * u], axis=-1)


def lengths(a: np.ndarray) -> np.ndarray:
    """Lengths (...) of (..., 3). Source: definition."""
    return np.asarray(np.sqrt(dots(a, a)))
