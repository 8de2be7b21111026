"""A fabric of a library as a JSON document, as text, and the list of all."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import Any

import numpy as np

from ....materials.fabric import Fabric
from ....materials.hangs import HANGS, OPPOSITE
from ....materials.lobes.brdf import directional_albedos
from ....materials.lobes.perforation import WOVEN, arc_minutes
from ....materials.solving.special import CEILING_DEG, TOWARD_DEG, louvred_gain, rejection

ANGLES_DEG = (0, 15, 30, 45, 60, 75)
_COLUMNS = 100
DISTANCES_M = (2.0, 3.0, 4.0)
PIXELS_MM = (0.625, 1.25)  # 2.4 m of screen by 3840 and by 1920 pixels


def fabric_document(fabric: Fabric) -> dict[str, Any]:
    """Numbers of a fabric: gains and reflectances as plain numbers, angles [deg], holes [mm]; None where there is no number."""
    holes = fabric.perforation
    return {
        "name": fabric.name,
        "kind": fabric.kind,
        "gain": fabric.gain,
        "gain_incidence_deg": fabric.gain_incidence_deg,
        "gain_from": fabric.gain_from,
        "half_gain_deg": fabric.half_gain_deg,
        "half_gain_up_deg": fabric.half_gain_up_deg,
        "albedo": {"low": fabric.albedo_band[0], "value": fabric.albedo, "high": fabric.albedo_band[1]},
        "albedo_at": {
            side: {f"{angle}": value for angle, value in zip(ANGLES_DEG, reflectances(fabric, side), strict=True)}
            for side in TOWARD_DEG
        },
        "open_area": fabric.open_area,
        "holes": None
        if holes is None
        else {
            "lattice": holes.lattice,
            "pitch_mm": holes.pitch_mm,
            "size_mm": holes.size_mm,
            "depth_mm": holes.depth_mm,
            "pitch_arcmin": {f"{away:g}": arc_minutes(size_mm=holes.pitch_mm, distance_m=away) for away in DISTANCES_M},
            "moire_ratio": {f"{p:g}": holes.pitch_mm / p for p in PIXELS_MM},
        },
        "light_from": light_from(fabric),
        "hangs": list(fabric.hangs),
        "wants_light_from": fabric.wants_light_from,
        "source": fabric.source,
        "notes": list(fabric.notes),
    }


def reflectances(fabric: Fabric, side: str = "right") -> list[float]:
    """Directional albedo [1] at ANGLES_DEG for light from one side of the normal, a key of TOWARD_DEG. Source: `directional_albedos`."""
    t, p = np.radians(ANGLES_DEG), np.radians(TOWARD_DEG[side] + 90.0)
    directions = np.stack([np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)], axis=1)
    return [float(value) for value in directional_albedos(fabric.arrays(), directions)]


def light_from(fabric: Fabric) -> dict[str, Any] | None:
    """A louvred fabric's gain [1] along the normal for the projector's light and for light from the other side; None for others."""
    if fabric.groove is None or fabric.gain_from is None:
        return None
    other = OPPOSITE[fabric.gain_from]
    against = louvred_gain(fabric, incidence_deg=CEILING_DEG, light_from=other)
    return {
        "projector": {"from": fabric.gain_from, "incidence_deg": fabric.gain_incidence_deg, "gain": fabric.gain},
        "ceiling": {"from": other, "incidence_deg": CEILING_DEG, "gain": against},
        "rejection": rejection(fabric),
    }


def fabric_list(fabrics: Iterable[Fabric]) -> str:
    """One line a fabric."""
    lines = [f"{'name':30}{'kind':20}{'gain':>7}{'half-gain':>11}{'albedo':>8}{'holes':>7}"]
    for each in fabrics:
        half = "" if each.half_gain_deg is None else f"{each.half_gain_deg:.0f} deg"
        holes = f"{100 * each.open_area:.0f} %" if each.open_area else ""
        lines.append(f"{each.name:30}{each.kind:20}{each.gain:7.3g}{half:>11}{each.albedo:8.3f}{holes:>7}")
    return "\n".join(lines) + "\n"


def fabric_text(fabric: Fabric) -> str:
    """All numbers of one fabric, a line each."""
    low, high = fabric.albedo_band
    lines = [f"{fabric.name}: {fabric.kind}, gain {fabric.gain:.4g}"]
    if fabric.gain_from is not None:
        lines[0] += f" for light at {fabric.gain_incidence_deg:g} degrees from {fabric.gain_from}"
    if fabric.half_gain_deg is not None:
        up = f", {fabric.half_gain_up_deg:g} up and down" if fabric.half_gain_up_deg is not None else ""
        lines.append(f"half-gain angle {fabric.half_gain_deg:.4g} degrees{up}")
    band = f" ({low:.3f} to {high:.3f} is open)" if not fabric.albedo_given else ""
    lines.append(f"total reflectance at normal incidence (albedo) {fabric.albedo:.3f}{band}")
    sides = ("above", "below") if fabric.groove is not None else ("right",)
    for side in sides:
        values = zip(ANGLES_DEG, reflectances(fabric, side), strict=True)
        at = ", ".join(f"{value:.3f} at {angle}" for angle, value in values)
        lines.append(f"total reflectance for light from {'the ' if side == 'right' else ''}{side}, at degrees of incidence: {at}")
    if set(fabric.hangs) != set(HANGS):
        lines.append(f"made for: {', '.join(fabric.hangs)}")
    if fabric.wants_light_from is not None:
        lines.append(f"wants its light from: {fabric.wants_light_from}")
    lines += [*_holes(fabric), *(f"- {note}" for note in fabric.notes)]
    lines.append(f"source: {fabric.source or 'none stated'}")
    return "\n".join(textwrap.fill(line, _COLUMNS, subsequent_indent="  ") for line in lines) + "\n"


def _holes(fabric: Fabric) -> list[str]:
    """Holes or threads: their size, how they look from a seat, and against pixels."""
    holes = fabric.perforation
    if holes is None:
        return []
    what = "threads" if holes.lattice == WOVEN else "holes"
    deep = f", {holes.depth_mm:g} mm deep" if holes.depth_mm else ""
    from_away = ", ".join(f"{arc_minutes(size_mm=holes.pitch_mm, distance_m=away):.2g} at {away:g} m" for away in DISTANCES_M)
    ratios = " and ".join(f"{holes.pitch_mm / pixel:.2g} on pixels of {pixel:g} mm" for pixel in PIXELS_MM)
    return [
        f"{holes.lattice} {what} of {holes.size_mm:g} mm, every {holes.pitch_mm:g} mm{deep}; the pitch in arc minutes: {from_away}",
        f"moire ratio (pitch over pixel pitch): {ratios} (2.4 m wide by 3840 and 1920); measure SCENE tells the beat from its seats",
    ]
