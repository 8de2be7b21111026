"""Reads ANSI/IES LM-63, the North American form of photometric files: revisions of 1986 to 2019, type C, TILT=NONE or INCLUDE.

Source: ANSI/IESNA LM-63-2002 (definitions and order of values as its text states them); revisions of 1991, 1995 and 2019 from memory.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np

from .numbers import Numbers, Token, lines_of
from .photometry import Photometry, whole_turn
from .unusable import UnusablePhotometry

MOST_ANGLES = 1000
MOST_VALUES = 300_000
HIGHEST_CD = 1e7
_TILT = re.compile(r"\s*TILT\s*=\s*(.*?)\s*\Z", re.IGNORECASE)
_DELIMITERS = re.compile(r"[\s,]+")
_EARLY = ("IESNA91", "IESNA:LM-63-1995")  # a header of neither is 1986's, which has none, or a later one's
_LATE = ("IESNA:LM-63-2002", "IES:LM-63-2019")
_TYPES = {2: "B (floodlights)", 3: "A (car headlights)"}


class Tilt(NamedTuple):
    """How the lamps' output changes with tilt: geometry 1 to 3, angles (n,) [deg], factors (n,) [1]; no angles: not at all."""

    geometry: int
    angles_deg: np.ndarray
    factors: np.ndarray

    def factor(self, tilt_deg: float) -> float:
        """Factor [1] for a luminaire whose axis is tilted from straight down by so much [deg].

        raises UnusablePhotometry where the lamp's own position is not settled by that tilt
        """
        if not len(self.angles_deg):
            return 1.0
        if self.geometry != 1 and tilt_deg > 1e-6:
            raise UnusablePhotometry(
                f"states TILT=INCLUDE with lamp-to-luminaire geometry {self.geometry}: which way its lamps tilt is not settled by the aim",
                "a lamp that is aimed straight down, or a file with TILT=NONE", key="lamp-to-luminaire geometry",
            )  # fmt: skip
        return float(np.interp(tilt_deg, self.angles_deg, self.factors))


NO_TILT = Tilt(1, np.zeros(0), np.zeros(0))


def read_lm63(text: str) -> tuple[Photometry, Tilt]:
    """The luminaire of a file's text, whole turn, in [cd], and how it goes with tilt.

    raises UnusablePhotometry at the first fault, with its line
    """
    lines = lines_of(text)
    at = next((i for i, line in enumerate(lines) if _TILT.match(line)), None)
    if at is None:
        allowed = "a photometric file of ANSI/IES LM-63 (.ies)"
        raise UnusablePhotometry("has no TILT= line: this is no LM-63 file", allowed, key="TILT")
    tokens = [Token(part, i + 1) for i, line in enumerate(lines[at + 1 :], at + 1) for part in _DELIMITERS.split(line) if part]
    numbers = Numbers(tokens, len(lines))
    tilt = _tilt(lines[at], at + 1, numbers)
    lamps = numbers.whole("number of lamps", 1, 10_000)
    per_lamp = numbers.number("lumens per lamp", -1, 1e7)
    if per_lamp != -1.0 and not per_lamp > 0.0:
        allowed = "above 0, or -1 for absolute photometry"
        raise UnusablePhotometry("is out of range", allowed, line=numbers.line, key="lumens per lamp", value=f"{per_lamp:g}")
    multiplier = _positive(numbers, "candela multiplier", 1e6)
    vertical = numbers.whole("number of vertical angles", 2, MOST_ANGLES)
    horizontal = numbers.whole("number of horizontal angles", 1, MOST_ANGLES)
    if vertical * horizontal > MOST_VALUES:
        size = f"{vertical} x {horizontal}"
        raise UnusablePhotometry(
            "announces too many values", f"at most {MOST_VALUES}", line=numbers.line, key="number of angles", value=size
        )
    _type_c(numbers)
    numbers.whole("units type", 1, 2)
    for side in ("width", "length", "height"):  # of the luminous opening: the light is taken to come from its middle
        numbers.number(side, -1000, 1000)
    ballast = _positive(numbers, "ballast factor", 100)
    late = numbers.number("ballast-lamp factor or file generation type", 0, 100)
    numbers.number("input watts", 0, 1e7)
    if lines and lines[0].strip().upper().startswith(_EARLY) and late > 0.0:
        ballast *= late  # a factor up to 1995; without a meaning in 2002, a code of how the file was made in 2019
    elif not lines[0].strip().upper().startswith(_LATE) and 0.0 < late < 1.0:
        ballast *= late
    gamma, c, candela = _values(numbers, vertical, horizontal)
    turn, rows = whole_turn(c, candela * multiplier * ballast)
    lamps_lm = None if per_lamp == -1.0 else lamps * per_lamp * ballast
    found = Photometry(turn, gamma, rows, lamps_lm)
    return _judged(found, numbers.line), tilt


def _positive(numbers: Numbers, name: str, most: float) -> float:
    value = numbers.number(name, 0, most)
    if not value > 0.0:
        raise UnusablePhotometry("is out of range", f"above 0, at most {most:g}", line=numbers.line, key=name, value=f"{value:g}")
    return value


def _type_c(numbers: Numbers) -> None:
    kind = numbers.whole("photometric type", 1, 3)
    if kind != 1:
        raise UnusablePhotometry(
            f"is photometry of type {_TYPES[kind]}, whose planes turn about another axis: not served",
            "1 (type C), to which programs of photometry convert", line=numbers.line, key="photometric type", value=str(kind),
        )  # fmt: skip


def _tilt(line: str, number: int, numbers: Numbers) -> Tilt:
    """What the TILT line says, and the three lines after it where it says INCLUDE."""
    match = _TILT.match(line)
    said = match.group(1) if match else ""
    if said.upper() == "NONE":
        return NO_TILT
    if said.upper() != "INCLUDE":
        raise UnusablePhotometry(
            "names another file, which is not read", "TILT=NONE or TILT=INCLUDE", line=number, key="TILT", value=said
        )
    geometry = numbers.whole("lamp-to-luminaire geometry", 1, 3)
    count = numbers.whole("number of tilt angles", 1, MOST_ANGLES)
    angles, _ = numbers.rising("tilt angle", count, 0, 180)
    factors = [numbers.number(f"multiplying factor {i + 1}", 0, 10) for i in range(count)]
    return Tilt(geometry, np.array(angles), np.array(factors))


def _values(numbers: Numbers, vertical: int, horizontal: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Vertical angles (m,), horizontal ones (n,) [deg] and intensities (n, m) [cd as written]."""
    gamma, lines = numbers.rising("vertical angle", vertical, 0, 180)
    _one_of(gamma[0] in (0.0, 90.0), "should begin the vertical angles", "0 or 90", lines[0], "vertical angle 1", gamma[0])
    _one_of(
        gamma[-1] in (90.0, 180.0),
        "should end the vertical angles",
        "90 or 180",
        lines[-1],
        f"vertical angle {vertical}",
        gamma[-1],
    )
    c, lines = numbers.rising("horizontal angle", horizontal, 0, 360)
    mirrored = len(c) > 1 and (c[0], c[-1]) == (90.0, 270.0)
    _one_of(
        c[0] == 0.0 or mirrored, "should begin the horizontal angles", "0, or 90 to 270", lines[0], "horizontal angle 1", c[0]
    )
    whole = c[-1] in (0.0, 90.0, 180.0) or c[-1] > 180.0
    allowed = "0, 90, 180, or above 180 to 360"
    _one_of(whole, "should end the horizontal angles", allowed, lines[-1], f"horizontal angle {horizontal}", c[-1])
    candela = [
        [numbers.number(f"candela of plane {i + 1}, angle {j + 1}", 0, HIGHEST_CD) for j in range(vertical)]
        for i in range(horizontal)
    ]
    numbers.end(f"{horizontal} planes of {vertical} candela values")
    return np.array(gamma), np.array(c), np.array(candela)


def _one_of(good: bool, message: str, allowed: str, line: int, key: str, value: float) -> None:
    if not good:
        raise UnusablePhotometry(message, allowed, line=line, key=key, value=f"{value:g}")


def _judged(found: Photometry, line: int) -> Photometry:
    """The luminaire, with a remark where it sends out more than its lamps do.  raises UnusablePhotometry where it sends out nothing"""
    flux = found.flux_lm
    if not flux > 1e-6:
        raise UnusablePhotometry("gives no light: all its candela values are 0", "at least one above 0", line=line, key="candela")
    if found.lamps_lm is not None and flux > 1.05 * found.lamps_lm:
        said = f"its intensities add up to {flux:.0f} lm, more than the {found.lamps_lm:.0f} lm of its lamps: the intensities are used"
        return Photometry(found.c_deg, found.gamma_deg, found.candela, found.lamps_lm, (said,))
    return found
