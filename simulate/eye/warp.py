"""Visible warp: a map of displacements less what a keystone and a smooth bow explain, and what acuity makes of the rest."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from ...materials.dataclass import dataclass

ACUITY_ARCMIN = 1.0  # one arc minute; common practice, no source
STRAIGHT_LINE_ARCMIN = 10.0 / 60.0  # vernier acuity, 5 to 10 arc seconds (from memory)


@dataclass(frozen=True)
class Warp:
    """Displacements left after keystone and bow.

    peak_to_peak_arcmin, rms_arcmin  the larger of the two components; root of the mean square of both
    peak_to_peak_px                  in projector pixels; None where the scene gives no pixels
    place_m                          (right, up) where it is furthest from its mean [m]
    acuity_ratio, straight_line_ratio  peak to peak over 1 arc minute, and over 10 arc seconds for fine straight lines
    removed_arcmin                   peak to peak of what keystone and bow explained
    """

    peak_to_peak_arcmin: float
    rms_arcmin: float
    peak_to_peak_px: float | None
    place_m: tuple[float, float]
    acuity_ratio: float
    straight_line_ratio: float
    removed_arcmin: float


def without_keystone_and_bow(shift: np.ndarray, right_m: np.ndarray, up_m: np.ndarray) -> np.ndarray:
    """A displacement map less its best quadratic in both components; NaN stays.

    shift  (rows, columns, 2) [any unit];  right_m (columns,), up_m (rows,) places [m]
    Source: a small homography is affine plus x (g x + h y), y (g x + h y), so quadratics hold every keystone (to second
    order in the shift over the picture's size, some 1e-6) and every smooth bow.
    """
    return np.stack(_rest_of(_planes(shift), right_m, up_m), axis=2)


def _planes(shift: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The two components of a map (rows, columns, 2), each in one piece: reductions over a last axis of two take ten times as long."""
    return np.ascontiguousarray(shift[..., 0]), np.ascontiguousarray(shift[..., 1])


def _rest_of(planes: tuple[np.ndarray, np.ndarray], right_m: np.ndarray, up_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Both components less their best quadratic. Source: `without_keystone_and_bow`; least squares by the normal equations."""
    good = np.isfinite(planes[0]) & np.isfinite(planes[1])
    step = max(1, int(np.sqrt(good.size / 20_000)))
    x, y, terms, normal = _quadratics(right_m.tobytes(), up_m.tobytes(), step)
    values = np.stack([each[::step, ::step].ravel() for each in planes], axis=1)
    some = good[::step, ::step].ravel()
    if not some.all():
        terms, values = terms[:, some], values[some]
        normal = terms @ terms.T
    # places lie within -1 ... 1, so the equations' condition is some tens and squaring it costs two digits of sixteen
    c = np.linalg.lstsq(normal, terms @ values, rcond=None)[0]
    one, other = (
        each - ((a + b * x + d * x**2)[None, :] + (e * y + g * y**2)[:, None] + f * np.outer(y, x))
        for each, (a, b, e, d, f, g) in zip(planes, c.T, strict=True)
    )
    return one, other


@lru_cache(maxsize=4)  # all seats look at one grid
def _quadratics(right_m: bytes, up_m: bytes, step: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Places (columns,), (rows,) from -1 to 1; six terms of a quadratic at every step-th of them (6, n); their products' sums (6, 6)."""
    x, y = ((m - m.mean()) / max(np.ptp(m), 1e-12) * 2.0 for m in map(np.frombuffer, (right_m, up_m)))
    gx, gy = (each.ravel() for each in np.meshgrid(x[::step], y[::step]))
    terms = np.stack([np.ones(len(gx)), gx, gy, gx * gx, gx * gy, gy * gy])
    return x, y, terms, terms @ terms.T


def warp_of(
    shift_arcmin: np.ndarray, right_m: np.ndarray, up_m: np.ndarray, arcmin_per_px: tuple[float, float] | None = None
) -> Warp:
    """Warp [arcmin] of a map of displacements as a seat sees them.

    shift_arcmin   (rows, columns, 2) to the right and up [arcmin], top row first; NaN where nothing is seen
    right_m, up_m  (columns,), (rows,) places [m]
    arcmin_per_px  (right, up) of a projector pixel at this seat [arcmin], or None
    raises         ValueError where nothing is seen anywhere
    Source: ACUITY_ARCMIN, STRAIGHT_LINE_ARCMIN; `without_keystone_and_bow`.
    """
    planes = _planes(shift_arcmin)
    rest = _rest_of(planes, right_m, up_m)
    spread = [_peak_to_peak(each) for each in rest]
    square = rest[0] * rest[0] + rest[1] * rest[1]
    row, column = np.unravel_index(int(np.nanargmax(square)), square.shape)
    worst = max(spread)
    pixels = None if arcmin_per_px is None else float(max(spread[i] / arcmin_per_px[i] for i in (0, 1)))
    return Warp(
        peak_to_peak_arcmin=worst,
        rms_arcmin=float(np.sqrt(np.nanmean(square))),
        peak_to_peak_px=pixels,
        place_m=(float(right_m[column]), float(up_m[row])),
        acuity_ratio=worst / ACUITY_ARCMIN,
        straight_line_ratio=worst / STRAIGHT_LINE_ARCMIN,
        removed_arcmin=max(_peak_to_peak(each - left) for each, left in zip(planes, rest, strict=True)),
    )


def _peak_to_peak(plane: np.ndarray) -> float:
    """Largest less smallest number of a map; NaN is left out. Source: definition."""
    return float(np.nanmax(plane) - np.nanmin(plane))
