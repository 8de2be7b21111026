"""What a fabric's two numbers leave open: the same gain and half-gain angle as several models, and the spread they make."""
from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...materials.fabric import ANGULAR, RETRO, Fabric
from ...materials.pair import LOBES, profile_of_albedo
from ...materials.solve import FabricError, fabric_from_pair
from ...scenes.model import Scene
from ..estimate import Estimate, estimate
from .axes import Axis, Choice
from .figures import Figure, seat_figures
from .together import Paired
from .variants import Variant

AXIS = "fabric model"
_STEPS = 24  # halvings of the albedo band


@dataclass(frozen=True)
class ModelSpread:
    """A figure of one seat over all models: of the scene's own model, least, greatest, (greatest - least) / own [1]."""

    seat: str
    figure: Figure
    reference: Estimate
    least: Estimate
    least_model: str
    greatest: Estimate
    greatest_model: str
    relative: float


def fabric_models(fabric: Fabric) -> list[tuple[str, Fabric]]:
    """The scene's fabric first, then other models with the same gain and half-gain angle, named.

    The other lobes come with the same albedo; where no albedo was stated, the least and the greatest
    that a smooth lobe on a diffuse base reaches come too (the very ends of the energy band are spikes and table tops that
    no sheet is). A diffuse, louvred or measured fabric has one model.
    Source: energy limits of a falling gain curve; see materials/judge.py.
    """
    models = [("as the scene has it", fabric)]
    if fabric.half_gain_deg is None or fabric.kind not in (ANGULAR, RETRO):
        return models
    models += [(name, other) for name, other in _families(fabric) if not _same(other, fabric)]
    if not fabric.albedo_given:
        for name, end in zip(("least albedo", "greatest albedo"), fabric.albedo_band, strict=True):
            albedo = _smooth_end(fabric, end)
            if abs(albedo - fabric.albedo) > 0.005:
                models.append((f"{name}, {albedo:.2f}", _with_albedo(fabric, albedo)))
    return models


def _same(one: Fabric, other: Fabric) -> bool:
    """True where two fabrics have the same gain curve to rounding, 0 to 80 degrees off the normal."""
    angles = np.radians(np.arange(0.0, 85.0, 5.0))
    return bool(np.allclose(one.profile.gain(angles), other.profile.gain(angles), rtol=1e-3))


def _smooth_end(fabric: Fabric, end: float) -> float:
    """The albedo nearest to an end of the band that a smooth lobe has; the fabric's own where even that has none.

    Source: bisection on `profile_of_albedo`'s own word.
    """
    half_gain_rad = math.radians(fabric.half_gain_deg or 0.0)
    inside, outside = fabric.albedo, end
    if profile_of_albedo(half_gain_rad, outside / fabric.gain)[1]:
        return outside
    for _ in range(_STEPS):
        middle = 0.5 * (inside + outside)
        if profile_of_albedo(half_gain_rad, middle / fabric.gain)[1]:
            inside = middle
        else:
            outside = middle
    return inside


def _with_albedo(fabric: Fabric, albedo: float, **more: Any) -> Fabric:
    return fabric_from_pair(
        name=fabric.name,
        gain=fabric.gain,
        half_gain_deg=fabric.half_gain_deg,
        kind=fabric.kind,
        albedo=albedo,
        tint=fabric.tint,
        open_area=fabric.open_area,
        source=fabric.source,
        **more,
    )


def _families(fabric: Fabric) -> list[tuple[str, Fabric]]:
    """The other lobes of materials/pair.py with this gain, angle and albedo; those that do not reach it are left out."""
    found = []
    for lobe in LOBES:
        try:
            found.append((f"{lobe} lobe", _with_albedo(fabric, fabric.albedo, lobe=lobe)))
        except FabricError:
            continue
    return found


def model_variants(scene: Scene) -> tuple[Axis, list[Variant]]:
    """The axis of fabric models of a scene and its variants, the scene's own model first."""
    models = fabric_models(scene.screen.fabric)
    axis = Axis(AXIS, tuple(Choice(name) for name, _ in models))
    variants = [
        Variant(name, (name,), (), dataclasses.replace(scene, screen=dataclasses.replace(scene.screen, fabric=fabric)))
        for name, fabric in models
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
                    seat.name, figure, estimate(own), values[low], variants[low].label, values[high],
                    variants[high].label, width / abs(values[0].value) if values[0].value else 0.0,
                )
            )  # fmt: skip
    return tuple(found)

