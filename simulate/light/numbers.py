"""Random numbers by address: the same (seed, replication, start, path, dimension) gives the same number on any thread.

The first DIMENSIONS numbers of a path come from one Owen-scrambled Sobol sequence per (replication, start); later ones, which
matter little, from a hash of the address.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel

DIMENSIONS = 16
LANES = 256  # paths of a block, a power of two: those of aligned blocks differ in their low bits alone

# Primitive polynomials (degree s, coefficients a) and initial numbers m of dimensions 2 to 16.
# Source: Joe and Kuo, SIAM J. Sci. Comput. 30, 2635 (2008), their table of 21201 dimensions; tested against scipy's own copy.
_POLYNOMIALS = (
    (1, 0, (1,)),
    (2, 1, (1, 3)),
    (3, 1, (1, 3, 1)),
    (3, 2, (1, 1, 1)),
    (4, 1, (1, 1, 3, 3)),
    (4, 4, (1, 3, 5, 13)),
    (5, 2, (1, 1, 5, 5, 17)),
    (5, 4, (1, 1, 5, 5, 5)),
    (5, 7, (1, 1, 7, 11, 19)),
    (5, 11, (1, 1, 5, 1, 1)),
    (5, 13, (1, 1, 1, 3, 11)),
    (5, 14, (1, 3, 5, 5, 31)),
    (6, 1, (1, 3, 3, 9, 7, 49)),
    (6, 13, (1, 1, 1, 15, 21, 21)),
    (6, 16, (1, 3, 1, 13, 27, 49)),
)


def direction_numbers() -> np.ndarray:
    """Sobol direction numbers, (DIMENSIONS, 32) uint32, most significant bit first.

    Source: the recurrence of Bratley and Fox, ACM TOMS 14, 88 (1988), with the numbers of Joe and Kuo (2008).
    """
    table = np.zeros((DIMENSIONS, 32), dtype=np.uint32)
    table[0] = [1 << (31 - bit) for bit in range(32)]
    for dimension, (s, a, m) in enumerate(_POLYNOMIALS, start=1):
        v = [m[i] << (31 - i) for i in range(s)]
        for i in range(s, 32):
            value = v[i - s] ^ (v[i - s] >> s)
            for k in range(1, s):
                if (a >> (s - 1 - k)) & 1:
                    value ^= v[i - k]
            v.append(value)
        table[dimension] = v
    table.flags.writeable = False
    return table


DIRECTIONS = direction_numbers()


def first_states() -> np.ndarray:
    """Unscrambled points 0 .. LANES - 1, (DIMENSIONS, LANES) uint32. Source: `move_to`."""
    index = np.arange(LANES, dtype=np.uint32)
    gray = index ^ (index >> np.uint32(1))
    table = np.zeros((DIMENSIONS, LANES), np.uint32)
    for bit in range(LANES.bit_length() - 1):
        table ^= np.where((gray >> np.uint32(bit)) & np.uint32(1), DIRECTIONS[:, bit : bit + 1], np.uint32(0))
    table.flags.writeable = False
    return table


STATES = first_states()


class SobolStream(NamedTuple):
    """One thread's place in the numbers of a cell.

    directions    (DIMENSIONS, 32) uint32 as `direction_numbers` gives them;  states (DIMENSIONS, LANES) as `first_states` does
    state, seeds  (DIMENSIONS,) uint32, scratch: Sobol state of a block's first path, and scrambling seeds
    """

    directions: np.ndarray
    states: np.ndarray
    state: np.ndarray
    seeds: np.ndarray


def sobol_stream() -> SobolStream:
    """A stream that has not begun."""
    return SobolStream(DIRECTIONS, STATES, np.empty(DIMENSIONS, np.uint32), np.empty(DIMENSIONS, np.uint32))


@kernel
def splitmix64(x):
    """One step of the SplitMix64 generator: state x (uint64) to 64 random bits.

    Source: Steele, Lea and Flood, OOPSLA 2014; known answers in the tests.
    """
    z = x + np.uint64(0x9E3779B97F4A7C15)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return z ^ (z >> np.uint64(31))


@kernel
def address(seed, a, b):
    """64 random bits of the address (seed, a, b): three chained steps.

    Source: derived from SplitMix64; a step is a bijection, so two addresses that differ in one part alone never share their bits.
    """
    return splitmix64(splitmix64(splitmix64(np.uint64(seed)) ^ np.uint64(a)) ^ np.uint64(b))


@kernel
def reversed_bits(x):
    """The 32 bits of x in reverse order. Source: five swaps, from single bits to halves (common practice, no source)."""
    x = ((x >> np.uint32(1)) & np.uint32(0x55555555)) | np.uint32((x & np.uint32(0x55555555)) << np.uint32(1))
    x = ((x >> np.uint32(2)) & np.uint32(0x33333333)) | np.uint32((x & np.uint32(0x33333333)) << np.uint32(2))
    x = ((x >> np.uint32(4)) & np.uint32(0x0F0F0F0F)) | np.uint32((x & np.uint32(0x0F0F0F0F)) << np.uint32(4))
    x = ((x >> np.uint32(8)) & np.uint32(0x00FF00FF)) | np.uint32((x & np.uint32(0x00FF00FF)) << np.uint32(8))
    return np.uint32((x >> np.uint32(16)) | np.uint32(x << np.uint32(16)))


@kernel
def owen_scrambled(x, seed):
    """Nested uniform (Owen) scrambling of the 32-bit fraction x by a hash.

    Source: Burley, "Practical hash-based Owen scrambling", JCGT 9(4), 2020, after Laine and Karras (2011).
    """
    x = np.uint32(reversed_bits(np.uint32(x)) + seed)  # numba widens sums and products of uint32: narrow after each
    x ^= np.uint32(x * np.uint32(0x6C50B47C))
    x ^= np.uint32(x * np.uint32(0xB82F1E52))
    x ^= np.uint32(x * np.uint32(0xC7AFE638))
    x ^= np.uint32(x * np.uint32(0x8D22F6E6))
    return reversed_bits(np.uint32(x))


@kernel
def begin(stream, key):
    """Set a stream to a cell: scrambling seeds of all its dimensions; key  uint64, one per (seed, replication, start).

    Source: 32 bits of the dimension's address.
    """
    for d in range(stream.seeds.shape[0]):
        stream.seeds[d] = np.uint32(address(key, np.int64(d), np.int64(0x5EED)) >> np.uint64(32))


@kernel
def move_to(stream, block):
    """Set a stream to the paths from `block` on, a multiple of LANES.

    Source: Gray-code order (Antonov and Saleev 1979): the same points of every power of two.
    """
    state, directions = stream.state, stream.directions
    for d in range(state.shape[0]):
        state[d] = np.uint32(0)
    bit, gray = 0, block ^ (block >> 1)
    while gray > 0:
        if gray & 1:
            for d in range(state.shape[0]):
                state[d] ^= directions[d, bit]
        gray >>= 1
        bit += 1


@kernel
def numbers_of(stream, key, block, lane, dimension, count, out):
    """Numbers in (0, 1) [1] of paths block + lane[i] into out, for i below `count`; block  a multiple of LANES.

    Scrambled Sobol for the first dimensions, hashed by address beyond.
    stream  as `begin` and `move_to` leave it for key and block;  lane  int32, each below LANES
    Source: Owen (1995) for the scrambling; the half-step keeps 0 and 1 out. A point is the exclusive sum of what its index's bits
    bring, so that of a block's first path and that of the lane add up to a path's.
    """
    if dimension < stream.state.shape[0]:
        states, state, seed = stream.states[dimension], stream.state[dimension], stream.seeds[dimension]
        for i in range(count):
            x = owen_scrambled(np.uint32(states[np.uint32(lane[i])] ^ state), seed)
            out[i] = (np.float64(x) + 0.5) * (1.0 / 4294967296.0)
    else:
        for i in range(count):
            bits = address(key, block + lane[i], dimension) >> np.uint64(12)
            out[i] = (np.float64(bits) + 0.5) * (1.0 / 4503599627370496.0)
