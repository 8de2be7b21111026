"""Single features - a crease, a step, the curl of an edge - by a matched filter on the noise of the eye.

An ideal observer who knows a pattern c and sees it in noise of density Phi detects it by the integral of |C|^2 M^2 T / (k^2 Phi)
over frequency, in squares of the threshold; for an even grating over a field X x Y this is (m S)^2 exactly (`detectability`).
Barten's bounds on what the eye puts together become a weight over places: waves of frequency u at a distance t from where one
looks count by (1 + (2 t / reach)^2)^(-3/2) in each axis, the only weight that gives his X(u) for a field of any width about that
place: its integral over -X0/2 ... X0/2 is (1 / X0^2 + 1 / reach^2)^(-1/2). A feature narrower than the reach then counts whole,
and a long one with his Y(u). Places are looked at all over the picture; the largest integral counts.

In numbers: cosine transforms continue the pattern beyond the picture's edges by reflection, bands of an octave of it are
weighed with the square root of the detectability, and energies of blocks within the picture are added with the weight.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from .barten import detectability, pupil_mm, reach_deg
from .extent import SHARE, part_about
from .pattern import distinct, sums_of_neighbours
from .scipy_parts import scipy_parts
from .sight import Angles, Grid, Sight

_BLOCK_DEG = 0.3  # side of a block: a sixth of the shortest reach that matters
_MOST_BLOCKS = 160
_LOWEST = 0.25  # middle of the lowest band [1/deg]: below it the reach changes no more
_SPACING = 2.0
_TABLE = 8192
_LEFT_OUT = 2e-3  # share of the squared ratio that the bands left out may hold at most
_SCALES = 1.08  # the upward scale may vary by this within a part of the picture that is transformed with one scale


class Feature(NamedTuple):
    """Where a matched filter answers most: ratio [1], mean frequency [1/deg], first row and column and size in cells of the map."""

    ratio: float
    cycles_per_deg: float
    row: float
    column: float
    rows: float
    columns: float


class FilterResponse(NamedTuple):
    """Squared answers of bands in blocks (rows, columns) of the picture, in squares of the threshold, for a full view of them.

    energy         by the middles of the bands [1/deg];  block_deg  (height, width) of a block [deg], the mean one
    scale          (rows, columns) height of a block over the mean one [1], in steps;  scales  the different ones
    row, column    edges of the blocks in cells of the map, (rows + 1,) and (columns + 1,)
    """

    energy: dict[float, np.ndarray]
    block_deg: tuple[float, float]
    scale: np.ndarray
    scales: np.ndarray
    row: np.ndarray
    column: np.ndarray


class Transformed(NamedTuple):
    """A pattern as the bands take it, before it is known how bright the picture is.

    spectrum   cosine transform (rows, columns) of cells of pitch_deg (right, up) [deg], whole in blocks (rows, columns)
    known      (block rows, block columns) share of a block that is known [1]; None: all of it
    whole_deg  the picture [deg];  block_deg, scale, scales, row, column  as in `FilterResponse`
    """

    spectrum: np.ndarray
    pitch_deg: tuple[float, float]
    known: np.ndarray | None
    whole_deg: tuple[float, float]
    block_deg: tuple[float, float]
    scale: np.ndarray
    scales: np.ndarray
    row: np.ndarray
    column: np.ndarray


class _Angles(NamedTuple):
    """The pattern at even steps of visual angle: cells (rows, columns) of pitch (right, up) [deg], and where they lie in the map."""

    cells: np.ndarray
    pitch_deg: tuple[float, float]
    row: np.ndarray
    column: np.ndarray


def answers(rest: np.ndarray, good: np.ndarray | None, sight: Sight, grid: Grid) -> FilterResponse:
    """Answers of all bands in all places.

    rest  (rows, columns) pattern less its smooth part [1], holes filled;  good  where it was known; None: everywhere
    Source: head of this file.
    """
    return answers_at(transformed(rest, good, sight.angles, grid), sight.luminance_cd_m2)


def transformed(rest: np.ndarray, good: np.ndarray | None, angles: Angles, grid: Grid) -> Transformed:
    """What `answers` needs of a pattern whatever its luminance. Source: head of this file."""
    whole = grid.whole_deg(angles)
    blocks = _block_counts(rest.shape, whole)
    even = _at_even_angles(rest, angles, grid, blocks)
    scale = _scales(angles, even, blocks)
    known = None
    if good is not None:
        cells = _at_even_angles(good.astype(np.float32), angles, grid, blocks).cells
        known = cells.reshape(blocks[0], cells.shape[0] // blocks[0], blocks[1], -1).mean(axis=(1, 3))
    side = [len(places) * p / b for places, p, b in zip((even.row, even.column), even.pitch_deg[::-1], blocks, strict=True)]
    edges = [
        np.interp(np.arange(b + 1) * (len(places) / b) - 0.5, np.arange(len(places)), places + 0.5, left=0.0, right=float(n))
        for places, b, n in zip((even.row, even.column), blocks, rest.shape, strict=True)
    ]
    return Transformed(
        spectrum=scipy_parts().dctn(even.cells),
        pitch_deg=even.pitch_deg,
        known=known,
        whole_deg=whole,
        block_deg=(side[0], side[1]),
        scale=scale,
        scales=distinct(scale),
        row=edges[0],
        column=edges[1],
    )


def answers_at(pattern: Transformed, luminance_cd_m2: float) -> FilterResponse:
    """Answers of all bands in all places at a mean luminance of the picture [cd/m2]. Source: head of this file."""
    pupil = float(pupil_mm(luminance_cd_m2, *pattern.whole_deg))
    blocks = pattern.scale.shape
    energy: dict[float, np.ndarray] = {}
    for scale in pattern.scales:
        pitch = (pattern.pitch_deg[0], pattern.pitch_deg[1] * scale)
        for u, part in _band_energies(pattern.spectrum, pitch, blocks, luminance_cd_m2, pupil).items():
            energy[u] = energy.get(u, np.float32(0.0)) + part * (pattern.scale == scale)
    if pattern.known is not None:
        energy = {u: part * pattern.known for u, part in energy.items()}
    return FilterResponse(energy, pattern.block_deg, pattern.scale, pattern.scales, pattern.row, pattern.column)


def _block_counts(shape: tuple[int, int], whole: tuple[float, float]) -> tuple[int, int]:
    """Blocks up and across: about _BLOCK_DEG wide, two cells at least, and numbers that transforms like."""
    rows, columns = (int(np.clip(np.ceil(side / _BLOCK_DEG / 8.0), 1, _MOST_BLOCKS // 8)) * 8 for side in (whole[1], whole[0]))
    return min(rows, shape[0] // 2), min(columns, shape[1] // 2)


def _at_even_angles(values: np.ndarray, angles: Angles, grid: Grid, blocks: tuple[int, int]) -> _Angles:
    """The map at even steps of the angle to the right, row means of it, and of the angle up, column means; cells whole in blocks."""
    pitch = grid.pitch_m
    found = []
    for axis, step, count in (
        (0, angles.deg_up.mean(axis=1) * pitch[1], blocks[0]),
        (1, angles.deg_right.mean(axis=0) * pitch[0], blocks[1]),
    ):
        edges = np.concatenate([[0.0], np.cumsum(step)])
        fine = edges[-1] / max(float(step.min()), edges[-1] / len(step) / 1.6)  # as fine as the map where it is nearest
        cells = int(np.ceil(fine / count - 1e-6)) * count
        wanted = (np.arange(cells) + 0.5) / cells * edges[-1]
        place = np.interp(wanted, edges, np.arange(len(edges))) - 0.5
        values = _taken(values, place, axis)
        found.append((edges[-1] / cells, place))
    return _Angles(values, (float(found[1][0]), float(found[0][0])), found[0][1], found[1][1])


def _taken(values: np.ndarray, place: np.ndarray, axis: int) -> np.ndarray:
    """Values at fractional places along an axis by Catmull and Rom's cubic, continued by reflection."""
    last = values.shape[axis] - 1
    if len(place) == last + 1 and np.abs(place - np.arange(last + 1)).max() < 0.02:
        return values
    first = np.floor(place).astype(int)
    t = (place - first).astype(values.dtype)
    weights = (
        t * (-0.5 + t * (1.0 - 0.5 * t)),
        1.0 + t * t * (1.5 * t - 2.5),
        t * (0.5 + t * (2.0 - 1.5 * t)),
        t * t * (0.5 * t - 0.5),
    )
    shape = (-1, 1) if axis == 0 else (1, -1)
    total = np.zeros([len(place) if i == axis else n for i, n in enumerate(values.shape)], values.dtype)
    for k, weight in enumerate(weights):
        index = first + k - 1
        index = np.where(index < 0, -1 - index, index)
        index = np.where(index > last, 2 * last + 1 - index, index)
        total = total + np.take(values, index, axis=axis) * weight.reshape(shape).astype(values.dtype)
    return total


def _scales(angles: Angles, even: _Angles, blocks: tuple[int, int]) -> np.ndarray:
    """Upward scales of blocks (rows, columns) over the mean one of their row [1], in steps of a few percent.

    From a seat at the side a metre upwards takes up less angle at the far end of the picture; to the right the scale is the
    same in all rows within a few percent.
    """
    rows, columns = (
        np.clip(np.round(places.reshape(count, -1).mean(axis=1)), 0, limit - 1).astype(int)
        for places, count, limit in zip((even.row, even.column), blocks, angles.deg_up.shape, strict=True)
    )
    local = angles.deg_up[np.ix_(rows, columns)]
    relative = np.log(local / local.mean(axis=1, keepdims=True))
    low, spread = float(relative.min()), float(np.ptp(relative))
    count = max(1, int(np.ceil(spread / np.log(_SCALES))))
    steps = np.minimum(np.floor((relative - low) / max(spread, 1e-12) * count), count - 1)
    return np.exp(low + (steps + 0.5) * spread / count)


class _Bands(NamedTuple):
    """By the cells of a cosine transform: root of the detectability times a cell's area, and position among bands; middles [1/deg]."""

    counts: np.ndarray
    position: np.ndarray
    middles: np.ndarray


@lru_cache(maxsize=8)  # what a seat reads several clothes with
def _bands_of(shape: tuple[int, int], pitch_deg: tuple[float, float], luminance: float, pupil: float) -> _Bands:
    """Of a transform (rows, columns), by a table over the root of the frequency [1/deg]. Source: `detectability`, `reach_deg`."""
    rows, columns = shape
    across = (np.arange(columns) / (2.0 * columns * pitch_deg[0])).astype(np.float32) ** 2
    up = (np.arange(rows) / (2.0 * rows * pitch_deg[1])).astype(np.float32) ** 2
    top = float(np.sqrt(across[-1] + up[-1]))
    per_root = float((_TABLE - 1) / np.sqrt(top))
    u = (np.arange(_TABLE) / per_root) ** 2
    middles = _LOWEST * _SPACING ** np.arange(2 + max(0.0, np.ceil(np.log(top / _LOWEST) / np.log(_SPACING))))
    # between two middles shares are such that the mean of the squared reaches is the frequency's own
    position = np.interp(-(reach_deg(u) ** 2), -(reach_deg(middles) ** 2), np.arange(len(middles))).astype(np.float32)
    counts = np.sqrt(detectability(u, luminance_cd_m2=luminance, pupil=pupil) * (pitch_deg[0] * pitch_deg[1])).astype(np.float32)
    at = (np.sqrt(np.sqrt(across[None, :] + up[:, None])) * np.float32(per_root) + np.float32(0.5)).astype(np.int32)
    return _Bands(counts.take(at), position.take(at), middles)  # half the time of an index


def _band_energies(
    spectrum: np.ndarray, pitch_deg: tuple[float, float], blocks: tuple[int, int], luminance: float, pupil: float
) -> dict[float, np.ndarray]:
    """Squared answers (block rows, block columns) in squares of the threshold, by the middles of the bands [1/deg].

    spectrum  cosine transform of the cells (rows, columns)
    """
    rows, columns = spectrum.shape
    counts, positions, middles = _bands_of((rows, columns), pitch_deg, luminance, pupil)
    answer = spectrum * counts
    whole, left_out = float(np.vdot(answer, answer)), 1.0
    found: dict[float, np.ndarray] = {}
    for band, middle in enumerate(middles if whole > 0.0 else ()):
        top = middles[min(band + 1, len(middles) - 1)]
        keep = [min(n, int(np.ceil(2.0 * n * p * top)) + 1) for n, p in ((rows, pitch_deg[1]), (columns, pitch_deg[0]))]
        # a grid of whole blocks that holds the band; the transform of fewer points is the same wave at wider steps
        size = [min(n, int(np.ceil(k / b)) * b) for n, k, b in zip((rows, columns), keep, blocks, strict=True)]
        box = np.s_[: keep[0], : keep[1]]
        position, here = positions[box], answer[box]
        part = np.zeros(size, np.float32)
        part[box] = here * np.sqrt(np.maximum(1.0 - np.abs(position - np.float32(band)), 0.0))
        seen = scipy_parts().idctn(part)
        seen *= seen
        by_row = seen.reshape(blocks[0], size[0] // blocks[0], size[1]).sum(axis=1)
        found[float(middle)] = sums_of_neighbours(by_row, size[1] // blocks[1])
        if left_out <= _LEFT_OUT:
            break
        below = here[position < np.float32(band + 1)]  # all of it lies in the box: the rest is in bands from the next one on
        left_out = 1.0 - float(np.vdot(below, below)) / whole
    return found


def single_feature(found: FilterResponse) -> Feature:
    """The place with the largest sum over blocks, each band with the weight of its reach, and the box of what counts there.

    Source: head of this file.
    """
    nothing = Feature(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    if not found.energy:
        return nothing
    counts = (len(found.row) - 1, len(found.column) - 1)
    total, parts = np.zeros((2 * counts[0] + 1, 2 * counts[1] + 1)), {}
    weights = {}
    for u, energy in found.energy.items():
        across = _weights(u, counts[1], found.block_deg[1])
        up = {scale: _weights(u, counts[0], found.block_deg[0] * scale) for scale in found.scales}
        parts[u] = sum(w @ np.where(found.scale == scale, energy, np.float32(0.0)) for scale, w in up.items()) @ across.T
        weights[u] = up, across
        total += parts[u]
    row, column = np.unravel_index(int(total.argmax()), total.shape)
    square = float(total[row, column])
    if square <= 0.0:
        return nothing
    mean = sum(u * float(part[row, column]) for u, part in parts.items()) / square
    counted = np.zeros(counts)
    for u, energy in found.energy.items():
        up, across = weights[u]
        for scale, w in up.items():
            counted += np.where(found.scale == scale, energy, 0.0) * np.outer(w[row], across[column])
    return Feature(float(np.sqrt(square)), mean, *_box(counted, found))


@lru_cache(maxsize=64)  # what a seat reads several clothes with
def _weights(cycles_per_deg: float, count: int, block_deg: float) -> np.ndarray:
    """Weights of blocks along an axis seen from their edges and middles, (2 count + 1, count). Source: head of this file.

    Means over blocks: t (1 + (2 t / reach)^2)^(-1/2) is the weight's integral.
    """
    half = np.arange(-2 * count, 2 * count + 1)  # halves of a block from where one looks to a block's edge
    edge = block_deg * (0.5 * half)
    whole = edge / np.sqrt(1.0 + (2.0 * edge / reach_deg(cycles_per_deg)) ** 2)
    block = np.concatenate([np.zeros(2), (whole[2:] - whole[:-2]) / block_deg]).astype(np.float32)
    return block[np.subtract.outer(np.arange(2 * count + 1), 2 * np.arange(count) - 2 * count)]


def _box(energy: np.ndarray, found: FilterResponse) -> tuple[float, float, float, float]:
    """First row and column, rows and columns in cells of the map, of the connected part about the peak that exceeds half its answer."""
    mask = energy > SHARE * energy.max()
    row, column = np.unravel_index(int(energy.argmax()), energy.shape)
    box = np.empty(4, np.int64)
    part_about(mask, int(row), int(column), True, np.empty(mask.size, np.int64), box)
    top, bottom, left, right = box.tolist()
    low, high = found.row[[top, bottom + 1]].tolist()
    first, last = found.column[[left, right + 1]].tolist()
    return low, first, high - low, last - first
