"""From a hang to the folds it makes: a low, a typical and a high shape, each effect with a sentence on its origin and trust."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .creases import VGroove
from .edges import EdgeCurl, Swing
from .hanging import Hang, Hanging
from .mechanics import (
    GRAVITY,
    amplitude_of_excess,
    beam_deflection_m,
    beam_end_slope,
    cord_pull_n_per_m,
    curl_curvature,
    draping_length_m,
    mean_convergence,
    pendulum_period_s,
    tube_inertia_m4,
    tube_kg_per_m,
    wrinkle_wavelength_m,
)
from .shape import Across, Fold, Growth
from .waves import Wave

LEVELS = ("low", "typical", "high")
GROOVE_DIAGONAL_M = 2.54  # 100 inches: common practice, no source
GROOVE_SET = (0.0, 0.05, 0.2)  # share of the pull's strain that stays as excess length; our own guess


@dataclass(frozen=True)
class Effect:
    """One thing a hang does: a sentence for the user, figures by name, and folds by level.

    figures  the unit stands in the name, none: [1];  folds  a level at which nothing happens has no entry
    """

    name: str
    sentence: str
    figures: dict[str, float]
    folds: dict[str, tuple[Fold, ...]]


def effects_of(hanging: Hanging, *, width_m: float, height_m: float) -> tuple[Effect, ...]:
    """Everything a hang does to a white area of width_m x height_m [m].

    A fixed frame and a hang declared flat do nothing. Source: each effect's own function.
    """
    if hanging.flat:
        return ()
    if hanging.hang is Hang.TAB_TENSIONED:
        return (_cords(hanging, height_m), _pendulum(hanging, height_m))
    found = [_roller(hanging, height_m), _curl(hanging, width_m, height_m)]
    if hanging.hang is Hang.PULL_DOWN and math.hypot(width_m, height_m) > GROOVE_DIAGONAL_M:
        found.append(_groove(hanging, height_m))
    return (*found, _pendulum(hanging, height_m))


def folds_at(effects: tuple[Effect, ...], level: str) -> tuple[Fold, ...]:
    """All folds of a level: "low", "typical" or "high"; none for any other word."""
    return tuple(fold for effect in effects for fold in effect.folds.get(level, ()))


def _load(hanging: Hanging) -> float:
    """Weight on the tube per length [N/m]: its own, the cloth's and the bar's."""
    tube = tube_kg_per_m(
        diameter_m=hanging.tube_diameter_m, wall_m=hanging.tube_wall_m, density_kg_m3=hanging.tube_density_kg_m3
    )
    hung = hanging.areal_weight_kg_m2 * hanging.drop_m + hanging.bar_kg / hanging.width_m
    return GRAVITY * (tube + hung)


def wave_length_m(hanging: Hanging) -> float:
    """Wavelength [m] of upright wrinkles half-way down the sheet, under the tension of what hangs below.

    Source: `wrinkle_wavelength_m` with the distance from the tube as length, the local form of the wrinkling hierarchy.
    """
    half = 0.5 * hanging.drop_m
    tension = GRAVITY * (hanging.areal_weight_kg_m2 * half + hanging.bar_kg / hanging.width_m)
    return wrinkle_wavelength_m(stiffness_nm=hanging.stiffness_nm, tension_n_per_m=tension, length_m=half)


def _roller(hanging: Hanging, height_m: float) -> Effect:
    inertia = tube_inertia_m4(diameter_m=hanging.tube_diameter_m, wall_m=hanging.tube_wall_m)
    beam = {
        "load_n_per_m": _load(hanging),
        "length_m": hanging.width_m,
        "modulus_pa": hanging.tube_modulus_pa,
        "inertia_m4": inertia,
    }
    sag, slope = beam_deflection_m(**beam), beam_end_slope(**beam)
    wavelength = wave_length_m(hanging)
    excess = {
        "low": 8.0 * sag**2 / (3.0 * hanging.width_m**2),
        "typical": sag / hanging.drop_m,
        "high": mean_convergence(end_slope=slope, length_m=hanging.width_m, depth_m=hanging.drop_m),
    }
    excess["high"] = max(excess["high"], excess["typical"])
    growth = Growth(0.5 * height_m, height_m, 0.5, hanging.lead_m)
    amplitude = {level: amplitude_of_excess(excess=e, wavelength_m=wavelength) for level, e in excess.items()}
    return Effect(
        name="roller waves",
        sentence=(
            f"The tube sags {1e3 * sag:.2f} mm (simply supported beam, textbook); that this becomes upright waves of "
            f"{100 * wavelength:.0f} cm and {1e3 * amplitude['low']:.1f} to {1e3 * amplitude['high']:.1f} mm is our own "
            "scale estimate, unverified: low is the arc's slack alone, typical the sag over the drop, high the gathering "
            "of threads square to the bent tube. Draw no verdict from the typical value alone."
        ),
        figures={
            "tube_sag_m": sag,
            "tube_end_slope": slope,
            "load_n_per_m": beam["load_n_per_m"],
            "wavelength_m": wavelength,
            **{f"amplitude_{level}_m": value for level, value in amplitude.items()},
        },
        folds={level: (Wave(value, wavelength, Across(), growth),) for level, value in amplitude.items() if value > 0},
    )


def _curl(hanging: Hanging, width_m: float, height_m: float) -> Effect:
    reach = draping_length_m(stiffness_nm=hanging.stiffness_nm, areal_weight_kg_m2=hanging.areal_weight_kg_m2)
    curvature = curl_curvature(strain=hanging.curl_strain, thickness_m=hanging.thickness_m)
    band = reach - hanging.border_m
    factor = {"low": 0.0, "typical": 1.0, "high": 10.0 / 3.0}
    half = (0.5 * width_m, 0.5 * height_m)
    folds: dict[str, tuple[Fold, ...]] = {}
    if band > 1e-3:
        for level, times in factor.items():
            if times > 0 and curvature > 0:
                folds[level] = (EdgeCurl(0.5 * times * curvature * band**2, band, ("left", "right"), half),)
    where = (
        f"within {1e3 * band:.0f} mm of the white area's sides" if folds else "on the masking only, outside the white area"
    )
    return Effect(
        name="edge curl",
        sentence=(
            f"Free edges curl over about the draping length, {1e3 * reach:.0f} mm, {where}; curvature {curvature:.2f} /m "
            "from two layers that differ in length (Timoshenko 1925); how much they differ is our own guess, low none, "
            "high 10/3 of typical."
        ),
        figures={"draping_length_m": reach, "curvature_per_m": curvature, "band_m": max(band, 0.0)},
        folds=folds,
    )


def _groove(hanging: Hanging, height_m: float) -> Effect:
    fan = 0.5 * hanging.drop_m
    strain = hanging.pull_n / (hanging.modulus_pa * hanging.thickness_m * fan)
    width = 0.4 * height_m
    rounding = draping_length_m(stiffness_nm=hanging.stiffness_nm, areal_weight_kg_m2=hanging.areal_weight_kg_m2)
    growth = Growth(0.5 * height_m, height_m, 1.0, hanging.lead_m)
    slope = {level: math.sqrt(2.0 * share * strain) for level, share in zip(LEVELS, GROOVE_SET, strict=True)}
    folds: dict[str, tuple[Fold, ...]] = {
        level: (VGroove(0.5 * width * s, width, rounding, math.radians(30.0), 0.0, -0.5 * height_m, growth),)
        for level, s in slope.items()
        if s > 0
    }
    return Effect(
        name="v-groove",
        sentence=(
            f"Above 100 inches a repeated pull of {hanging.pull_n:g} N at the middle of the bar leaves a V (common "
            f"practice, no source): it strains the cloth by {100 * strain:.2f} %, of which {100 * GROOVE_SET[1]:g} % "
            f"(typical) to {100 * GROOVE_SET[2]:g} % (high) is taken to stay as slack; that share is our own guess."
        ),
        figures={"strain": strain, **{f"slope_{level}": value for level, value in slope.items()}},
        folds=folds,
    )


def _cords(hanging: Hanging, height_m: float) -> Effect:
    pull = cord_pull_n_per_m(tension_n=hanging.cord_tension_n, depth_m=hanging.cord_depth_m, height_m=height_m)
    strain = pull / (hanging.modulus_pa * hanging.thickness_m)
    inertia = tube_inertia_m4(diameter_m=hanging.tube_diameter_m, wall_m=hanging.tube_wall_m)
    sag = beam_deflection_m(
        load_n_per_m=_load(hanging),
        length_m=hanging.width_m,
        modulus_pa=hanging.tube_modulus_pa,
        inertia_m4=inertia,
    )
    return Effect(
        name="side cords",
        sentence=(
            f"Cords at {hanging.cord_tension_n:g} N in edges {1e3 * hanging.cord_depth_m:.0f} mm deep pull sideways with "
            f"{pull:.2f} N/m (rope under even load) and take up {1e6 * strain:.0f} millionths of slack; the sheet is taken "
            f"as free of upright folds (common practice, no source), though the tube's sag of {1e3 * sag:.2f} mm could "
            "make more slack than that: a stiff tube matters."
        ),
        figures={"cord_pull_n_per_m": pull, "slack_taken_up": strain, "tube_sag_m": sag},
        folds={},
    )


def _pendulum(hanging: Hanging, height_m: float) -> Effect:
    period = pendulum_period_s(drop_m=hanging.drop_m, sheet_kg=hanging.sheet_kg, bar_kg=hanging.bar_kg)
    return Effect(
        name="swing",
        sentence=(
            f"As a pendulum (uniform sheet and bar, small swing, textbook) it swings with a period of {period:.2f} s; the "
            f"swing of {1e3 * hanging.swing_m:g} mm at the bar, for which the picture's shift is told, is only an example."
        ),
        figures={"period_s": period, "swing_m": hanging.swing_m},
        folds={},
    )


def swung(hanging: Hanging, height_m: float) -> Swing:
    """The sheet at the end of its swing towards the seats; height_m of the white area [m]. Source: `Swing`."""
    return Swing(hanging.swing_m, 0.5 * height_m + hanging.lead_m, hanging.drop_m)
