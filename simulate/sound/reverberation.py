"""Reverberation time by four published formulas, and which of them to trust in a room.

All take areas and absorption and give the time [s] in which sound falls by 60 dB. Shapes: bands last, (..., B).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from .bands import SPEED_M_S

Array = npt.NDArray[np.float64]

MOST_MEAN = 0.99
"""A mean coefficient above this counts as this, so that its logarithm stays finite: our own choice."""
LIVE = 0.2
"""Mean coefficient up to which Sabine serves: common practice (textbooks say 0.2 to 0.3)."""
UNEVEN = 1.1
"""Arau-Puchades over Eyring from which a room is called uneven: our own choice."""
SABINE, EYRING, ARAU, FITZROY = "Sabine", "Eyring", "Arau-Puchades", "Fitzroy"

VALIDITY = {
    SABINE: "even absorption, mean below about 0.2; it never falls to nought in a room that swallows everything",
    EYRING: "even absorption of any strength, sound from all sides",
    FITZROY: "rectangular rooms with uneven absorption; an arithmetic mean, so one hard pair of walls makes it far too long",
    ARAU: "rectangular rooms whose three pairs of walls absorb unlike amounts; a geometric mean of the pairs",
}
SOURCES = {
    SABINE: "W. C. Sabine, Collected Papers on Acoustics, 1922; 24 ln 10 V / (c (A + 4 m V))",
    EYRING: "C. F. Eyring, J. Acoust. Soc. Am. 1 (1930) 217; A becomes -S ln(1 - mean)",
    FITZROY: "D. Fitzroy, J. Acoust. Soc. Am. 31 (1959) 893; mean over the pairs of walls by area of Eyring's times",
    ARAU: "H. Arau-Puchades, Acustica 65 (1988) 163; geometric mean over the pairs by area of Eyring's times",
}


def sabine(volume_m3: float, absorption_m2: npt.ArrayLike, air_per_m: npt.ArrayLike = 0.0) -> Array:
    """Reverberation time [s] from the equivalent absorption area [m2].

    volume_m3   of air [m3];  air_per_m   energy lost per metre of air [1/m]
    Source: SOURCES.
    """
    return _time(volume_m3, np.asarray(absorption_m2, float), air_per_m)


def eyring(volume_m3: float, area_m2: float, absorption_m2: npt.ArrayLike, air_per_m: npt.ArrayLike = 0.0) -> Array:
    """Reverberation time [s]; area_m2 of all surfaces [m2], the rest as `sabine`. Source: SOURCES."""
    return _time(volume_m3, area_m2 * exponent(np.asarray(absorption_m2, float) / area_m2), air_per_m)


def exponent(mean: npt.ArrayLike) -> Array:
    """Eyring's absorption exponent, -ln(1 - mean) [1]. Source: SOURCES."""
    return np.asarray(-np.log1p(-np.minimum(np.asarray(mean, float), MOST_MEAN)))


def fitzroy(volume_m3: float, pairs_m2: Array, absorption_m2: Array, air_per_m: npt.ArrayLike = 0.0) -> Array:
    """Reverberation time [s]; areas (3,) and absorption (..., 3, B) [m2] of the three pairs of walls. Source: SOURCES."""
    return np.asarray((_weights(pairs_m2) * _of_pairs(volume_m3, pairs_m2, absorption_m2, air_per_m)).sum(axis=-2))


def arau_puchades(volume_m3: float, pairs_m2: Array, absorption_m2: Array, air_per_m: npt.ArrayLike = 0.0) -> Array:
    """Reverberation time [s], as `fitzroy`. Source: SOURCES."""
    times = _of_pairs(volume_m3, pairs_m2, absorption_m2, air_per_m)
    return np.asarray(np.exp((_weights(pairs_m2) * np.log(times)).sum(axis=-2)))


def unscattered(size_m: Array, pairs_m2: Array, absorption_m2: Array, air_per_m: npt.ArrayLike = 0.0) -> Array:
    """Reverberation time [s] of sound that stays in the plane of the two hardest pairs of walls, (..., B).

    size_m   of the room across, along and up, (3,) [m]; the rest as `fitzroy`
    The longest of the three planes. What late sound comes to in a room of bare flat walls with one soft pair, where nothing turns it out
    of the plane: three formulas for a mixed field fail there.
    Source: Eyring's steps with the mean free path pi S / U of a plane of area S and edge U (C. W. Kosten, Acustica 10 (1960) 245).
    """
    means = exponent(absorption_m2 / pairs_m2[:, None])
    times = []
    for a, b in ((0, 1), (0, 2), (1, 2)):
        path = math.pi * size_m[a] * size_m[b] / (2.0 * (size_m[a] + size_m[b]))
        mean = (size_m[b] * means[..., a, :] + size_m[a] * means[..., b, :]) / (size_m[a] + size_m[b])
        with np.errstate(divide="ignore"):
            times.append(6.0 * math.log(10.0) / SPEED_M_S / (mean / path + np.asarray(air_per_m, float)))
    return np.asarray(np.max(times, axis=0))


def all_four(volume_m3: float, pairs_m2: Array, absorption_m2: Array, air_per_m: npt.ArrayLike = 0.0) -> dict[str, Array]:
    """Each formula's time (..., B) [s], by name; arguments as `fitzroy`."""
    whole, area = absorption_m2.sum(axis=-2), float(pairs_m2.sum())
    return {
        SABINE: sabine(volume_m3, whole, air_per_m),
        EYRING: eyring(volume_m3, area, whole, air_per_m),
        ARAU: arau_puchades(volume_m3, pairs_m2, absorption_m2, air_per_m),
        FITZROY: fitzroy(volume_m3, pairs_m2, absorption_m2, air_per_m),
    }


def to_trust(times: dict[str, Array], mean: Array) -> npt.NDArray[np.str_]:
    """Name of the formula to trust, of the shape of its times.

    times   as `all_four`;  mean   absorption coefficient over all surfaces [1], the same shape
    Uneven rooms: Arau-Puchades. Even ones: Sabine where they are live, since tabled coefficients were read by his formula, else Eyring.
    Source: the formulas' own scope (VALIDITY); the limits are LIVE and UNEVEN.
    """
    even = np.where(mean <= LIVE, SABINE, EYRING)
    return np.where(times[ARAU] > UNEVEN * times[EYRING], ARAU, even)


def chosen(times: dict[str, Array], names: npt.NDArray[np.str_]) -> Array:
    """The times [s] of the formulas that `names` picks."""
    return np.select([names == name for name in times], list(times.values()))


def _weights(pairs_m2: Array) -> Array:
    return (pairs_m2 / pairs_m2.sum())[:, None]


def _of_pairs(volume_m3: float, pairs_m2: Array, absorption_m2: Array, air_per_m: npt.ArrayLike) -> Array:
    """Eyring's time [s] of a room that were all like one pair, (..., 3, B)."""
    means = absorption_m2 / pairs_m2[:, None]
    return _time(volume_m3, float(pairs_m2.sum()) * exponent(means), air_per_m)


def _time(volume_m3: float, absorbing_m2: Array, air_per_m: npt.ArrayLike) -> Array:
    """24 ln 10 V / (c (absorbing + 4 m V)) [s]; infinite where nothing absorbs. Source: mean free path 4 V / S (Kuttruff)."""
    lost = absorbing_m2 + 4.0 * np.asarray(air_per_m, float) * volume_m3
    with np.errstate(divide="ignore"):
        return np.asarray(24.0 * math.log(10.0) / SPEED_M_S * volume_m3 / lost)
