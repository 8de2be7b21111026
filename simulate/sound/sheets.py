"""A fabric of the library as a sheet in the way of sound: what it states, and both ends of what it does not."""

from __future__ import annotations

import math

from ...materials.fabric import Fabric
from ...materials.lobes.perforation import WOVEN
from .cloth import Sheet

MASS = (0.25, 0.5)
"""Least and greatest mass of screen cloth [kg/m2]: common practice, no source (0.2 to 0.4 mm of filled vinyl at 1250 kg/m3)."""
LIGHTEST, HEAVIEST = 0.02, 5.0
THICKNESS_MM = (0.25, 0.5)
"""Of a perforated sheet that states none [mm]: common practice, no source."""


def sheets_of(fabric: Fabric, mass_kg_m2: float | None = None) -> tuple[Sheet, ...]:
    """The two ends of what a fabric may be to sound, the one that passes most first; one where all is stated.

    mass_kg_m2   of the cloth [kg/m2]; None: not known
    A weave's gaps count as round holes of their area, as deep as one thread and as two (they cross).
    A fabric with a stated open area but no holes is one whose holes nobody measured: 0.3 to 1.2 mm wide.
    Source: open weaves as micro-perforated sheets, J. Kang and H. V. Fuchs, J. Sound Vib. 220 (1999) 905.
    """
    masses = MASS if mass_kg_m2 is None else (mass_kg_m2, mass_kg_m2)
    holes = fabric.perforation
    if holes is None and fabric.open_area <= 0.0:
        ends = [Sheet(mass) for mass in masses]
    elif holes is None:
        ends = [
            Sheet(mass, fabric.open_area, hole, depth) for mass, hole, depth in zip(masses, (0.3, 1.2), THICKNESS_MM, strict=True)
        ]
    elif holes.lattice == WOVEN:
        hole = 2.0 * (holes.pitch_mm - holes.size_mm) / math.sqrt(math.pi)
        ends = [Sheet(mass, holes.open_area, hole, n * holes.size_mm) for mass, n in zip(masses, (1, 2), strict=True)]
    else:
        depths = (holes.depth_mm, holes.depth_mm) if holes.depth_mm > 0.0 else THICKNESS_MM
        ends = [Sheet(mass, holes.open_area, holes.size_mm, depth) for mass, depth in zip(masses, depths, strict=True)]
    return tuple(dict.fromkeys(ends))
