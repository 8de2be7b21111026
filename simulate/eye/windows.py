"""Windows over a pattern, and what waves are in each: the components of its spectrum with their modulations.

Windows of one side overlap by half and reach a quarter of their size beyond the picture's edges, where the pattern goes on by reflection:
a window's taper does not hide the last centimetres.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from .pattern import distinct, thinned
from .scipy_parts import scipy_parts

PERIODS = 3.0  # a component must have as many in its window
FINEST = 0.35  # cycles a sample: finer waves are left to smaller windows
_SAMPLES = 48  # samples along a window's longer side
_COMPONENTS = 8
_FAINT = 0.005  # share of the strongest component's energy below which no more are looked for
_NEAR = 2  # bins around a peak that belong to it: the main lobe of the taper is +-1.5 bins wide
_CREST = 2.1  # peak over sqrt(2) rms of many waves of random phase, about 3 sigma


class Windows(NamedTuple):
    """Windows of one side: first rows and columns in the map (w,), size (rows, columns) in cells of it, step between samples.

    Rows, columns and sizes are whole steps; windows reach up to a quarter of their size beyond the map.
    """

    row: np.ndarray
    column: np.ndarray
    size: tuple[int, int]
    step: int

    def samples(self, rest: np.ndarray, which: np.ndarray) -> np.ndarray:
        """The pattern (rows, columns) in some windows, thinned by means over blocks: (w, rows, columns). Source: definition."""
        thin = thinned(rest, self.step)
        rows, columns = (
            _mirrored(first[which, None] // self.step + np.arange(n // self.step), limit)
            for first, n, limit in zip((self.row, self.column), self.size, thin.shape, strict=True)
        )
        return thin[rows[:, :, None], columns[:, None, :]]


def _mirrored(index: np.ndarray, count: int) -> np.ndarray:
    """Indices beyond 0 ... count - 1 by reflection at the edges. Source: definition."""
    index = np.where(index < 0, -1 - index, index)
    return np.where(index >= count, 2 * count - 1 - index, index)


def _periods(count: int) -> np.ndarray:
    """Periods (count,) of a transform's rows: 0, 1, 2 ... and the negative ones. Source: definition."""
    return (np.arange(count) + count // 2) % count - count // 2


@lru_cache(maxsize=64)
def layout(shape: tuple[int, int], side: float) -> Windows | None:
    """Windows of a side, a share of the picture's, that overlap by half and reach a quarter of their size beyond the edges; None: too few cells.

    shape  (rows, columns) of the map; long windows are thinned
    Source: definition.
    """
    b, a = round(shape[0] * side), round(shape[1] * side)
    if min(a, b) < 12:
        return None
    step = max(1, a // _SAMPLES)
    b, a = b // step, a // step
    first = [
        distinct(np.linspace(-m, n - size + m, int(np.ceil((n - size + 2 * m) / (0.5 * size))) + 1).astype(int))
        for n, size, m in zip((-(-shape[0] // step), -(-shape[1] // step)), (b, a), (b // 4, a // 4), strict=True)
    ]
    row, column = (g.ravel() * step for g in np.meshgrid(*first, indexing="ij"))
    row.flags.writeable = column.flags.writeable = False
    return Windows(row, column, (b * step, a * step), step)


class Spectra(NamedTuple):
    """Power (w, rows, half columns) of tapered windows; half peak-to-peak and tapered rms (w,) of them.

    Bins with fewer than three periods, too fine ones, and the doubles of column 0 are nought.
    Source: Parseval; the energy in the main lobe of a Hann taper does not depend on where between two bins a wave falls.
    """

    power: np.ndarray
    columns: int
    half: np.ndarray
    rms: np.ndarray

    @staticmethod
    def of(samples: np.ndarray) -> Spectra:
        """Of windows (w, rows, columns). Source: see the class."""
        x = samples - samples.mean(axis=(1, 2), keepdims=True)
        _, b, a = x.shape
        taper = np.outer(np.hanning(b + 2)[1:-1], np.hanning(a + 2)[1:-1]).astype(x.dtype)
        half = 0.5 * (x.max(axis=(1, 2)) - x.min(axis=(1, 2)))
        x *= taper
        square = float((taper**2).sum())
        rms = np.sqrt(np.einsum("wij,wij->w", x, x) / square)
        spectrum = scipy_parts().rfft2(x)
        power = (spectrum.real**2 + spectrum.imag**2) / np.float32(b * a * square)
        fy, fx = _periods(b), np.arange(power.shape[2])
        counts = np.maximum(np.abs(fy)[:, None], fx) >= PERIODS - 1.01  # a lobe at 3 begins at 2
        counts &= np.maximum(np.abs(fy)[:, None] / b, fx / a) <= FINEST
        counts[b // 2 + 1 :, 0] = False
        power *= counts.astype(power.dtype)
        return Spectra(power, a, half, rms)

    def share(self, amplitude: np.ndarray) -> np.ndarray:
        """Share of the windows' energy that components of amplitudes (w, n) hold (w,), at most 1. Source: Parseval."""
        return np.minimum(0.5 * (amplitude**2).sum(axis=1) / np.maximum(self.rms**2, 1e-30), 1.0)

    def excess(self, amplitude: np.ndarray) -> np.ndarray:
        """What the peak adds to components of amplitudes (w, n): factor (w,), at least 1.

        Half peak-to-peak over what even waves of the same energy would show. One even wave shows sqrt(2) rms; n like waves of
        random phase sqrt(n) times that, but hardly more than _CREST. The components get of it their share in the energy.
        Source: derived; it makes m of a single wave exactly half peak-to-peak in the window, and leaves a mix at its energy.
        """
        square = amplitude**2
        total = square.sum(axis=1)
        waves = total**2 / np.maximum((square**2).sum(axis=1), 1e-30)
        shown = np.sqrt(2.0) * self.rms * np.clip(np.sqrt(waves), 1.0, _CREST)
        return 1.0 + self.share(amplitude) * np.maximum(self.half / np.maximum(shown, 1e-30) - 1.0, 0.0)

    def components(self) -> tuple[np.ndarray, np.ndarray]:
        """Amplitudes (w, n) and periods across and along (w, n, 2) of the strongest components of the windows.

        Source: see the class; components of fewer than three periods get no amplitude.
        """
        count, b, width = self.power.shape
        fy = _periods(b)
        amplitude, along_x, along_y = (np.zeros((count, _COMPONENTS)) for _ in range(3))
        rest, each = self.power.reshape(count, -1).copy(), np.arange(count)[:, None, None]
        near_y, near_x = np.meshgrid(np.arange(-_NEAR, _NEAR + 1), np.arange(-_NEAR, _NEAR + 1), indexing="ij")
        for n in range(_COMPONENTS):
            best = rest.argmax(axis=1)
            rows = fy[best // width][:, None, None] + near_y
            columns = (best % width)[:, None, None] + near_x
            # a real signal's spectrum is even: each wave is kept once, in the half with columns > 0 or, in column 0, rows >= 0
            mirrored = (columns < 0) | (columns >= width) | ((columns == 0) & (rows < 0))
            spots = np.where(mirrored, -rows, rows) % b * width + np.where(
                columns < 0, -columns, np.minimum(columns, self.columns - columns)
            )
            energy = 2.0 * rest[each, spots]
            whole = energy.sum(axis=(1, 2))
            if not (whole > _FAINT * amplitude[:, 0] ** 2).any():
                break
            share = energy / np.maximum(whole, 1e-30)[:, None, None]
            amplitude[:, n] = np.sqrt(2.0 * whole)
            along_x[:, n] = (share * columns).sum(axis=(1, 2))
            along_y[:, n] = (share * rows).sum(axis=(1, 2))
            rest[each, spots] = 0.0
        counted = np.maximum(np.abs(along_x), np.abs(along_y)) >= PERIODS * 0.97
        return np.where(counted, amplitude, 0.0), np.stack([along_x, along_y], axis=-1)
