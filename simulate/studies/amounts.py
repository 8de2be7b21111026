"""How far a value may be off: a number in the key's own unit, per cent of the value, or a length in any unit."""

from __future__ import annotations

import re

from ...materials.dataclass import dataclass
from ...scenes.units import UNITS, to_metres

_TEXT = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(%|[a-z]+)?\s*")
LARGEST = 1e15  # what is larger is a slip of the keys
PER_CENT, OWN, METRES = "%", "", "m"
ALLOWED = 'a number, or a text such as "5 cm", "10 %"; units m, cm, mm, in, ft'


@dataclass(frozen=True)
class Amount:
    """An amount: `unit` is OWN (that of the key), PER_CENT of the value, or METRES."""

    value: float
    unit: str = OWN

    def of(self, nominal: float, metres_a_unit: float | None) -> float:
        """The amount in the unit of a value.

        nominal        the value it is an amount of, in its own unit
        metres_a_unit  of the value's unit where it is a length [m], else None
        raises         ValueError for a length of what is none
        Source: definition of per cent; UNITS.
        """
        if self.unit == PER_CENT:
            return self.value / 100.0 * nominal
        if self.unit == METRES:
            if metres_a_unit is None:
                raise ValueError("is a length, but the key holds none")
            return self.value / metres_a_unit
        return self.value


def amount_of(given: object) -> Amount:
    """An amount from a number or a text.  raises ValueError, in the user's words, for what is neither"""
    if isinstance(given, int | float) and not isinstance(given, bool):
        value, unit = (float(given), OWN) if abs(given) < LARGEST else (LARGEST, OWN)
    else:
        match = _TEXT.fullmatch(given) if isinstance(given, str) else None
        if match is None:
            raise ValueError("is no amount")
        value, unit = float(match[1]), match[2] or OWN
    if not abs(value) < LARGEST:  # true for NaN as well
        raise ValueError("is too large")
    if unit in (OWN, PER_CENT):
        return Amount(value, unit)
    length = next((each for each in UNITS if each.suffix == f"_{unit}"), None)
    if length is None:
        raise ValueError(f'has a unit that is none, "{unit}"')
    return Amount(float(to_metres(value, length)), METRES)
