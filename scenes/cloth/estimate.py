"""From a hang to the folds it makes: a low, a typical and a high shape, each effect with a sentence on its origin and trust."""

from __future__ import annotations

import math

from ...materials.hangs import HANGS, Hang
from ...materials.text.word import check_word
from .cords import cords_of
from .creases import VGroove
from .edges import EdgeCurl, Swing
from .effect import Effect
from .hanging import Hanging
from .level import LEVELS, Level, check_level
from .mechanics import curl_curvature, draping_length_m, pendulum_period_s
from .roller import gathering
from .shape import Fold, Growth

GROOVE_DIAGONAL_M = 2.54  # 100 inches: common practice, no source
GROOVE_SET = (0.0, 0.05, 0.2)  # share of the pull's strain that stays as excess length; our own guess


def effects_of(hanging: Hanging, *, width_m: float, height_m: float) -> tuple[Effect, ...]:
    """Everything a hang does to a white area of width_m x height_m [m].

    A fixed frame and a hang declared flat do nothing: such a cloth is taken as flat, not judged.
    raises UnknownWord for another hang
    Source: each effect's own function.
    """
    check_word("hang", hanging.hang, HANGS)
    if hanging.flat:
        return ()
    if hanging.hang == Hang.TAB_TENSIONED:
        return (gathering(hanging, height_m), cords_of(hanging, width_m), _pendulum(hanging))
    found = [gathering(hanging, height_m), _curl(hanging, width_m, height_m)]
    if hanging.hang == Hang.PULL_DOWN and math.hypot(width_m, height_m) > GROOVE_DIAGONAL_M:
        found.append(_groove(hanging, height_m))
    return (*found, _pendulum(hanging))


def folds_at(effects: tuple[Effect, ...], level: Level) -> tuple[Fold, ...]:
    """All folds of a level: "low", "typical" or "high".

    raises UnknownWord for another level
    """
    check_level(level)
    return tuple(fold for effect in effects for fold in effect.folds.get(level, ()))


def _curl(hanging: Hanging, width_m: float, height_m: float) -> Effect:
    reach = draping_length_m(stiffness_nm=hanging.stiffness_nm, areal_weight_kg_m2=hanging.areal_weight_kg_m2)
    curvature = curl_curvature(strain=hanging.curl_strain, thickness_m=hanging.thickness_m)
    band = reach - hanging.border_m
    factor: dict[Level, float] = {"low": 0.0, "typical": 1.0, "high": 10.0 / 3.0}
    half = (0.5 * width_m, 0.5 * height_m)
    folds: dict[Level, tuple[Fold, ...]] = {}
    if band > 1e-3:
        for level, times in factor.items():
            if times > 0 and curvature > 0:
                folds[level] = (EdgeCurl(0.5 * times * curvature * band**2, band, ("left", "right"), half),)
    where = f"within {1e3 * band:.0f} mm of the white area's sides" if folds else "on the masking only, outside the white area"
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
    folds: dict[Level, tuple[Fold, ...]] = {
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


def _pendulum(hanging: Hanging) -> Effect:
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
