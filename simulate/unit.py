"""Figures in the unit that they are shown in: the one place where a share becomes per cent."""
from __future__ import annotations


def in_unit(value: float, unit: str) -> float:
    """A figure in the unit it is shown in: a share [1] becomes per cent where `unit` is "%"; all else stays."""
    return 100.0 * value if unit == "%" else value
