"""What a row of `FabricArrays.lobes` holds: the family of its lobe, and the columns by name.

The meaning of p0 to p2, and the formulas, stand at the head of the family's file (see rows.py).
"""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple


class Family(IntEnum):
    """The families of lobes; those up to COSINE_POWER are plain functions of the deviation from an axis, MEASURED a tabled one."""

    GAUSSIAN = 1
    PLATEAU = 2
    COSINE_POWER = 3
    MEASURED = 4
    GGX = 5
    ELLIPSE = 7
    ROUGH = 8
    HOLES = 9
    GROOVE = 10


class LobeRow(NamedTuple):
    """One lobe as numbers.

    family  Family
    axis    +1: about the mirror direction, -1: about the incoming one
    gain    height on the axis at normal incidence [1]
    p0..p2  parameters of the family
    fall    q of the entrance fall-off exp(-q (sin^2 ti + sin^2 to)) [1]; 0: none
    albedo  of the lobe with gain 1 at normal incidence [1], by which the sampler picks
    """

    family: int
    axis: float
    gain: float
    p0: float = 0.0
    p1: float = 0.0
    p2: float = 0.0
    fall: float = 0.0
    albedo: float = 0.0


# Columns of the array of rows: kernels index by these names
FAMILY, AXIS, GAIN, P0, P1, P2, FALL, ALBEDO = range(len(LobeRow._fields))
