"""What a fabric's two numbers leave open: the same gain and half-gain angle as several models, and the spread they make."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.fabric import DIFFUSE, LOUVRED, MEASURED, PAIR_KINDS, RETRO, ROUGH, Fabric
from ...materials.holes import Holes
from ...materials.lobes.brdf import fabric_gains
from ...materials.lobes.profile import Lobe
from ...materials.lobes.shapes import HoleLobe
from ...materials.solving.admissible import admissible_fabrics, soft_lobe
from ...materials.solving.pair import GAUSSIAN, LOBES, PairShape
from ...materials.solving.solve import FabricError, fabric_from_pair, profile_of_albedo
from ...materials.translucent import letting_through_as
from ...scenes.model import Scene
from ..measuring.estimate import Estimate, estimate
from .axes import Axis, Setting
from .figures import Figure, seat_figures
from .together import Paired
from .variants import Variant

AXIS = "fabric model"
_STEPS = 24  # halvings of the albedo band


@dataclass(frozen=True)
class ModelSpread:
    """A figure of one seat over all models.

    reference, least, greatest  of the scene's own model, and the ends, in the figure's unit
    relative                    (greatest - least) / reference [1]; 0 where the reference is 0
    """

    seat: str
    figure: Figure
    reference: Estimate
    least: Estimate
    least_model: str
    greatest: Estimate
    greatest_model: str
    relative: float


def fabric_models(fabric: Fabric) -> list[tuple[str, Fabric]]:
    """The scene's fabric first, then other models that meet all that is stated of it, named.

    Of a gain and half-gain angle: the other lobes, with the same albedo; where no albedo was stated, the least and the greatest
    that a smooth lobe on a diffuse base reaches come too (the very ends of the energy band are spikes and table tops that
    no sheet is). Half-gain angle up, holes, entrance fall-off and tint stay. Of a curve measured at normal incidence: put about
    the mirror direction and about the light. Any other fabric has one model, see `why`.
    Source: energy limits of a falling gain curve; see materials/solving/judge.py.
    """
    models = [("as the scene has it", fabric)]
    if fabric.kind == MEASURED:
        others = [(name, letting_through_as(other, fabric)) for name, other in admissible_fabrics(fabric)]
        return models + [(name, other) for name, other in others if other is not None and not same_values(other, fabric)]
    if fabric.kind == DIFFUSE and not fabric.albedo_given:
        soft = letting_through_as(soft_lobe(fabric), fabric)
        return models if soft is None else [*models, (f"a soft lobe unstated, least albedo, {sheet_albedo(soft):.2f}", soft)]
    if fabric.half_gain_deg is None or fabric.kind not in PAIR_KINDS:
        return models
    for lobe in LOBES:
        other = with_lobe(fabric, lobe, sheet_albedo(fabric))
        if other is not None and not any(same_values(other, known) for _, known in models):
            models.append((f"{lobe} lobe", other))
    if fabric.kind_assumed:
        other = with_lobe(replace(fabric, kind=RETRO), GAUSSIAN, sheet_albedo(fabric))
        models += [("retro-reflective", other)] if other is not None else []
    if not fabric.albedo_given:
        for name, end in zip(("least albedo", "greatest albedo"), fabric.albedo_band, strict=True):
            albedo = _smooth_end(fabric, end)
            other = with_lobe(fabric, GAUSSIAN, albedo)
            if other is not None and abs(albedo - sheet_albedo(fabric)) > 0.005:
                models.append((f"{name}, {albedo:.2f}", other))
    return models


_WHY = {
    DIFFUSE: "a diffuse fabric is its gain alone: no half-gain angle leaves anything open",
    ROUGH: "gain and roughness fix it",
    LOUVRED: "it is derived from its grooves: tilts and reflectances of both facets fix the light in every direction, and the "
    "stated gain fixes the brighter facet; other tilts are another fabric, to compare with --fabric or --vary",
    MEASURED: "a curve measured at normal incidence leaves open whether its lobe follows the mirror direction or the light",
}


def why(fabric: Fabric) -> str:
    """Why a fabric has the models it has, in one sentence. Source: what each kind states, see materials/fabric.py."""
    if fabric.kind == DIFFUSE and not fabric.albedo_given:
        return (
            "a gain alone does not say whether the fabric is diffuse or has a soft lobe, nor how much light it gives back in all"
        )
    if fabric.kind not in PAIR_KINDS:
        level = fabric.kind == MEASURED and not fabric.lobes
        return _WHY[fabric.kind] + ("; this one is level and has no lobe" if level else "")
    open_too = [
        *(() if fabric.albedo_given else ("the total reflectance",)),
        *(("whether the lobe follows the mirror direction or the light",) if fabric.kind_assumed else ()),
    ]
    return " nor ".join(["gain and half-gain angle do not fix the shape of the lobe", *open_too])


def sheet_albedo(fabric: Fabric) -> float:
    """Albedo of the sheet itself, without what comes back through its holes from behind [1]. Source: albedos of lobes add (linearity)."""
    return fabric.albedo - sum(lobe.gain * lobe.unit_albedo() for lobe in fabric.lobes if isinstance(lobe, HoleLobe))


def same_values(one: Fabric, other: Fabric, tolerance: float = 1e-3) -> bool:
    """True where two fabrics reflect alike in all directions, to `tolerance` [1] of the larger gain of each pair of directions.

    Source: kernel values for 5 incidences by 4 azimuths, seen from 9 angles by 8 azimuths.
    """
    light, eye = _directions(np.radians([0.0, 20.0, 40.0, 60.0, 75.0]), 4), _directions(np.radians(np.arange(0.0, 85.0, 10.0)), 8)
    pairs = np.repeat(light, len(eye), axis=0), np.tile(eye, (len(light), 1))
    a, b = (fabric_gains(fabric.arrays(), *pairs) for fabric in (one, other))
    return bool(np.all(np.abs(a - b) <= tolerance * np.maximum(a, b) + 1e-9))


def _directions(angles_rad: np.ndarray, turns: int) -> np.ndarray:
    """Unit vectors (n, 3) at angles from the normal, `turns` azimuths each, none of them an axis of symmetry."""
    t, p = np.meshgrid(angles_rad, 2.0 * np.pi * (np.arange(turns) + 0.13) / turns, indexing="ij")
    return np.ascontiguousarray(np.stack([np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)], axis=-1).reshape(-1, 3))


def _smooth_end(fabric: Fabric, end: float) -> float:
    """The albedo nearest to an end of the band that a smooth lobe has; the fabric's own where even that has none.

    Source: bisection on what the lobe says of itself: no albedo beyond its reach, no note of a spike or a table top.
    """
    inside, outside = sheet_albedo(fabric), end
    if _smooth(fabric, outside):
        return outside
    for _ in range(_STEPS):
        middle = 0.5 * (inside + outside)
        if _smooth(fabric, middle):
            inside = middle
        else:
            outside = middle
    return inside


def _smooth(fabric: Fabric, albedo: float) -> bool:
    shape = _shape(fabric, GAUSSIAN)
    if shape.plain:
        return profile_of_albedo(shape.half_gain_rad, albedo / fabric.gain)[1]
    return with_lobe(fabric, GAUSSIAN, albedo) is not None


def _shape(fabric: Fabric, lobe: str) -> PairShape:
    """What `fabric_from_pair` would make of this fabric's numbers with another lobe; the entrance fall-off is kept."""
    up = None if fabric.half_gain_up_deg is None else math.radians(fabric.half_gain_up_deg)
    fall = max((each.fall for each in fabric.lobes if isinstance(each, Lobe)), default=0.0)
    return PairShape(math.radians(fabric.half_gain_deg or 0.0), lobe, up, fall)


def with_lobe(fabric: Fabric, lobe: str, albedo: float) -> Fabric | None:
    """The fabric with another lobe and albedo of the sheet, all else that is stated of it kept; None where there is none.

    lobe    one of materials.pair.LOBES;  albedo  [1]
    Source: `fabric_from_pair`, which judges energy and what goes together; holes are put back as they were.
    """
    fall, holes = _shape(fabric, lobe).fall, [each for each in fabric.lobes if isinstance(each, HoleLobe)]
    entrance = math.degrees(math.asin(min(1.0, math.sqrt(0.5 * math.log(2.0) / fall)))) if fall > 0.0 else None
    try:
        other = fabric_from_pair(
            name=fabric.name,
            gain=fabric.gain,
            half_gain_deg=fabric.half_gain_deg,
            half_gain_up_deg=fabric.half_gain_up_deg,
            kind=fabric.kind,
            albedo=albedo,
            lobe=lobe,
            tint=fabric.tint,
            source=fabric.source,
            entrance_half_deg=entrance,
            holes=Holes(fabric.open_area, fabric.perforation),
        )
    except FabricError:
        return None
    through = sum(each.gain * each.unit_albedo() for each in holes)
    return letting_through_as(replace(other, lobes=(*other.lobes, *holes), albedo=other.albedo + through), fabric)


def model_variants(scene: Scene) -> tuple[Axis, list[Variant]]:
    """The axis of fabric models of a scene and its variants, the scene's own model first."""
    models = fabric_models(scene.screen.fabric)
    axis = Axis(AXIS, tuple(Setting(name) for name, _ in models))
    variants = [
        Variant(name, (name,), (), replace(scene, screen=replace(scene.screen, fabric=fabric))) for name, fabric in models
    ]
    return axis, variants


def model_spreads(variants: Sequence[Variant], paired: Sequence[Paired]) -> tuple[ModelSpread, ...]:
    """Spread of every figure at every seat over models that were measured together. Source: range over the models."""
    found = []
    for i, seat in enumerate(paired[0].seats.scene.seats):
        figures = [seat_figures(each.seats, i) for each in paired]
        for figure, own in figures[0].items():
            values = [estimate(each[figure]) for each in figures]
            low = min(range(len(values)), key=lambda k: values[k].value)
            high = max(range(len(values)), key=lambda k: values[k].value)
            width = values[high].value - values[low].value
            found.append(
                ModelSpread(
                    seat.name,
                    figure,
                    estimate(own),
                    values[low],
                    variants[low].label,
                    values[high],
                    variants[high].label,
                    width / abs(values[0].value) if values[0].value else 0.0,
                )
            )
    return tuple(found)
