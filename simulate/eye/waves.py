"""Waves over threshold: the worst of overlapping windows of many sizes, each judged by the strongest components in it.

In a window the spectrum is split into its strongest components; only those with at least three periods count. A component's
modulation m is half peak-to-peak over mean: its energy in the window gives the amplitude of an even wave, and what the peak has
over that (a wave that grows across the window) is put on top. The components must hold half of the window's energy, and the
field where the wave exceeds half its peak two periods: else it is a single feature, which single.py judges. Windows are compared
by (sum (m S)^3.5)^(1/3.5), S the contrast sensitivity at the seat for that field.

Few windows are transformed. The matched filter's answers tell how much energy, in thresholds, each band has in each place, so
what a window will read is estimated from sums over blocks. Only sides that may win are looked at, the most promising one first,
and in each only the windows with the largest estimates and the best ones of every part of the picture.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from .barten import contrast_sensitivity, reach_deg
from .extent import extent_of, extent_scratch
from .pattern import distinct
from .sight import Grid, Sight
from .single import FilterResponse
from .windows import FINEST, PERIODS, Spectra, Windows, layout

BETA = 3.5  # probability summation over channels. Source: Quick (1974), 3 to 4 (from memory)
SIDES = tuple(2.0 ** (-0.5 * i) for i in range(9))  # window sides as shares of the picture's
_ALIKE = 0.95  # windows this near to the worst one are as bad; the smallest of them tells the place
_LOOKED_AT = 16  # windows of a side that are looked at, those with the largest estimates
_PARTS = 3  # parts of the picture's width and height in each of which the best window is looked at too
_TRIED = 4  # of these, the worst ones whose field is measured
_LEAST_SHARE = 0.5  # of a window's energy that components must hold: else it is no window of waves
_PERIODS_IN_FIELD = 2.0  # a pattern with fewer where it exceeds half its peak is a single feature
_SLACK = 1.1  # a window may read this much more than its estimate in its field, or it is not looked at
_MOST_OVER = 1.2  # a window's ratio over its estimate at most
_INNER = 0.55  # share of a window's side over which an estimate is taken: its taper is wide open there


class SeenWave(NamedTuple):
    """The worst window: ratio and modulation [1], frequency [1/deg], field [deg], and its box in cells of the map."""

    ratio: float
    modulation: float
    cycles_per_deg: float
    field_deg: tuple[float, float]
    row: float
    column: float
    rows: float
    columns: float


class _Level(NamedTuple):
    """The worst window of one side: its number, its components, its field [deg] and its ratio [1]."""

    windows: Windows
    window: int
    modulation: np.ndarray
    cycles_per_deg: np.ndarray
    field_deg: tuple[float, float]
    ratio: float


class Search:
    """A search for the worst window of one pattern.

    rest   (rows, columns) pattern less its smooth part [1], float32, holes filled;  found  the matched filter's answers to it
    """

    def __init__(self, rest: np.ndarray, sight: Sight, grid: Grid, found: FilterResponse) -> None:
        self.rest, self.sight, self.grid, self.found = rest, sight, grid, found
        self.whole_deg = grid.whole_deg(sight)
        self.levels = [windows for windows in (layout(rest.shape, side) for side in SIDES) if windows is not None]
        self.bands = np.array(list(found.energy))
        self.counts = [self._counted(windows) for windows in self.levels]
        area = found.block_deg[0] * found.block_deg[1]
        counted = np.array([_counted(u, self.whole_deg) / area for u in self.bands])
        self.energy = np.stack(list(found.energy.values()))
        self.scratch = extent_scratch(*self.energy.shape[1:])
        weighed = self.energy * counted[:, None, None]
        self.sums = np.pad(weighed.cumsum(axis=1, dtype=float).cumsum(axis=2), ((0, 0), (1, 0), (1, 0)))
        self.estimates = self._estimates()

    def _estimates(self) -> list[np.ndarray]:
        """Ratios [1] that the windows of each side will read, the whole picture taken as the field: energies about their middles."""
        spans = []
        for axis, edges in enumerate((self.found.row, self.found.column)):
            first = np.concatenate([(w.row, w.column)[axis] + 0.5 * (1.0 - _INNER) * w.size[axis] for w in self.levels])
            size = np.concatenate([np.full(len(w.row), _INNER * w.size[axis]) for w in self.levels])
            low = _within(np.searchsorted(edges, first), 0, len(edges) - 2)
            spans.append((low, _within(np.searchsorted(edges, first + size), low + 1, len(edges) - 1)))
        (top, bottom), (left, right) = spans
        total = self.sums[:, bottom, right] - self.sums[:, top, right] - self.sums[:, bottom, left] + self.sums[:, top, left]
        total /= (bottom - top) * (right - left)
        cuts = np.cumsum([len(w.row) for w in self.levels])[:-1]
        return [
            np.sqrt(np.maximum(part[counts].sum(axis=0), 0.0))
            for counts, part in zip(self.counts, np.split(total, cuts, axis=1), strict=True)
        ]

    def _counted(self, windows: Windows) -> np.ndarray:
        """True for the bands (bands,) that may hold waves which a window counts. Source: a band reaches an octave to either side."""
        across = self.found.block_deg[1] * windows.size[1] / float(np.diff(self.found.column).min())
        finest = FINEST * windows.size[1] / windows.step
        return (self.bands >= 0.5 * PERIODS / across) & (self.bands <= 2.0 * finest / across)

    def field(self, k: int, window: int, period_deg: tuple[float, float] | None = None) -> tuple[slice, slice]:
        """Rows and columns of blocks of the connected part round a window of side k where the local amplitude exceeds half its peak.

        period_deg  of the wave to the right and up [deg]: the amplitude is that of the bands which the window counts, over a
        period, at most a third of the window; None: over a third of the window
        """
        windows = self.levels[k]
        size, inside = [], []
        periods = (np.inf, np.inf) if period_deg is None else period_deg[::-1]
        edges_of = (self.found.row, self.found.column)
        for first, n, edges, period, side in zip(
            (windows.row, windows.column), windows.size, edges_of, periods, self.found.block_deg, strict=True
        ):
            size.append(max(1, round(min(n / 3.0 * (len(edges) - 1) / edges[-1], period / side))))
            low, high = np.searchsorted(edges, (first[window], first[window] + n)).tolist()
            low = min(max(low, 0), len(edges) - 2)
            inside += [low, max(min(high, len(edges) - 1), low + 1)]
        box = np.empty(4, np.int64)
        extent_of(self.energy, self.counts[k], tuple(size), tuple(inside), self.scratch, box)
        top, bottom, left, right = box.tolist()
        return slice(top, bottom + 1), slice(left, right + 1)

    def degrees(self, field: tuple[slice, slice]) -> tuple[float, float]:
        """Width and height [deg] of rows and columns of blocks. Source: definition."""
        high, wide = self.found.block_deg
        return (field[1].stop - field[1].start) * wide, (field[0].stop - field[0].start) * high

    def _middles(self, windows: Windows) -> tuple[np.ndarray, np.ndarray]:
        """Rows and columns of blocks (w,) that windows' middles lie in. Source: definition."""
        return tuple(  # type: ignore[return-value]
            _within(np.searchsorted(edges, first + 0.5 * n) - 1, 0, len(edges) - 2)
            for first, n, edges in zip(
                (windows.row, windows.column), windows.size, (self.found.row, self.found.column), strict=True
            )
        )

    def promise(self, k: int) -> float:
        """What the windows of side k will read [1]: the one with the largest estimate in its own field, those beyond it in any.

        Source: Barten's X Y of both fields.
        """
        estimate, windows = self.estimates[k], self.levels[k]
        first = int(estimate.argmax())
        field = self.field(k, first)
        bands = self.bands[self.counts[k]]
        side = self.degrees(field)
        smaller = max((_counted(u, side) / _counted(u, self.whole_deg) for u in bands), default=0.0)
        row, column = self._middles(windows)
        beyond = (row < field[0].start) | (row >= field[0].stop) | (column < field[1].start) | (column >= field[1].stop)
        return max(float(estimate[first]) * float(np.sqrt(smaller)), float(estimate[beyond].max(initial=0.0)))

    def likely(self, k: int) -> np.ndarray:
        """Windows (w,) of side k to look at: those with the largest estimates, and the best one of every part of the picture."""
        order = np.argsort(-self.estimates[k], kind="stable")
        row, column = (at[order] * _PARTS // n for at, n in zip(self._middles(self.levels[k]), self.sums.shape[1:], strict=True))
        _, best = np.unique(row * _PARTS + column, return_index=True)
        return order[distinct(np.concatenate([np.arange(min(_LOOKED_AT, len(order))), best]))]

    def worst_of(self, k: int, which: np.ndarray | None = None) -> _Level:
        """The worst of some windows (indices) of side k; None: of the likely ones. Source: head of this file."""
        windows = self.levels[k]
        if which is None:
            which = self.likely(k)
        across, along = _degrees(windows, which, self.sight, self.grid)
        spectra = Spectra.of(windows.samples(self.rest, which))
        amplitude, periods = spectra.components()
        modulation = amplitude * spectra.excess(amplitude)[:, None]
        modulation[spectra.share(amplitude) < _LEAST_SHARE] = 0.0
        ways = np.abs(periods) / np.stack([across, along], axis=1)[:, None, :]  # cycles a degree to the right and up
        frequency = np.hypot(ways[..., 0], ways[..., 1])
        # no window reads more than the energy about its middle warrants, whatever the rest of it adds to its peak
        most = _MOST_OVER * self.estimates[k][which]
        ratios = np.minimum(self._summed(modulation, frequency, self.whole_deg), most)
        for worst in np.argsort(-ratios, kind="stable")[:_TRIED]:
            if ratios[worst] <= 0.0:
                break
            way = ways[worst, int(np.argmax(modulation[worst]))]
            field = self.degrees(self.field(k, int(which[worst]), tuple(1.0 / np.maximum(way, 1e-9))))
            if max(way * field) >= _PERIODS_IN_FIELD:
                ratio = min(float(self._summed(modulation[worst], frequency[worst], field)), float(most[worst]))
                return _Level(windows, int(which[worst]), modulation[worst], frequency[worst], field, ratio)
        return _Level(windows, int(which[0]), np.zeros(1), np.zeros(1), self.whole_deg, 0.0)

    def _summed(self, modulation: np.ndarray, cycles_per_deg: np.ndarray, field: tuple[float, float]) -> np.ndarray:
        """(sum (m S)^beta)^(1 / beta) over the last axis [1]. Source: head of this file."""
        sensitivity = contrast_sensitivity(
            cycles_per_deg, luminance_cd_m2=self.sight.luminance_cd_m2, width_deg=field[0], height_deg=field[1]
        )
        return ((modulation * sensitivity) ** BETA).sum(axis=-1) ** (1.0 / BETA)


def worst_wave(rest: np.ndarray, sight: Sight, grid: Grid, found: FilterResponse, least: float) -> SeenWave | None:
    """The worst window, if any is worse than `least` [1].

    rest   (rows, columns) pattern less its smooth part [1], float32, holes filled;  found  the matched filter's answers to it
    Source: head of this file; field of Barten's formula: where the wave exceeds half its peak (the project's own choice).
    """
    search = Search(rest, sight, grid, found)
    promises = {k: search.promise(k) for k, each in enumerate(search.estimates) if _SLACK * each.max() > least}
    judged: dict[int, _Level] = {}
    for k in sorted(promises, key=lambda each: -promises[each]):
        if _SLACK * promises[k] > max([least, *(_ALIKE * each.ratio for each in judged.values())]):
            judged[k] = search.worst_of(k)
    if not judged:
        return None
    most = max(each.ratio for each in judged.values())
    if most <= least:
        return None
    # peak to peak is the same in every window that holds the peak: the smallest of them tells the place
    level = judged[max(k for k, each in judged.items() if each.ratio >= _ALIKE * most)]
    strongest = int(np.argmax(level.modulation))
    rows, columns = level.windows.size
    return SeenWave(
        most,
        float(level.modulation[strongest]),
        float(level.cycles_per_deg[strongest]),
        level.field_deg,
        float(level.windows.row[level.window]),
        float(level.windows.column[level.window]),
        float(rows),
        float(columns),
    )


def _within(values: np.ndarray, low: np.ndarray | int, high: int) -> np.ndarray:
    """np.clip for a few numbers: without its tests of the bounds a fifth of the time. Source: definition."""
    return np.minimum(np.maximum(values, low), high)


def _counted(cycles_per_deg: float, field_deg: tuple[float, float]) -> float:
    """Barten's X Y for a field [deg^2]. Source: `contrast_sensitivity`."""
    wide, high = field_deg
    beyond = 1.0 / float(reach_deg(cycles_per_deg)) ** 2
    return 1.0 / (math.sqrt(1.0 / wide**2 + beyond) * math.sqrt(1.0 / high**2 + beyond))


def _degrees(windows: Windows, which: np.ndarray, sight: Sight, grid: Grid) -> tuple[np.ndarray, np.ndarray]:
    """Angular width and height (w,) of some windows by the scale at their middles [deg]; beyond the edge by that at the edge."""
    rows, columns = windows.size
    last = sight.deg_up.shape[0] - 1, sight.deg_up.shape[1] - 1
    middle = _within(windows.row[which] + rows // 2, 0, last[0]), _within(windows.column[which] + columns // 2, 0, last[1])
    pitch = grid.pitch_m
    return columns * pitch[0] * sight.deg_right[middle], rows * pitch[1] * sight.deg_up[middle]
