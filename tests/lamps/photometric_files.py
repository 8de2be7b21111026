"""Photometric files made for the tests, in both forms and all symmetries, from intensities as functions of direction."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

Intensity = Callable[[float, float], float]  # of C and gamma [deg], in [cd]
GAMMA = np.linspace(0.0, 180.0, 37)
# How far round each symmetry states its planes: first, last, step [deg].
PARTS = {"round": (0, 0, 15), "quadrant": (0, 90, 15), "c0": (0, 180, 15), "c90": (90, 270, 15), "none": (0, 360, 15)}
ISYM = {"none": 0, "round": 1, "c0": 2, "c90": 3, "quadrant": 4}


def lambertian(_: float, gamma: float) -> float:
    """1000 / pi cd along the axis: a disc of 1000 lm."""
    return 1000.0 / math.pi * max(math.cos(math.radians(gamma)), 0.0)


def odd(c: float, gamma: float) -> float:
    """Without any symmetry, with light upwards."""
    turn, rise = math.radians(c), math.radians(gamma)
    return (
        50.0
        + 20.0 * math.cos(rise)
        + math.sin(rise) * (15.0 * math.cos(turn) + 9.0 * math.sin(turn) + 4.0 * math.sin(2.0 * turn))
    )


def symmetric(symmetry: str) -> Intensity:
    """A distribution that has this symmetry and no higher one."""

    def value(c: float, gamma: float) -> float:
        turn, rise = math.radians(c), math.radians(gamma)
        x, y = math.cos(turn), math.sin(turn)
        form = {
            "round": 0.0,
            "quadrant": x * x,
            "c0": x + 0.3 * x * x,
            "c90": y + 0.3 * x * x,
            "none": x + 0.7 * y + 0.4 * x * y,
        }[symmetry]
        return 60.0 + 25.0 * math.cos(rise) + 20.0 * form * math.sin(rise)

    return value


def lm63(intensity: Intensity, symmetry: str = "round", *, header: str = "IESNA:LM-63-2002", gamma: np.ndarray = GAMMA,
         tilt: str = "NONE", lamps: str = "1 -1", multiplier: float = 1.0, ballast: str = "1 1") -> str:  # fmt: skip
    """An LM-63 file; tilt is what stands after TILT=, with the lines of INCLUDE where there are any."""
    first, last, step = PARTS[symmetry]
    planes = np.arange(first, last + 1, step, dtype=float)
    rows = [" ".join(f"{intensity(c, g) / multiplier:.6f}" for g in gamma) for c in planes]
    head = [header, "[TEST] 1", "[MANUFAC] none", "[LUMINAIRE] made for a test"] if header else ["made for a test"]
    return "\n".join([
        *head, f"TILT={tilt}", f"{lamps} {multiplier:g} {len(gamma)} {len(planes)} 1 2 0.1 0.1 0", f"{ballast} 10",
        " ".join(f"{g:g}" for g in gamma), " ".join(f"{c:g}" for c in planes), *rows, "",
    ])  # fmt: skip


def eulumdat(intensity: Intensity, symmetry: str = "round", *, flux_lm: float = 1000.0, ratio: float = 100.0, factor: float = 1.0,
             gamma: np.ndarray = GAMMA, lamps: int = 1, sets: int = 1, downward: float = 0.0) -> str:  # fmt: skip
    """An EULUMDAT file of 24 planes; intensities are for the whole luminaire, the file states them for 1000 lm of lamps."""
    planes = 15.0 * np.arange(24)
    kept = {"none": planes, "round": planes[:1], "c0": planes[:13], "c90": 270.0 + 15.0 * np.arange(13), "quadrant": planes[:7]}[
        symmetry
    ]
    rows = [f"{intensity(c % 360.0, g) * 1000.0 / flux_lm / factor:.6f}" for c in kept for g in gamma]
    one_set = [str(lamps), "LED", f"{flux_lm:g}", "3000", "80", "10"]
    return "\r\n".join([
        "made for a test", "1", str(ISYM[symmetry]), "24", "15", str(len(gamma)), "5", "1", "a lamp", "", "file", "today",
        *["100"] * 9, f"{downward:g}", f"{ratio:g}", f"{factor:g}", "0", str(sets), *one_set * sets, *["0.5"] * 10,
        *(f"{c:g}" for c in planes), *(f"{g:g}" for g in gamma), *rows, "",
    ])  # fmt: skip
