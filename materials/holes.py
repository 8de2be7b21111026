"""Holes as stated for a fabric: their share or their geometry, and what comes back from behind them."""

from __future__ import annotations

import math
from dataclasses import replace

from .dataclass import dataclass
from .fabric import Fabric
from .fabric_error import FabricError
from .lobes.perforation import BACK_REFLECTANCE, HEX, LATTICES, WOVEN, Perforation, returned_gain
from .lobes.shapes import HoleLobe

SAME_SHARE = 0.02  # a stated open area may differ that much, relative, from that of the stated geometry


@dataclass(frozen=True)
class Holes:
    """Share of holes [1]; their geometry if known; reflectance of what lies behind [1], 0 black."""

    open_area: float = 0.0
    perforation: Perforation | None = None
    behind_reflectance: float = 0.0


def holes_from(
    *,
    open_area: float | None,
    lattice: str | None = None,
    pitch_mm: float | None = None,
    diameter_mm: float | None = None,
    thread_mm: float | None = None,
    thickness_mm: float | None = None,
    behind_reflectance: float | None = None,
) -> Holes:
    """Holes from what a fabric table states.

    open_area           share of holes [1]; None: that of the geometry, or none
    lattice             one of perforation.LATTICES; None: hexagonal, woven where a thread is named
    pitch_mm            hole to nearest hole, or thread to thread [mm]
    diameter_mm         of a round hole [mm];  thread_mm  of a thread [mm]
    thickness_mm        of the sheet [mm]; None: walls of the holes take nothing
    behind_reflectance  of what lies behind [1]; None: black
    raises              FabricError for what cannot be
    """
    behind = behind_reflectance or 0.0
    sizes = {"hole_diameter_mm": diameter_mm, "thread_mm": thread_mm}
    given = {key: size for key, size in sizes.items() if size is not None}
    if pitch_mm is None:
        for key, value in {"hole_lattice": lattice, **given, "sheet_thickness_mm": thickness_mm}.items():
            if value is not None:
                raise FabricError("hole_pitch_mm", None, "a number above 0", f"{key} needs the pitch of the holes")
        if behind > 0.0 and not open_area:
            raise FabricError("behind_reflectance", behind, "with an open area", "there are no holes to see it through")
        return Holes(open_area or 0.0, None, behind)
    lattice = lattice or (WOVEN if thread_mm is not None else HEX)
    if lattice not in LATTICES:
        raise FabricError("hole_lattice", lattice, " | ".join(LATTICES), "unknown lattice of holes")
    key = "thread_mm" if lattice == WOVEN else "hole_diameter_mm"
    if list(given) != [key]:
        wrong = next((other for other in given if other != key), key)
        raise FabricError(wrong, given.get(wrong), key, f"a {lattice} lattice needs {key} and nothing else")
    if not given[key] < pitch_mm:
        raise FabricError(key, given[key], f"below the pitch, {pitch_mm:g}", "larger than from one to the next")
    if lattice == WOVEN and thickness_mm is not None:
        raise FabricError("sheet_thickness_mm", thickness_mm, "round holes only", "a weave's depth is its threads'")
    perforation = Perforation(lattice, pitch_mm, given[key], thickness_mm or 0.0)
    if open_area is not None and abs(open_area / perforation.open_area - 1.0) > SAME_SHARE:
        raise FabricError(
            "open_area", open_area, f"{perforation.open_area:.4g}, or leave it out", "it disagrees with the stated holes"
        )
    return Holes(perforation.open_area, perforation, behind)


def with_holes(fabric: Fabric, holes: Holes) -> Fabric:
    """The fabric with its holes told, and with the light that comes back through them; unchanged without holes.

    raises  FabricError where more light would come back at normal incidence than arrives
    Source: perforation.py. The stated gain [1] is that of the finished sheet over black; what comes back is added.
    """
    if holes.open_area == 0.0:
        return fabric
    where = "is counted lost" if holes.behind_reflectance == 0.0 else "falls on what lies behind"
    notes = [f"open area {holes.open_area:.3g}: the gain is that of the finished sheet; light through the holes {where}"]
    if holes.perforation is not None:
        at = [f"{float(holes.perforation.transmittance(angle)):.4f} at {angle:g} degrees" for angle in (0, 30, 60)]
        notes.append(f"straight through the holes goes {', '.join(at)}")
    lobes, albedo = fabric.lobes, fabric.albedo
    if holes.behind_reflectance > 0.0:
        gain = returned_gain(open_area=holes.open_area, behind_reflectance=holes.behind_reflectance)
        numbers = holes.perforation.kernel_numbers if holes.perforation is not None else (0.0, 0.0, 0.0)
        lobe = HoleLobe(gain, *numbers)
        lobes, albedo = (*lobes, lobe), albedo + gain * lobe.unit_albedo()
        notes.append(
            f"what lies behind (reflectance {holes.behind_reflectance:g}) adds a gain of {gain:.2g} through the holes; "
            f"back of the sheet {BACK_REFLECTANCE:g}: common practice, no source"
        )
    if not math.isfinite(albedo) or albedo > 1.0 + 1e-9:
        raise FabricError("behind_reflectance", holes.behind_reflectance, "less", "more light comes back than arrives")
    return replace(
        fabric,
        open_area=holes.open_area,
        perforation=holes.perforation,
        lobes=lobes,
        albedo=albedo,
        assumed=(*notes, *fabric.assumed),
    )
