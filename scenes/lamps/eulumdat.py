"""Reads EULUMDAT, the European form of photometric files (.ldt), all five symmetries.

Source: A. W. Stockmar, "EULUMDAT - ein Leuchtendatenformat fuer den europaeischen Beleuchtungsplaner", Licht '90 (from published
descriptions of the format, line by line).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .numbers import Numbers, Token, lines_of
from .photometry import Photometry, whole_turn
from .unusable import UnusablePhotometry

MOST_PLANES, MOST_ANGLES, MOST_SETS = 721, 721, 20
HIGHEST_CD_PER_KLM = 1e6
_HEAD = 26  # lines before the sets of lamps
_A_SET = 6
_DIRECT_RATIOS = 10
_OFF_BY = 0.05  # of the flux, above which it is said


class _Header(NamedTuple):
    symmetry: int
    planes: int
    angles: int
    downward: float
    light_output_ratio: float
    factor: float
    tilt_deg: float
    sets: int


def read_eulumdat(text: str) -> Photometry:
    """The luminaire of a file's text, whole turn, in [cd], with its first set of lamps.

    raises UnusablePhotometry at the first fault, with its line
    """
    lines = [line.strip() for line in lines_of(text)]
    if len(lines) < _HEAD + _A_SET:
        allowed = "a photometric file of EULUMDAT (.ldt)"
        raise UnusablePhotometry("ends before its lamps: this is no EULUMDAT file", allowed, line=max(len(lines), 1))
    head = _head(lines)
    after = _HEAD + _A_SET * head.sets
    lamps = _field(lines, _HEAD + 1, "number of lamps", -10_000, 10_000)
    flux = _field(lines, _HEAD + 3, "total luminous flux of the lamps", 0, 1e8)
    if lamps == 0.0 or flux == 0.0:
        key, line = ("number of lamps", _HEAD + 1) if lamps == 0.0 else ("total luminous flux of the lamps", _HEAD + 3)
        raise UnusablePhotometry("is 0: intensities for 1000 lm say nothing then", "other than 0", line=line, key=key, value="0")
    tokens = [Token(part, i + 1) for i, line in enumerate(lines[after:], after) for part in line.split()]
    numbers = Numbers(tokens, max(len(lines), 1), comma=True)
    for i in range(_DIRECT_RATIOS):
        numbers.number(f"direct ratio {i + 1}", -10, 1000)
    c, gamma, per_klm = _values(numbers, head)
    if head.symmetry == 0 and c[-1] < 360.0:
        c, per_klm = np.append(c, 360.0), np.concatenate([per_klm, per_klm[:1]])
    turn, rows = whole_turn(c, per_klm * head.factor * flux / 1000.0)
    found = Photometry(turn, gamma, rows, None if lamps < 0.0 else flux)
    if not found.flux_lm > 1e-6:
        raise UnusablePhotometry(
            "gives no light: all its intensities are 0", "at least one above 0", line=numbers.line, key="luminous intensity"
        )
    return Photometry(turn, gamma, rows, found.lamps_lm, tuple(_remarks(found, head, flux)))


def _field(lines: list[str], number: int, name: str, low: float, high: float) -> float:
    """The number that a line, counted from 1, holds alone; a blank line counts as 0."""
    if not lines[number - 1]:
        lines = [*lines[: number - 1], "0"]
    return Numbers([], len(lines), comma=True).checked(Token(lines[number - 1], number), name, low, high)


def _whole(lines: list[str], number: int, name: str, low: int, high: int) -> int:
    value = _field(lines, number, name, low, high)
    if value != int(value):
        raise UnusablePhotometry("should be a whole number", f"{low} to {high}", line=number, key=name, value=lines[number - 1])
    return int(value)


def _head(lines: list[str]) -> _Header:
    symmetry = _whole(lines, 3, "Isym, symmetry", 0, 4)
    planes = _whole(lines, 4, "Mc, number of C planes", 1, MOST_PLANES)
    parts = {0: 1, 1: 1, 2: 2, 3: 4, 4: 4}[symmetry]
    if planes % parts or (symmetry != 1 and planes < 2):
        raise UnusablePhotometry(
            f"does not fit Isym = {symmetry}",
            f"a multiple of {parts}, at least 2",
            line=4,
            key="Mc, number of C planes",
            value=lines[3],
        )
    head = _Header(
        symmetry,
        planes,
        _whole(lines, 6, "Ng, intensities a plane", 2, MOST_ANGLES),
        _field(lines, 22, "downward flux fraction [%]", 0, 101),
        _field(lines, 23, "light output ratio [%]", 0, 1000),
        _field(lines, 24, "conversion factor for intensities", 0, 1e6),
        _field(lines, 25, "tilt during measurement [deg]", -360, 360),
        _whole(lines, _HEAD, "number of sets of lamps", 1, MOST_SETS),
    )
    if head.factor == 0.0:
        raise UnusablePhotometry("is 0", "above 0, usually 1", line=24, key="conversion factor for intensities", value=lines[23])
    if len(lines) < _HEAD + _A_SET * head.sets:
        raise UnusablePhotometry(
            f"ends before its {head.sets} sets of lamps", line=len(lines), key="number of sets of lamps", value=str(head.sets)
        )
    return head


def _values(numbers: Numbers, head: _Header) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Planes (n,) and angles (m,) [deg] as far as the symmetry asks for them, intensities (n, m) [cd/klm]."""
    c, lines = numbers.rising("C plane", head.planes, 0, 360)
    gamma, gamma_lines = numbers.rising("gamma angle", head.angles, 0, 180)
    for place, allowed in ((0, (0.0, 90.0)), (-1, (90.0, 180.0))):
        if gamma[place] not in allowed:
            at = 1 if place == 0 else head.angles
            raise UnusablePhotometry(
                f"should {'begin' if place == 0 else 'end'} the gamma angles", f"{allowed[0]:g} or {allowed[1]:g}",
                line=gamma_lines[place], key=f"gamma angle {at}", value=f"{gamma[place]:g}",
            )  # fmt: skip
    if c[0] != 0.0:
        raise UnusablePhotometry("should begin the C planes", "0", line=lines[0], key="C plane 1", value=f"{c[0]:g}")
    kept = _kept(c, lines, head.symmetry)
    values = [
        [numbers.number(f"intensity of plane {i + 1}, angle {j + 1}", 0, HIGHEST_CD_PER_KLM) for j in range(head.angles)]
        for i in range(len(kept))
    ]
    numbers.end(f"{len(kept)} planes of {head.angles} intensities")
    return kept, np.array(gamma), np.array(values)


def _kept(c: list[float], lines: list[int], symmetry: int) -> np.ndarray:
    """Planes [deg] whose intensities the file holds.

    raises UnusablePhotometry where the planes at which the symmetry mirrors are not among them
    """
    count = len(c)
    if symmetry == 1:
        return np.array([0.0])
    if symmetry == 0:
        return np.array(c)
    first, last = {2: (0, count // 2), 3: (3 * count // 4, 5 * count // 4), 4: (0, count // 4)}[symmetry]
    found = np.array([c[i % count] + 360.0 * (i // count) for i in range(first, last + 1)])
    ends = {2: (0.0, 180.0), 3: (270.0, 450.0), 4: (0.0, 90.0)}[symmetry]
    for place, end, index in ((0, ends[0], first), (-1, ends[1], last)):
        if found[place] != end:
            raise UnusablePhotometry(
                f"should be the plane at which Isym = {symmetry} mirrors", f"{end % 360.0:g}", line=lines[index % count],
                key=f"C plane {index % count + 1}", value=f"{c[index % count]:g}",
            )  # fmt: skip
    return found


def _remarks(found: Photometry, head: _Header, flux_lm: float) -> list[str]:
    """Where the file contradicts itself, and what is taken."""
    said = []
    stated = flux_lm * head.light_output_ratio / 100.0
    if head.light_output_ratio > 0.0 and abs(found.flux_lm - stated) > _OFF_BY * stated:
        said.append(
            f"its intensities add up to {found.flux_lm:.0f} lm, its light output ratio says {stated:.0f} lm: the intensities are used"
        )
    down = 100.0 * found.downward_share
    if head.downward > 0.0 and abs(down - head.downward) > 100.0 * _OFF_BY:
        said.append(f"{down:.0f} % of its light goes down, its head says {head.downward:.0f} %: the intensities are used")
    if head.tilt_deg != 0.0:
        said.append(f"it was measured tilted by {head.tilt_deg:g} deg: gamma is taken from its own axis")
    if head.sets > 1:
        said.append(f"it states {head.sets} sets of lamps: the first is taken")
    return said
