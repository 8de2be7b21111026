"""The connected part about a peak: scipy's own means over boxes and connected parts, to the last bit."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.eye.extent import SHARE, extent_of, extent_scratch, part_about
from scipy.ndimage import label, uniform_filter


def _box_of(part: np.ndarray) -> list[int]:
    rows, columns = part.any(axis=1).nonzero()[0], part.any(axis=0).nonzero()[0]
    return [int(rows[0]), int(rows[-1]), int(columns[0]), int(columns[-1])]


@pytest.mark.parametrize("corners", [False, True])
@pytest.mark.parametrize("shape", [(17, 24), (5, 40), (1, 9)])
def test_a_connected_part_is_scipys(shape: tuple[int, int], corners: bool) -> None:
    mask = np.random.default_rng(4).random(shape) < (0.45 if corners else 0.62)
    numbers, _ = label(mask, np.ones((3, 3)) if corners else None)
    for row, column in np.argwhere(mask)[::7]:
        box, left = np.empty(4, np.int64), mask.copy()
        part_about(left, int(row), int(column), corners, np.empty(mask.size, np.int64), box)
        part = numbers == numbers[row, column]
        assert box.tolist() == _box_of(part)
        assert np.array_equal(left, mask & ~part)


@pytest.mark.parametrize("size", [(1, 1), (1, 4), (3, 1), (4, 5), (7, 13)])
@pytest.mark.parametrize("seed", range(6))
def test_the_extent_is_that_of_scipys_means(size: tuple[int, int], seed: int) -> None:
    random = np.random.default_rng(seed)
    energy = (random.random((3, 21, 40)) ** 6).astype(np.float32)
    counts, inside = np.array([True, False, True]), (4, 15, 9, 30)
    box = np.empty(4, np.int64)
    scratch = extent_scratch(21, 40)
    extent_of(energy, counts, size, inside, scratch, box)
    means = uniform_filter(energy[0] + energy[2], size=size, mode="reflect")
    part = means[4:15, 9:30]
    i, j = np.unravel_index(int(part.argmax()), part.shape)
    numbers, _ = label(means > SHARE * part.max())
    assert np.array_equal(scratch.energy, means)
    assert box.tolist() == _box_of(numbers == numbers[4 + i, 9 + j])


def test_where_nothing_counts_the_extent_is_everything() -> None:
    box = np.empty(4, np.int64)
    extent_of(np.ones((2, 6, 8), np.float32), np.zeros(2, bool), (2, 2), (0, 3, 0, 3), extent_scratch(6, 8), box)
    assert box.tolist() == [0, 5, 0, 7]
