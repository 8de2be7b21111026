"""How far a pattern goes on about a place: the connected part round it where what the eye makes of the pattern exceeds a share of its peak."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel

SHARE = 0.25  # of a peak's energy: half of its amplitude


class ExtentScratch(NamedTuple):
    """Room for blocks (rows, columns): energy, its means with rows and columns changed over, a mask, a row or column of sums, numbers of blocks."""

    energy: np.ndarray
    turned: np.ndarray
    mask: np.ndarray
    sums: np.ndarray
    waiting: np.ndarray


def extent_scratch(rows: int, columns: int) -> ExtentScratch:
    """For so many blocks. Source: definition."""
    energy, turned = np.empty((rows, columns), np.float32), np.empty((columns, rows), np.float32)
    return ExtentScratch(
        energy, turned, np.empty((rows, columns), bool), np.empty(max(rows, columns)), np.empty(rows * columns, np.int64)
    )


@kernel
def part_about(mask, row, column, corners, waiting, box):
    """First and last row, first and last column of the connected part of a mask that holds a place, into box (4,).

    mask     (rows, columns) bool, True at the place; the part is taken out of it
    corners  whether blocks that touch at a corner are connected;  waiting  room for as many numbers as there are blocks
    """
    rows, columns = mask.shape
    box[0], box[1], box[2], box[3] = row, row, column, column
    mask[row, column] = False
    waiting[0] = row * columns + column
    many = 1
    while many > 0:
        many -= 1
        i, j = waiting[many] // columns, waiting[many] % columns
        box[0], box[1] = min(box[0], i), max(box[1], i)
        box[2], box[3] = min(box[2], j), max(box[3], j)
        for k in range(max(i - 1, 0), min(i + 2, rows)):
            for m in range(max(j - 1, 0), min(j + 2, columns)):
                if mask[k, m] and (corners or k == i or m == j):
                    mask[k, m] = False
                    waiting[many] = k * columns + m
                    many += 1


@kernel
def _mirrored(index, count):
    """An index beyond 0 ... count - 1 by reflection at the edges. Source: definition."""
    if index < 0:
        return -1 - index
    return 2 * count - 1 - index if index >= count else index


@kernel
def _averaged(values, size, sums, turned):
    """Means of `size` neighbours along the first axis of values (n, m), continued by reflection, into turned (m, n); sums  room for m.

    Source: running sums, added in the order of scipy's uniform_filter1d, which leaves single numbers as they are.
    """
    count, lines = values.shape
    for j in range(lines):
        sums[j] = 0.0
    for i in range(1 - size, count):
        last = i - size // 2 + size - 1
        enters, leaves = _mirrored(last, count), _mirrored(last - size, count)
        for j in range(lines):
            sums[j] += np.float64(values[enters, j]) - (np.float64(values[leaves, j]) if i > 0 else 0.0)
        for j in range(lines if i >= 0 else 0):
            turned[j, i] = sums[j] / size if size > 1 else values[i, j]


@kernel
def extent_of(energy, counts, size, inside, scratch, box):
    """First and last row, first and last column of the connected part that exceeds SHARE of the peak, into box (4,); all where nothing counts.

    energy  (bands, rows, columns) float32, of which the bands that count (bands,) are added
    size    (rows, columns) of the boxes over which it is averaged
    inside  (top, bottom, left, right) rows and columns, the ends left out, in which the peak is sought
    scratch  an ExtentScratch for so many rows and columns
    """
    means, turned, mask, sums, waiting = scratch
    rows, columns = means.shape
    for i in range(rows):
        for j in range(columns):
            means[i, j] = 0.0
        for band in range(len(counts)):
            for j in range(columns if counts[band] else 0):
                means[i, j] += energy[band, i, j]
    _averaged(means, size[0], sums, turned)
    _averaged(turned, size[1], sums, means)
    row, column = inside[0], inside[2]
    for i in range(inside[0], inside[1]):
        for j in range(inside[2], inside[3]):
            if means[i, j] > means[row, column]:
                row, column = i, j
    least = np.float32(SHARE) * means[row, column]
    for i in range(rows):
        for j in range(columns):
            mask[i, j] = means[i, j] > least
    if mask[row, column]:
        part_about(mask, row, column, False, waiting, box)
    else:
        box[0], box[1], box[2], box[3] = 0, rows - 1, 0, columns - 1
