"""The reverberation that published guidance asks of small listening rooms, and how a room stands to it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ...materials.dataclass import dataclass
from .bands import BANDS, Array

SOURCE = "ITU-R BS.1116-3 and EBU Tech 3276: Tm = 0.25 s (V / 100 m3)^(1/3); limits from memory"
MET, LONG, SHORT, OPEN = "met", "too long", "too short", "open"
_LIMITS = ((63.0, 0.3), (200.0, 0.05), (4000.0, 0.05), (8000.0, 0.1))
"""How far above the nominal time a room may lie [Hz, s], straight lines between on a logarithmic axis; from memory."""
_BELOW = ((63.0, 0.05), (4000.0, 0.05), (8000.0, 0.1))


@dataclass(frozen=True)
class ReverberationTarget:
    """Nominal time, and the limits by octave band (8,), all [s]."""

    nominal_s: float
    low_s: Array
    high_s: Array


def target(volume_m3: float) -> ReverberationTarget:
    """What is asked of a room of this volume [m3]. Source: SOURCE."""
    nominal = 0.25 * (volume_m3 / 100.0) ** (1.0 / 3.0)
    above, below = limits_s(BANDS)
    return ReverberationTarget(nominal, np.maximum(0.0, nominal - below), nominal + above)


def limits_s(frequency_hz: npt.ArrayLike) -> tuple[Array, Array]:
    """Tolerance above and below the nominal time [s] at frequencies [Hz], 63 to 8000. Source: SOURCE."""
    f = np.log(np.asarray(frequency_hz, float))
    above, below = (np.array(table) for table in (_LIMITS, _BELOW))
    return np.interp(f, np.log(above[:, 0]), above[:, 1]), np.interp(f, np.log(below[:, 0]), below[:, 1])


def verdicts(asked: ReverberationTarget, shortest_s: Array, longest_s: Array) -> tuple[str, ...]:
    """How each band (8,) stands: "met", "too long", "too short", or "open" where what is not known decides it.

    shortest_s, longest_s   the room's time with the greatest and the least absorption [s]
    """
    found = []
    for low, high, short, long in zip(asked.low_s, asked.high_s, shortest_s, longest_s, strict=True):
        if low <= short and long <= high:
            found.append(MET)
        elif short > high:
            found.append(LONG)
        else:
            found.append(SHORT if long < low else OPEN)
    return tuple(found)
