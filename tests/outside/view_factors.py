"""Closed-form configuration factors between rectangles, and from a point to a rectangle.

Numbers C-11 and C-14 are those of Howell's catalogue of radiation configuration factors (numbers from memory; C-11's
formula agrees with textbook-derived code). The `..._exchange` functions were derived here, by integrating
cos cos / (pi r^2) over both rectangles, so that they check the catalogue's formulas rather than repeat them.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def parallel_rectangles(*, a_m: float, b_m: float, c_m: float) -> float:
    """Factor between aligned equal a x b rectangles at distance c [1]. Source: Howell C-11 (number from memory)."""
    x, y = a_m / c_m, b_m / c_m
    rx, ry = np.sqrt(1 + x * x), np.sqrt(1 + y * y)
    terms = (
        np.log(rx * ry / np.sqrt(1 + x * x + y * y))
        + x * ry * np.arctan(x / ry)
        + y * rx * np.arctan(y / rx)
        - x * np.arctan(x)
        - y * np.arctan(y)
    )
    return float(2 / (np.pi * x * y) * terms)


def perpendicular_rectangles(*, h_m: float, l_m: float, w_m: float) -> float:
    """Factor from a w x l to an h x l rectangle with the common edge l [1]. Source: Howell C-14 (from memory)."""
    h, w = h_m / l_m, w_m / l_m
    hh, ww = h * h, w * w
    s = np.sqrt(hh + ww)
    logs = (
        np.log((1 + ww) * (1 + hh) / (1 + ww + hh))
        + ww * np.log(ww * (1 + ww + hh) / ((1 + ww) * s * s))
        + hh * np.log(hh * (1 + hh + ww) / ((1 + hh) * s * s))
    )
    arcs = w * np.arctan(1 / w) + h * np.arctan(1 / h) - s * np.arctan(1 / s)
    return float((arcs + logs / 4) / (np.pi * w))


def point_facing(*, a_m: ArrayLike, b_m: ArrayLike, c_m: float) -> Floats:
    """Factor from a point below one corner of a facing a x b rectangle at distance c [1]; odd in a and in b.

    Source: contour integral of the cosine law (Lambert), any radiation textbook, from memory.
    """
    a, b = np.asarray(a_m, dtype=float), np.asarray(b_m, dtype=float)
    ra, rb = np.hypot(a, c_m), np.hypot(b, c_m)
    return np.asarray((a / ra * np.arctan(b / ra) + b / rb * np.arctan(a / rb)) / (2 * np.pi))


def point_perpendicular(*, a_m: ArrayLike, b_m: ArrayLike, c_m: float) -> Floats:
    """Factor from a point to a rectangle standing on its plane [1]: height a along the normal, width b, distance c.

    The rectangle starts at the foot of the perpendicular; odd in b. Source: as `point_facing`.
    """
    a, b = np.asarray(a_m, dtype=float), np.asarray(b_m, dtype=float)
    r = np.hypot(a, c_m)
    return np.asarray((np.arctan(b / c_m) - c_m / r * np.arctan(b / r)) / (2 * np.pi))


def parallel_exchange(x1: Floats, y1: Floats, x2: Floats, y2: Floats, *, distance_m: float) -> Floats:
    """Area times factor between all cells of two facing grids [m2], shape (n1x n1y, n2x n2y), x-major.

    x1, y1, x2, y2   cell edges of the grids, increasing [m]
    """
    # d4/(dx dy dxi deta) of B below is 2 c^2 / r^4: the kernel cos cos / r^2 of facing elements, times 2
    dx = x1[:, None, None, None] - x2[None, None, :, None]
    dy = y1[None, :, None, None] - y2[None, None, None, :]
    cc = distance_m**2
    rx, ry = np.sqrt(dx * dx + cc), np.sqrt(dy * dy + cc)
    b = dx * ry * np.arctan(dx / ry) + dy * rx * np.arctan(dy / rx) - cc / 2 * np.log(dx * dx + dy * dy + cc)
    return _all_cells(b)


def perpendicular_exchange(along1: Floats, out1: Floats, along2: Floats, out2: Floats) -> Floats:
    """Area times factor between all cells of two grids in perpendicular planes [m2], shape (n1, n2), along-major.

    along1, along2   cell edges along the line where the planes meet [m]
    out1, out2       cell edges as distances from that line, not negative [m]
    """
    # integral of y z / r^4 over y and z is -ln(d^2 + y^2 + z^2) / 4; two more integrations over d give this
    d = along1[:, None, None, None] - along2[None, None, :, None]
    ss = out1[None, :, None, None] ** 2 + out2[None, None, None, :] ** 2
    s = np.sqrt(ss)
    rr = d * d + ss
    b = s * d * np.arctan2(d, s) + (d * d - ss) / 4 * np.log(np.where(rr > 0, rr, 1.0))
    return _all_cells(b)


def _all_cells(corner_values: Floats) -> Floats:
    """Fourfold difference of an antiderivative over cell corners; the orientation of an axis only turns the sign."""
    cells = corner_values
    for axis in range(4):
        cells = np.diff(cells, axis=axis)
    n1 = cells.shape[0] * cells.shape[1]
    return np.abs(cells).reshape(n1, -1) / (2 * np.pi)
