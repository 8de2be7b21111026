"""Below which frequency a room rings in single modes, and where these lie."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from ...materials.dataclass import dataclass
from .bands import BANDS, SPEED_M_S, Array

AXIAL, TANGENTIAL, OBLIQUE = "axial", "tangential", "oblique"
SAME = 0.01
"""Modes nearer than this share of their frequency count as one: our own choice, as wide as rooms are true to their drawing."""
FEW = 5
"""Modes in a third of an octave from which coincident ones do no harm. Source: O. J. Bonello, J. Audio Eng. Soc. 29 (1981) 597 (from memory)."""
LISTED_HZ = 300.0
"""Modes above are not listed [Hz]: in any room for watching they lie a hertz or two apart. Our own choice."""


@dataclass(frozen=True)
class Mode:
    """A standing wave: orders across width, depth and height; frequency [Hz]; axial, tangential or oblique."""

    orders: tuple[int, int, int]
    frequency_hz: float

    @property
    def kind(self) -> str:
        """By how many pairs of walls take part. Source: textbook."""
        return (AXIAL, TANGENTIAL, OBLIQUE)[sum(order > 0 for order in self.orders) - 1]


@dataclass(frozen=True)
class Modes:
    """Modes up to a frequency.

    up_to_hz     the frequency [Hz];  found   lowest first
    coincident   neighbours closer than SAME where fewer than FEW modes share their third of an octave
    thinning_hz  middles of the thirds of an octave [Hz] that hold fewer modes than the third below
    """

    up_to_hz: float
    found: tuple[Mode, ...]
    coincident: tuple[tuple[Mode, Mode], ...]
    thinning_hz: tuple[float, ...]


def transition_hz(volume_m3: float, time_s: Array) -> float:
    """Frequency [Hz] above which modes overlap so that statistics hold, 2000 sqrt(T / V), with T of that very frequency.

    volume_m3   of air [m3];  time_s   reverberation time by octave band (8,) [s]
    Source: M. R. Schroeder, J. Acoust. Soc. Am. 99 (1996) 3240. T lies on straight lines against the logarithm of frequency.
    """
    f, times = 200.0, np.minimum(time_s, 1e3)
    for _ in range(100):
        f = math.sqrt(f * 2000.0 * math.sqrt(float(np.interp(math.log(f), np.log(BANDS), times)) / volume_m3))
    return f


def modes(width_m: float, depth_m: float, height_m: float, up_to_hz: float) -> Modes:
    """Modes of an empty rectangular room with hard walls, sizes in [m], up to a frequency [Hz].

    Source: Rayleigh, c / 2 sqrt((n / W)^2 + (m / D)^2 + (k / H)^2); furniture and soft walls move them by some per cent.
    """
    size = np.array([width_m, depth_m, height_m])
    most = np.floor(2.0 * up_to_hz * size / SPEED_M_S).astype(int)
    orders = np.indices(tuple(most + 1)).reshape(3, -1).T[1:]
    frequency = 0.5 * SPEED_M_S * np.sqrt(((orders / size) ** 2).sum(axis=1))
    order = [i for i in np.argsort(frequency, kind="stable") if frequency[i] <= up_to_hz]
    found = tuple(Mode(tuple(int(n) for n in orders[i]), float(frequency[i])) for i in order)  # type: ignore[arg-type]
    counts = _thirds(found)
    pairs = tuple(
        (a, b)
        for a, b in pairwise(found)
        if b.frequency_hz - a.frequency_hz < SAME * b.frequency_hz and counts[_third(a.frequency_hz)] < FEW
    )
    last = _third(up_to_hz) - 1  # the topmost third is cut off
    thin = tuple(
        1000.0 * 2.0 ** (n / 3.0) for n in range(min(counts, default=0) + 1, last + 1) if counts.get(n, 0) < counts.get(n - 1, 0)
    )
    return Modes(up_to_hz, found, pairs, thin)


def _third(frequency_hz: float) -> int:
    """Number of the third of an octave, 0 at 1000 Hz. Source: IEC 61260-1, base two."""
    return round(3.0 * math.log2(frequency_hz / 1000.0))


def _thirds(found: tuple[Mode, ...]) -> dict[int, int]:
    counts: dict[int, int] = {}
    for mode in found:
        place = _third(mode.frequency_hz)
        counts[place] = counts.get(place, 0) + 1
    return counts
