"""What a loudspeaker behind the screen loses: through the cloth, and by the sound that goes to and fro between the two."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ...materials.dataclass import dataclass
from ...materials.fabric import Fabric
from .bands import BANDS, SPEED_M_S, Array, by_band
from .cloth import Sheet, impedance, loss_db, passed, thrown_back
from .sheets import sheets_of

TONES_HZ = (6000, 8000, 10_000, 16_000)
GAPS_M = (0.1, 0.2, 0.3)
"""Cloth to loudspeaker where none is asked for [m]: common practice, no source."""
FARTHEST_M = 5.0
LIMITS_DB = {6000: 3.0, 8000: 6.0}
"""Loss over that at 500 Hz at most [dB]. Source: BS 5382, as M. Rettinger quotes it in SMPTE J. 91 (1982)."""
BACKING = {125: 0.22, 250: 0.82, 500: 0.99, 1000: 0.99, 2000: 0.99, 4000: 0.99}
"""Mineral wool 50 mm, 48 kg/m3, under black cloth, round the loudspeaker. Source: published tables."""
_RIPPLE_HZ = np.geomspace(500.0, 8000.0, 241)


@dataclass(frozen=True)
class Comb:
    """Sound to and fro between cloth and loudspeaker.

    gap_m                     cloth to the front of the loudspeaker [m]
    notch_hz, peak_hz         first frequency above 100 Hz that it lowers, and the next that it lifts [Hz]; None: none up to 16 kHz
    ripple_hard_db            largest crest to trough from 500 Hz to 8 kHz before a hard front [dB]
    ripple_backed_db          the same before BACKING [dB]
    """

    gap_m: float
    peak_hz: float | None
    notch_hz: float | None
    ripple_hard_db: float
    ripple_backed_db: float


@dataclass(frozen=True)
class Through:
    """A screen in front of a loudspeaker; pairs are least and greatest, [dB].

    sheets   ends of what the fabric may be;  open_area   share of holes [1]
    bands_db (2, 8) mean over each octave band;  tones_db   at TONES_HZ
    over_500_db   loss over that at 500 Hz, at the frequencies of LIMITS_DB;  meets   both ends keep the limits, one does, none does
    combs    by gap, of the sheet that throws back most
    """

    sheets: tuple[Sheet, ...]
    open_area: float
    bands_db: Array
    tones_db: dict[int, tuple[float, float]]
    over_500_db: dict[int, tuple[float, float]]
    meets: bool | None
    combs: tuple[Comb, ...]


def through(fabric: Fabric, *, mass_kg_m2: float | None = None, gaps_m: tuple[float, ...] = GAPS_M) -> Through:
    """Loss through a fabric at normal incidence, and its comb at each gap [m]; mass_kg_m2 [kg/m2], None: not known.

    Source: `cloth.loss_db`, `comb`.
    """
    sheets = sheets_of(fabric, mass_kg_m2)
    bands = np.array([[_band_loss(f, sheet) for f in BANDS] for sheet in sheets])
    tones = {f: _ends(loss_db(f, sheet) for sheet in sheets) for f in TONES_HZ}
    over = {f: _ends(loss_db(f, sheet) - loss_db(500.0, sheet) for sheet in sheets) for f in LIMITS_DB}
    sure, can = (all(over[f][end] <= limit for f, limit in LIMITS_DB.items()) for end in (1, 0))
    return Through(
        sheets,
        fabric.open_area,
        np.array([bands.min(axis=0), bands.max(axis=0)]),
        tones,
        over,
        True if sure else None if can else False,
        tuple(comb(sheets, gap) for gap in gaps_m),
    )


def comb(sheets: tuple[Sheet, ...], gap_m: float) -> Comb:
    """What a sheet and a loudspeaker's front, gap_m [m] behind it, do to each other.

    Sound that the cloth throws back comes again from the front, 2 d late: passed / (1 - R r exp(-2 j k d)).
    Source: plane waves between two planes, textbook. A real front is small and sound spreads, so it is the most there can be.
    """
    sheet = max(sheets, key=lambda one: float(loss_db(4000.0, one)))
    f = np.geomspace(100.0, 16_000.0, 20_001)
    echo = np.abs(1.0 / (1.0 - to_and_fro(f, sheet, gap_m, 1.0)))
    falls = np.flatnonzero((echo[1:-1] < echo[:-2]) & (echo[1:-1] <= echo[2:])) + 1
    rises = np.flatnonzero((echo[1:-1] > echo[:-2]) & (echo[1:-1] >= echo[2:])) + 1
    rises = rises[rises > falls[0]] if len(falls) else rises
    backed = np.sqrt(1.0 - np.interp(np.log(_RIPPLE_HZ), np.log(BANDS), by_band(BACKING)))
    back = np.abs(thrown_back(impedance(_RIPPLE_HZ, sheet)))
    return Comb(
        gap_m,
        float(f[rises[0]]) if len(rises) else None,
        float(f[falls[0]]) if len(falls) else None,
        float(ripple_db(back).max()),
        float(ripple_db(back * backed).max()),
    )


def to_and_fro(frequency_hz: npt.ArrayLike, sheet: Sheet, gap_m: float, front: npt.ArrayLike) -> npt.NDArray[np.complex128]:
    """What is left of a wave after a journey to the cloth and back [1]; front   the loudspeaker's reflection of pressure [1]."""
    f = np.asarray(frequency_hz, float)
    return np.asarray(thrown_back(impedance(f, sheet)) * np.asarray(front, float) * np.exp(-4j * np.pi * f * gap_m / SPEED_M_S))


def response_db(frequency_hz: npt.ArrayLike, sheet: Sheet, gap_m: float, front: npt.ArrayLike) -> Array:
    """Level behind the cloth over that without it [dB], comb and all. Source: `comb`."""
    through_it = passed(impedance(frequency_hz, sheet)) / (1.0 - to_and_fro(frequency_hz, sheet, gap_m, front))
    return np.asarray(20.0 * np.log10(np.abs(through_it)))


def ripple_db(strength: npt.ArrayLike) -> Array:
    """Crest to trough [dB] where a wave of relative strength [1] goes round. Source: (1 + s) / (1 - s)."""
    s = np.minimum(np.asarray(strength, float), 1.0 - 1e-9)
    return np.asarray(20.0 * np.log10((1.0 + s) / (1.0 - s)))


def front_of_backing(frequency_hz: npt.ArrayLike) -> Array:
    """Reflection of pressure [1] by BACKING. Source: sqrt(1 - absorption)."""
    f = np.log(np.asarray(frequency_hz, float))
    return np.asarray(np.sqrt(1.0 - np.interp(f, np.log(BANDS), by_band(BACKING))))


def _band_loss(centre_hz: float, sheet: Sheet) -> float:
    """Loss of pink noise in an octave band [dB]. Source: mean of the energy passed, even in the logarithm of frequency."""
    f = centre_hz * 2.0 ** (np.arange(32.0) / 32.0 - 31.0 / 64.0)
    return float(-10.0 * np.log10(np.mean(np.abs(passed(impedance(f, sheet))) ** 2)))


def _ends(values: object) -> tuple[float, float]:
    found = [float(value) for value in values]  # type: ignore[attr-defined]
    return min(found), max(found)
