"""Octave bands, the air of a living room, and coefficients by band from a table that lacks some."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from ...materials.finish_table import BANDS_HZ

Array = npt.NDArray[np.float64]

BANDS = np.array(BANDS_HZ, float)
TABLED = (125, 250, 500, 1000, 2000, 4000)
"""Bands that published tables of absorption hold [Hz]."""
MID = (BANDS_HZ.index(500), BANDS_HZ.index(1000))
"""Places of the two bands whose mean is the mid-band reverberation time. Source: ISO 3382-1 (from memory)."""

SPEED_M_S = 343.2
DENSITY_KG_M3 = 1.204
VISCOSITY_PA_S = 1.813e-5
"""Of air at 20 degrees and 101.325 kPa. Source: ISO 9613-1 for the first; the others from memory, CRC Handbook."""
IMPEDANCE_PA_S_M = DENSITY_KG_M3 * SPEED_M_S


def by_band(table: Mapping[int, float]) -> Array:
    """Absorption coefficients [1] in all eight bands, (8,), from those that a table holds.

    A band between two known ones lies on the straight line against the logarithm of frequency; beyond the ends the end value holds.
    raises  ValueError for an empty table
    Source: our own choice; published tables end at 125 and 4000 Hz.
    """
    if not table:
        raise ValueError("no band is known")
    known = sorted(table)
    return np.interp(np.log(BANDS), np.log(known), [table[band] for band in known])


def held(table: Mapping[int, float]) -> tuple[int, ...]:
    """Bands from 125 to 4000 Hz that `by_band` has to fill in [Hz]."""
    return tuple(band for band in TABLED if band not in table)


def mid(values: Array) -> Array:
    """Mean over 500 and 1000 Hz of values by band (..., 8), unit kept. Source: ISO 3382-1 (from memory)."""
    return np.asarray(values)[..., list(MID)].mean(axis=-1)
