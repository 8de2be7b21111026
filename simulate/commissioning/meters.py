"""What a meter's reading is worth: calibration, which all its readings share, repetition, and the last digit."""

from __future__ import annotations

import math
from enum import StrEnum

from ...materials.dataclass import dataclass


class Meter(StrEnum):
    """The two instruments: each has one calibration, which errs alike in all it reads."""

    ILLUMINANCE = "illuminance"
    LUMINANCE = "luminance"


@dataclass(frozen=True)
class MeterUnit:
    """A unit that readings may be in: the meter it belongs to, and how many lx or cd/m2 it is."""

    meter: Meter
    factor: float


# Source: definitions; 1 ft = 0.3048 m exactly, 1 fc = 1 lm/ft2, 1 fL = 1 / pi cd/ft2.
UNITS = {
    "lx": MeterUnit(Meter.ILLUMINANCE, 1.0),
    "fc": MeterUnit(Meter.ILLUMINANCE, 1.0 / 0.3048**2),
    "cd/m2": MeterUnit(Meter.LUMINANCE, 1.0),
    "fL": MeterUnit(Meter.LUMINANCE, 1.0 / (math.pi * 0.3048**2)),
}
SI = {Meter.ILLUMINANCE: "lx", Meter.LUMINANCE: "cd/m2"}

COVERAGE = (
    2.0  # what stands on sheets and certificates is +- two standard uncertainties. Source: JCGM 100:2008 (GUM), 6.2 and 6.3
)
CLASS_B_PERCENT = 10.0
# Source: total error of class B, DIN 5032-7:1985 (read second-hand, in manuals of luxmeters; for luminance meters from memory).
# Limits say nothing of what lies between them, so a rectangular distribution: GUM, 4.3.7.
ASSUMED_CALIBRATION = CLASS_B_PERCENT / 100.0 / math.sqrt(3.0)
ASSUMED_REPEAT = {
    Meter.ILLUMINANCE: 0.01,
    Meter.LUMINANCE: 0.015,
}  # common practice, no source: place and aim of a hand-held meter
CALIBRATION_SOURCE = f"class B of DIN 5032-7, at most {CLASS_B_PERCENT:g} % (second-hand), as the file states none"
REPEAT_SOURCE = "common practice, no source: a meter held by hand"


def from_stated(percent: float) -> float:
    """Relative standard uncertainty [1] of a stated +- [%]. Source: COVERAGE."""
    return percent / 100.0 / COVERAGE


def digit_uncertainty(digit: float) -> float:
    """Standard uncertainty that a display's last digit leaves, in its unit. Source: GUM, F.2.2.1: rectangular, digit / sqrt(12)."""
    return digit / math.sqrt(12.0)
