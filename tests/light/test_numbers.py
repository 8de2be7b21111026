"""Random numbers by address: against published answers, exact arithmetic and what lattices are."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from halfgain.simulate.light.numbers import (
    DIMENSIONS,
    LANES,
    VECTOR,
    begin,
    lattice_stream,
    move_to,
    numbers_of,
    reversed_bits,
    splitmix64,
)


def numbers(key: int, first: int, count: int, dimensions: int) -> np.ndarray:
    """(count, dimensions) numbers of paths first .. first + count - 1."""
    stream, out = lattice_stream(), np.empty((dimensions, count))
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


def test_reversed_bits() -> None:
    for x in (1, 0x80000000, 0x12345678, 0xFFFFFFFF):
        assert int(reversed_bits(np.uint32(x))) == int(f"{x:032b}"[::-1], 2)


@pytest.mark.parametrize("first", [0, 5, LANES - 3, 7 * LANES + 11])
def test_paths_are_a_shifted_lattice_sequence(first: int) -> None:
    # Expected: fractional part of radical inverse times vector plus shift, in exact fractions; path 0 gives the shift
    shift, found = numbers(12, 0, 1, DIMENSIONS)[0], numbers(12, first, 9, DIMENSIONS)
    for i in range(9):
        inverse = Fraction(int(f"{first + i:032b}"[::-1], 2), 1 << 32)
        for d in range(DIMENSIONS):
            expected = (Fraction(shift[d]) + inverse * int(VECTOR[d])) % 1
            assert abs(Fraction(found[i, d]) - expected) < Fraction(1, 1 << 40), (i, d)


@pytest.mark.parametrize("key", [1, 99, 2**63 + 5])
@pytest.mark.parametrize("count", [32, 256, 2048])
def test_every_power_of_two_is_even_in_each_dimension(key: int, count: int) -> None:
    # each of 2^m intervals of one dimension holds one of the first 2^m points, and one of those of any later aligned block
    for first in (0, count, 3 * count):
        points = numbers(key, first, count, DIMENSIONS)
        for d in range(DIMENSIONS):
            assert sorted((points[:, d] * count).astype(int)) == list(range(count))


@pytest.mark.parametrize("bits", [4, 5, 6, 8, 10])
def test_the_first_direction_s_numbers_fill_the_square_evenly(bits: int) -> None:
    # Expected: the mean square by which a plane lattice errs for smooth periodic functions, against the best of all generators
    index, n = np.arange(1 << bits), 1 << bits

    def kernel(step: int) -> np.ndarray:
        x = index * (step % n) % n / n
        return np.asarray(x * x - x + 1.0 / 6.0)

    best = min(float(kernel(1) @ kernel(step)) for step in range(1, n, 2))
    assert float(kernel(int(VECTOR[0])) @ kernel(int(VECTOR[1]))) < 2.0 * best


@pytest.mark.parametrize(("count", "share"), [(64, 0.6), (512, 0.4)])
def test_what_two_directions_decide_errs_less_than_by_independent_numbers(count: int, share: float) -> None:
    # Expected: mean 1/4 of a function with edges of the first two directions' numbers; independent points err by sqrt(3/16 n)
    means = []
    for key in range(300):
        points = numbers(key, 0, count, 5)
        means.append(np.mean((points[:, 0] + points[:, 1] > 1.0) & (points[:, 3] + points[:, 4] > 1.0)))
    spread, independent = np.std(means), np.sqrt(3.0 / 16.0 / count)
    assert abs(np.mean(means) - 0.25) < 4.0 * spread / np.sqrt(300)
    assert spread < share * independent


def test_a_path_can_be_replayed_alone() -> None:
    whole = numbers(7, 0, 3 * LANES, DIMENSIONS + 6)
    for first, count in ((63, 5), (LANES - 2, 4), (LANES, LANES), (1, 2 * LANES)):
        np.testing.assert_array_equal(numbers(7, first, count, DIMENSIONS + 6), whole[first : first + count])


def test_replications_are_uniform_and_uncorrelated() -> None:
    first = np.array([numbers(key, 0, 1, DIMENSIONS + 3)[0] for key in range(2000)])
    assert abs(first.mean() - 0.5) < 4 / np.sqrt(12 * first.size)
    correlation = np.corrcoef(first.T) - np.eye(first.shape[1])
    assert abs(correlation).max() < 4.5 / np.sqrt(2000)  # 171 pairs
