"""Sobol points in base 2: direction numbers of the first dimensions."""

from __future__ import annotations

import numpy as np

DIMENSIONS = 16

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
