"""What the roller tube does: it sags, and the turns that it wound up while it sagged gather the sheet into upright waves."""

from __future__ import annotations

import math

from .cords import at_level
from .effect import Effect
from .gathered import GatheredWaves
from .hanging import Hang, Hanging
from .level import LEVELS, Level
from .mechanics import (
    GRAVITY,
    amplitude_of_excess,
    beam_curvature,
    beam_deflection_m,
    gathered_by_winding,
    tube_inertia_m4,
    tube_kg_per_m,
    wrinkle_wavelength_m,
)

# Turns that stay on the tube and were wound from a straight start while the sheet hung, by level. Common practice, no source:
# one to three; a tensioned sheet is trued on its tube first.
TURNS: dict[Hang, dict[Level, float]] = {
    Hang.PULL_DOWN: {"low": 1.0, "typical": 2.0, "high": 3.0},
    Hang.MOTORISED: {"low": 1.0, "typical": 2.0, "high": 3.0},
    Hang.TAB_TENSIONED: {"low": 0.0, "typical": 0.0, "high": 1.0},
}


def gathering(hanging: Hanging, height_m: float) -> Effect:
    """Upright waves of a sheet on a tube that sags; height_m of the white area [m].

    The tube's sag alone makes none: its threads spread downwards, and plane stress of a hung sheet finds tension everywhere.
    What turns wound under sag have drawn together (`gathered_by_winding`) falls evenly to nothing at the bar, which is as wide
    as the sheet. The sheet's own narrowing under its load, nu T / (E t), and a cord's pull take up part of it; the rest waves.
    Source: derived, a scale estimate; no tube: no waves, no turns: no waves.
    """
    beam = {
        "load_n_per_m": _load(hanging),
        "length_m": hanging.width_m,
        "modulus_pa": hanging.tube_modulus_pa,
        "inertia_m4": tube_inertia_m4(diameter_m=hanging.tube_diameter_m, wall_m=hanging.tube_wall_m),
    }
    sag, curvature = beam_deflection_m(**beam), beam_curvature(**beam)
    waves = {level: _waves(hanging, height_m, curvature, level) for level in LEVELS}
    heights = {level: 0.0 if wave is None else wave.amplitude_m for level, wave in waves.items()}
    highest = waves["high"]
    said = (
        "they leave none here"
        if highest is None
        else (
            f"{' / '.join(f'{1e3 * heights[level]:.1f}' for level in LEVELS)} mm at low / typical / high, about "
            f"{100 * highest.wavelength_m:.0f} cm apart, in the middle below the tube"
        )
    )
    turns = " / ".join(f"{_turns(hanging, level):g}" for level in LEVELS)
    return Effect(
        name="roller waves",
        sentence=(
            f"The tube sags {1e3 * sag:.2f} mm (simply supported beam, textbook). That alone spreads the threads and makes no "
            f"upright waves; turns that were wound while the sheet hung draw them together (normal entry of webs, from memory; "
            f"the rest derived): with {turns} such turns left on the tube (common practice, no source) {said}. A scale estimate "
            "of our own, unverified: draw no verdict from the typical value alone."
        ),
        figures={
            "tube_sag_m": sag,
            "tube_curvature_per_m": curvature,
            "load_n_per_m": beam["load_n_per_m"],
            **{f"wavelength_{level}_m": 0.0 if wave is None else wave.wavelength_m for level, wave in waves.items()},
            **{f"amplitude_{level}_m": heights[level] for level in LEVELS},
        },
        folds={level: (wave,) for level, wave in waves.items() if wave is not None},
    )


def _load(hanging: Hanging) -> float:
    """Weight on the tube per length [N/m]: its own, the cloth's and the bar's, whether the cloth or cords carry that."""
    tube = tube_kg_per_m(diameter_m=hanging.tube_diameter_m, wall_m=hanging.tube_wall_m, density_kg_m3=hanging.tube_density_kg_m3)
    hung = hanging.areal_weight_kg_m2 * hanging.drop_m + hanging.bar_kg / hanging.width_m
    return GRAVITY * (tube + hung)


def _turns(hanging: Hanging, level: Level) -> float:
    return TURNS[hanging.hang][level]


def _waves(hanging: Hanging, height_m: float, curvature: float, level: Level) -> GatheredWaves | None:
    """The waves of a level; None where the sheet's tension takes all of the gathering up.

    With r the share taken up, gathering (1 - x^2 / w^2)(1 - z / H) exceeds it for z < H (1 - r) in the middle and x < w
    sqrt(1 - r) at the tube. Waves a cos(k x) sin^2 have the excess (3 / 8) k^2 a^2 / 4 down the middle thread, whose mean slack
    is half of what the tube end has: a = (wavelength / pi) sqrt(4 excess / 3). The square shortens the wave by (3 / 4)^(1/4).
    """
    wound = _turns(hanging, level) * math.pi * hanging.tube_diameter_m
    gathered = gathered_by_winding(curvature_per_m=curvature, drop_m=hanging.drop_m, wound_m=wound)
    tension = at_level(hanging, level)
    taken = (hanging.poisson * tension.upright_n_per_m + tension.sideways_n_per_m) / (hanging.modulus_pa * hanging.thickness_m)
    if gathered <= taken:
        return None
    left = 1.0 - taken / gathered
    length = left * hanging.drop_m
    wavelength = wrinkle_wavelength_m(
        stiffness_nm=hanging.stiffness_nm, tension_n_per_m=tension.upright_n_per_m, length_m=0.5 * math.sqrt(3.0) * length
    )
    amplitude = amplitude_of_excess(excess=4.0 / 3.0 * (gathered - taken), wavelength_m=wavelength)
    half = 0.5 * hanging.width_m * math.sqrt(left)
    return GatheredWaves(amplitude, wavelength, half, 0.5 * height_m + hanging.lead_m, length)
