"""Lengths in the unit the user measures in: which keys a file may use, and the exact step to metres."""

from __future__ import annotations

from typing import Any, NamedTuple


class Unit(NamedTuple):
    """One unit of length: metres = value * numerator / denominator, integers, so that 12 in and 0.3048 m are equal."""

    suffix: str
    numerator: int
    denominator: int


# Source: international inch 25.4 mm and foot 304.8 mm exactly (1959 agreement; NIST SP 811, appendix B.8).
UNITS = (Unit("_m", 1, 1), Unit("_cm", 1, 100), Unit("_mm", 1, 1000), Unit("_in", 254, 10_000), Unit("_ft", 3048, 10_000))


def is_length(field: str) -> bool:
    """True for a field of a table that holds a length: all of them end in `_m` and in nothing else."""
    return field.endswith("_m")


def variants(field: str) -> tuple[str, ...]:
    """The keys a file may use for the length `field` (named in metres): `width_m`, `width_cm`, ... in UNITS' order."""
    return tuple(field.removesuffix("_m") + unit.suffix for unit in UNITS)


def unit_of(key: str) -> Unit:
    """The unit that a length key names, by its ending.  raises KeyError where it names none."""
    for unit in UNITS:
        if key.endswith(unit.suffix):
            return unit
    raise KeyError(key)


def to_metres(value: Any, unit: Unit) -> Any:
    """Numbers, alone or in lists, from `unit` to [m]; anything else comes back as it is, for the table to refuse.

    Multiplies before it divides: both steps round correctly, so whole inches give the double nearest to their metres.
    Source: the factors of UNITS.
    """
    if isinstance(value, list):
        return [to_metres(item, unit) for item in value]
    if isinstance(value, bool) or not isinstance(value, int | float) or unit.suffix == "_m":
        return value
    try:
        return value * unit.numerator / unit.denominator
    except OverflowError:  # an integer of hundreds of digits
        return value


def from_metres(value_m: float, unit: Unit) -> float:
    """A length [m] in `unit`, for messages. Source: `to_metres`, backwards."""
    return value_m * unit.denominator / unit.numerator
