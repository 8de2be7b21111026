"""Random numbers by address: the same (seed, replication, start, path, dimension) gives the same number on any thread.

The first DIMENSIONS numbers of a path come from one randomly shifted lattice sequence per (replication, start); later ones, which
matter little, from a hash of the address.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel

DIMENSIONS = 16
LANES = 256  # paths of a block, a power of two: those of aligned blocks differ in their low bits alone

# Generating vector of the lattices: found component by component, by `python -m benchmarks.lattice`, for all powers of two of paths.
VECTOR = np.array(
    (1, 64807, 13801, 60341, 43397, 24399, 45577, 1013, 36925, 12017, 19119, 34715, 52365, 17239, 20281, 60047), np.uint32
)
VECTOR.flags.writeable = False


def reversed_lanes() -> np.ndarray:
    """Numbers 0 .. LANES - 1 with their bits in reverse order, as the leading bits of (LANES,) uint32. Source: definition."""
    bits = LANES.bit_length() - 1
    table = np.array([int(f"{i:0{bits}b}"[::-1], 2) << (32 - bits) for i in range(LANES)], np.uint32)
    table.flags.writeable = False
    return table


ORDER = reversed_lanes()


class LatticeStream(NamedTuple):
    """One thread's place in the numbers of a cell.

    vector  (DIMENSIONS,) uint32, generating vector, odd numbers
    order   (LANES,) uint32, as `reversed_lanes` gives it
    base    (1,) uint32, scratch: a block's first path with its bits in reverse order
    shifts  (DIMENSIONS,) uint32, scratch: random shift of each dimension in steps of 2^-32
    """

    vector: np.ndarray
    order: np.ndarray
    base: np.ndarray
    shifts: np.ndarray


def lattice_stream() -> LatticeStream:
    """A stream that has not begun."""
    return LatticeStream(VECTOR, ORDER, np.empty(1, np.uint32), np.empty(DIMENSIONS, np.uint32))


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
def begin(stream, key):
    """Set a stream to a cell: shifts of all its dimensions; key  uint64, one per (seed, replication, start).

    Source: 32 bits of the dimension's address.
    """
    for d in range(stream.shifts.shape[0]):
        stream.shifts[d] = np.uint32(address(key, np.int64(d), np.int64(0x5EED)) >> np.uint64(32))


@kernel
def move_to(stream, block):
    """Set a stream to the paths from `block` on, a multiple of LANES. Source: radical inverse of their number."""
    stream.base[0] = reversed_bits(np.uint32(block))


@kernel
def numbers_of(stream, key, block, lane, dimension, count, out):
    """Numbers in (0, 1) [1] of paths block + lane[i] into out, for i below `count`; block  a multiple of LANES.

    A shifted lattice sequence for the first dimensions, hashed by address beyond.
    stream  as `begin` and `move_to` leave it for key and block;  lane  int32, each below LANES
    Source: Cranley and Patterson, SIAM J. Numer. Anal. 13, 904 (1976), for the shift; Hickernell, Hong, L'Ecuyer and Lemieux,
    SIAM J. Sci. Comput. 22, 1117 (2000), for the sequence: path i takes the radical inverse of i times the vector, so that every
    power of two of the first paths is a lattice. The half-step keeps 0 and 1 out.
    """
    if dimension < stream.shifts.shape[0]:
        order, base = stream.order, stream.base[0]
        step, shift = stream.vector[dimension], stream.shifts[dimension]
        for i in range(count):
            x = np.uint32(np.uint32(np.uint32(order[np.uint32(lane[i])] + base) * step) + shift)
            out[i] = (np.float64(x) + 0.5) * (1.0 / 4294967296.0)
    else:
        for i in range(count):
            bits = address(key, block + lane[i], dimension) >> np.uint64(12)
            out[i] = (np.float64(bits) + 0.5) * (1.0 / 4503599627370496.0)
