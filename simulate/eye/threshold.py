"""How far a pattern of brightness is over the eye's threshold, and where: the worst window over the picture.

The picture is cut into overlapping windows of many sizes. In each, the spectrum is split into its strongest components; only
those with at least three periods in the window count. A component's modulation m is half peak-to-peak over mean: its energy in
the window gives the amplitude of an even wave, and what the peak has over that (a wave that grows across the window) is put on
top. Windows are compared by (sum (m S)^3.5)^(1/3.5), S the contrast sensitivity at the seat.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from .barten import contrast_sensitivity

BETA = 3.5  # probability summation over channels. Source: Quick (1974), 3 to 4 (from memory)
PERIODS = 3.0
_SIDES = tuple(2.0 ** (-0.5 * i) for i in range(9))  # window sides as shares of the picture's
_SAMPLES = 48  # samples along a window's longer side
_COMPONENTS = 8
_NEAR = 2  # bins around a peak that belong to it: the main lobe of the taper is +-1.5 bins wide
_CREST = 2.1  # peak over sqrt(2) rms of many waves of random phase, about 3 sigma


class Sight(NamedTuple):
    """How a seat sees the picture.

    luminance_cd_m2     mean of the picture [cd/m2]
    deg_right, deg_up   (rows, columns) visual angle that a metre of the screen takes up, to the right and up [deg/m]
    """

    luminance_cd_m2: float
    deg_right: np.ndarray
    deg_up: np.ndarray


@dataclass(frozen=True)
class Visible:
    """The worst window of a pattern.

    ratio                 modulation over threshold, summed over components [1]; below 1 it is not seen
    modulation            of its strongest component, half peak-to-peak over mean [1]
    cycles_per_deg        of that component [1/deg], 0 where there is none
    place_m               (right, up) of the window's middle from the screen's [m];  side_m (width, height) of the window [m]
    field_deg             (width, height) of the part of the picture where the wave exceeds half its peak [deg]
    peak_to_peak, rms     of the whole pattern after taking out its smooth part [1]
    """

    ratio: float
    modulation: float
    cycles_per_deg: float
    place_m: tuple[float, float]
    side_m: tuple[float, float]
    field_deg: tuple[float, float]
    peak_to_peak: float
    rms: float


def without_smooth(pattern: np.ndarray) -> np.ndarray:
    """A map over its best quadratic, less 1 [1]; places that are no numbers become 0.

    pattern  (rows, columns), positive [any unit]
    Source: a smooth fall over the whole picture is not seen as a fold (SMPTE ST 431-1 accepts edges at 75 to 90 % of the centre);
    least squares on the finite places.
    """
    rows, columns = pattern.shape
    x, y = np.linspace(-1.0, 1.0, columns), np.linspace(-1.0, 1.0, rows)
    good = np.isfinite(pattern)
    step = max(1, int(np.sqrt(pattern.size / 20_000)))  # a quadratic needs no more places than that
    some = good[::step, ::step]
    gx, gy = np.meshgrid(x[::step], y[::step])
    terms = np.stack([np.ones(some.sum()), gx[some], gy[some], gx[some] ** 2, gx[some] * gy[some], gy[some] ** 2], axis=1)
    c = np.linalg.lstsq(terms, pattern[::step, ::step][some], rcond=None)[0]
    smooth = (c[0] + c[1] * x + c[3] * x**2)[None, :] + (c[2] * y + c[5] * y**2)[:, None] + c[4] * np.outer(y, x)
    return np.where(good, pattern / smooth - 1.0, 0.0)


class _Windows(NamedTuple):
    """All windows of one side: samples (w, b, a), first rows and columns in the map, size in the map, step between samples."""

    samples: np.ndarray
    row: np.ndarray
    column: np.ndarray
    size: tuple[int, int]
    step: int


def _cut(pattern: np.ndarray, side: float) -> _Windows | None:
    """Windows that overlap by half, those at the edges included; long ones are thinned by means over blocks."""
    rows, columns = pattern.shape
    b, a = round(rows * side), round(columns * side)
    if min(a, b) < 12:
        return None
    step = max(1, a // _SAMPLES)
    b, a = b // step * step, a // step * step
    first_row = np.unique(np.linspace(0, rows - b, max(1, int(np.ceil((rows - b) / (0.5 * b))) + 1)).astype(int))
    first_column = np.unique(np.linspace(0, columns - a, max(1, int(np.ceil((columns - a) / (0.5 * a))) + 1)).astype(int))
    row, column = (g.ravel() for g in np.meshgrid(first_row, first_column, indexing="ij"))
    cut = np.stack([pattern[r : r + b, c : c + a] for r, c in zip(row, column, strict=True)])
    if step > 1:
        cut = cut.reshape(len(cut), b // step, step, a // step, step).mean(axis=(2, 4))
    return _Windows(cut, row, column, (b, a), step)


def _components(windows: _Windows) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Amplitudes (w, n) and periods across and along each window (w, n) of the strongest components, and the peak's excess (w,).

    Source: Parseval; the energy in the main lobe of a Hann taper does not depend on where between two bins a wave falls.
    """
    x = windows.samples - windows.samples.mean(axis=(1, 2), keepdims=True)
    count, b, a = x.shape
    taper = np.outer(np.hanning(b + 2)[1:-1], np.hanning(a + 2)[1:-1]).astype(x.dtype)
    power = np.abs(np.fft.rfft2(x * taper)) ** 2 / (b * a * (taper**2).sum())
    width, fy = power.shape[2], np.fft.fftfreq(b, 1.0 / b)
    fx = np.arange(width)
    power[:, np.maximum(np.abs(fy)[:, None], fx) < PERIODS - 1.01] = 0.0  # a lobe at 3 begins at 2
    power[:, np.maximum(np.abs(fy)[:, None] / b, fx / a) > 0.35] = 0.0  # too fine for these samples: smaller windows see it
    power[:, b // 2 + 1 :, 0] = 0.0
    amplitude, along_x, along_y = (np.zeros((count, _COMPONENTS)) for _ in range(3))
    rest, each = power.reshape(count, -1), np.arange(count)[:, None, None]
    near_y, near_x = np.meshgrid(np.arange(-_NEAR, _NEAR + 1), np.arange(-_NEAR, _NEAR + 1), indexing="ij")
    for n in range(_COMPONENTS):
        best = rest.argmax(axis=1)
        rows = fy[best // width].astype(int)[:, None, None] + near_y
        columns = (best % width)[:, None, None] + near_x
        # a real signal's spectrum is even: each wave is kept once, in the half with columns > 0 or, in column 0, rows >= 0
        mirrored = (columns < 0) | (columns >= width) | ((columns == 0) & (rows < 0))
        spots = np.where(mirrored, -rows, rows) % b * width + np.where(columns < 0, -columns, np.minimum(columns, a - columns))
        energy = 2.0 * rest[each, spots]
        whole = energy.sum(axis=(1, 2))
        if not whole.any():
            break
        share = energy / np.maximum(whole, 1e-30)[:, None, None]
        amplitude[:, n] = np.sqrt(2.0 * whole)
        along_x[:, n] = (share * columns).sum(axis=(1, 2))
        along_y[:, n] = (share * rows).sum(axis=(1, 2))
        rest[each, spots] = 0.0
    counted = np.maximum(np.abs(along_x), np.abs(along_y)) >= PERIODS * 0.97
    excess = _peak_excess(x, np.sqrt(((x * taper) ** 2).sum(axis=(1, 2)) / (taper**2).sum()), amplitude)
    return np.where(counted, amplitude, 0.0), np.stack([along_x, along_y], axis=-1), excess


def _peak_excess(x: np.ndarray, rms: np.ndarray, amplitude: np.ndarray) -> np.ndarray:
    """Half peak-to-peak over what even waves of these amplitudes would show (w,), at least 1.

    rms  (w,) of the tapered windows. One even wave shows sqrt(2) rms; n like waves of random phase sqrt(n) times that, but
    hardly more than _CREST.
    Source: derived; it makes m of a single wave exactly half peak-to-peak in the window, and leaves a mix at its energy.
    """
    half = 0.5 * (x.max(axis=(1, 2)) - x.min(axis=(1, 2)))
    square = amplitude**2
    effective = square.sum(axis=1) ** 2 / np.maximum((square**2).sum(axis=1), 1e-30)
    shown = np.sqrt(2.0) * rms * np.clip(np.sqrt(effective), 1.0, _CREST)
    return np.maximum(1.0, half / np.maximum(shown, 1e-30)) * (half > 1e-7)


@dataclass
class _Level:
    """Windows of one side with what was found in them."""

    windows: _Windows
    modulation: np.ndarray
    cycles_per_deg: np.ndarray


def _level(pattern: np.ndarray, side: float, sight: Sight, pitch_m: tuple[float, float]) -> _Level | None:
    windows = _cut(pattern, side)
    if windows is None:
        return None
    amplitude, periods, excess = _components(windows)
    b, a = windows.size
    middle = (windows.row + b // 2, windows.column + a // 2)
    # periods a degree: a window's angular size at its middle
    across = a * pitch_m[0] * sight.deg_right[middle][:, None]
    along = b * pitch_m[1] * sight.deg_up[middle][:, None]
    frequency = np.hypot(periods[..., 0] / across, periods[..., 1] / along)
    return _Level(windows, amplitude * excess[:, None], frequency)


def worst_window(pattern: np.ndarray, sight: Sight, right_m: np.ndarray, up_m: np.ndarray) -> Visible:
    """The window where a pattern is furthest over threshold.

    pattern  (rows, columns) luminance relative to the even picture [1], top row first; NaN where there is none
    right_m, up_m  (columns,) rising and (rows,) falling places [m], evenly spaced, two or more
    returns  Visible; a ratio of 0 where nothing with three periods is there
    Source: head of this file; field of Barten's formula: where the wave exceeds half its peak (the project's own choice).
    """
    rest = without_smooth(pattern).astype(np.float32)
    pitch = (float(right_m[1] - right_m[0]), float(up_m[0] - up_m[1]))
    whole = (
        float(sight.deg_right.mean() * pitch[0] * len(right_m)),
        float(sight.deg_up.mean() * pitch[1] * len(up_m)),
    )
    peak_to_peak, rms = float(np.ptp(rest)), float(rest.std(dtype=float))
    none = Visible(0.0, 0.0, 0.0, (0.0, 0.0), (0.0, 0.0), whole, peak_to_peak, rms)
    if peak_to_peak < 1e-6:
        return none
    found = []
    for side in _SIDES:
        level = _level(rest, side, sight, pitch)
        window = None if level is None else _best(level, sight.luminance_cd_m2, whole)[1]
        if level is None or window is None:
            continue
        field = _extent(rest, level, window, sight, pitch)
        ratio, window = _best(level, sight.luminance_cd_m2, field)
        if window is not None:
            found.append((ratio, level, window, field))
    if not found:
        return none
    most = max(entry[0] for entry in found)
    # peak to peak is the same in every window that holds the peak: the smallest of them tells the place
    ratio, level, window, field = next(entry for entry in reversed(found) if entry[0] >= 0.95 * most)
    b, a = level.windows.size
    strongest = int(np.argmax(level.modulation[window]))
    row, column = level.windows.row[window], level.windows.column[window]
    return Visible(
        ratio=most,
        modulation=float(level.modulation[window, strongest]),
        cycles_per_deg=float(level.cycles_per_deg[window, strongest]),
        place_m=(float(right_m[column] + 0.5 * (a - 1) * pitch[0]), float(up_m[row] - 0.5 * (b - 1) * pitch[1])),
        side_m=(a * pitch[0], b * pitch[1]),
        field_deg=field,
        peak_to_peak=peak_to_peak,
        rms=rms,
    )


def _best(level: _Level, luminance: float, field: tuple[float, float]) -> tuple[float, int | None]:
    """The largest sum over components of a level's windows and the window it is in; None where nothing counts."""
    sensitivity = contrast_sensitivity(
        level.cycles_per_deg, luminance_cd_m2=luminance, width_deg=field[0], height_deg=field[1]
    )
    ratio = ((level.modulation * sensitivity) ** BETA).sum(axis=1) ** (1.0 / BETA)
    window = int(np.argmax(ratio))
    return (float(ratio[window]), window) if ratio[window] > 0 else (0.0, None)


def _extent(
    rest: np.ndarray, level: _Level, window: int, sight: Sight, pitch: tuple[float, float]
) -> tuple[float, float]:
    """Angular width and height of the connected part round a window where the local amplitude exceeds half its peak."""
    from scipy.ndimage import label, uniform_filter

    b, a = level.windows.size
    row, column = level.windows.row[window], level.windows.column[window]
    step = max(1, min(a, b) // 24)
    thin = rest[: rest.shape[0] // step * step, : rest.shape[1] // step * step]
    energy = (thin**2).reshape(thin.shape[0] // step, step, -1, step).mean(axis=(1, 3))
    # a box of a third of the window holds a period or more
    energy = uniform_filter(energy, size=(max(3, b // step // 3), max(3, a // step // 3)), mode="nearest")
    inside = energy[row // step : (row + b) // step, column // step : (column + a) // step]
    peak = float(inside.max())
    parts, _ = label(energy > 0.25 * peak)
    i, j = np.unravel_index(int(inside.argmax()), inside.shape)
    part = parts == parts[i + row // step, j + column // step]
    rows, columns = np.flatnonzero(part.any(axis=1)), np.flatnonzero(part.any(axis=0))
    middle = (min(row + b // 2, rest.shape[0] - 1), min(column + a // 2, rest.shape[1] - 1))
    wide = (columns[-1] - columns[0] + 1) * step * pitch[0] * sight.deg_right[middle]
    high = (rows[-1] - rows[0] + 1) * step * pitch[1] * sight.deg_up[middle]
    return float(wide), float(high)
