"""Random numbers by address: against published answers and an independent Sobol generator."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.light.numbers import (
    DIMENSIONS,
    DIRECTIONS,
    LANES,
    begin,
    move_to,
    numbers_of,
    reversed_bits,
    sobol_stream,
    splitmix64,
)
from scipy.stats import qmc


def numbers(key: int, first: int, count: int, dimensions: int) -> np.ndarray:
    """(count, dimensions) numbers of paths first .. first + count - 1."""
    stream, out = sobol_stream(), np.empty((dimensions, count))
    begin(stream, np.uint64(key))
    for block in range(first - first % LANES, first + count, LANES):
        move_to(stream, block)
        low, high = max(first, block), min(first + count, block + LANES)
        lane = np.arange(low - block, high - block, dtype=np.int32)
        for d in range(dimensions):
            numbers_of(stream, np.uint64(key), block, lane, d, len(lane), out[d, low - first : high - first])
    return out.T


def test_splitmix64_known_answers() -> None:
    # Expected: first five outputs for the seed 1234567, as published with several implementations (from memory)
    state, step = 1234567, 0x9E3779B97F4A7C15
    answers = [6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821]
    for k, answer in enumerate(answers):
        assert int(splitmix64(np.uint64((state + k * step) % 2**64))) == answer


def test_direction_numbers_are_those_of_an_independent_generator() -> None:
    # Expected: scipy.stats.qmc.Sobol without scrambling, same dimensions (its own copy of the Joe-Kuo table)
    points = qmc.Sobol(DIMENSIONS, scramble=False, bits=32).random_base2(7)
    ours = np.empty_like(points)
    for i in range(len(points)):
        gray = i ^ (i >> 1)
        bits = [b for b in range(32) if gray >> b & 1]
        ours[i] = [np.bitwise_xor.reduce(DIRECTIONS[d, bits]) / 2.0**32 if bits else 0.0 for d in range(DIMENSIONS)]
    np.testing.assert_array_equal(ours, points)


def test_reversed_bits() -> None:
    for x in (1, 0x80000000, 0x12345678, 0xFFFFFFFF):
        assert int(reversed_bits(np.uint32(x))) == int(f"{x:032b}"[::-1], 2)


@pytest.mark.parametrize("key", [1, 99, 2**63 + 5])
def test_scrambling_keeps_every_stratum_filled(key: int) -> None:
    # A (t, m, s) net stays one under nested scrambling (Owen 1995): each of 2^m intervals of one dimension holds one point,
    # and so do the cells of the first two dimensions (t = 0)
    points = numbers(key, 0, 256, DIMENSIONS)
    for d in range(DIMENSIONS):
        assert sorted((points[:, d] * 256).astype(int)) == list(range(256))
    cells = (points[:, 0] * 16).astype(int) * 16 + (points[:, 1] * 16).astype(int)
    assert sorted(cells) == list(range(256))


def test_a_path_can_be_replayed_alone() -> None:
    whole = numbers(7, 0, 3 * LANES, DIMENSIONS + 6)
    for first, count in ((63, 5), (LANES - 2, 4), (LANES, LANES), (1, 2 * LANES)):
        np.testing.assert_array_equal(numbers(7, first, count, DIMENSIONS + 6), whole[first : first + count])


def test_replications_are_uniform_and_uncorrelated() -> None:
    first = np.array([numbers(key, 0, 1, DIMENSIONS + 3)[0] for key in range(2000)])
    assert abs(first.mean() - 0.5) < 4 / np.sqrt(12 * first.size)
    correlation = np.corrcoef(first.T) - np.eye(first.shape[1])
    assert abs(correlation).max() < 4.5 / np.sqrt(2000)  # 171 pairs
