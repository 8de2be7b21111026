"""What side cords do: how the bar's weight parts between cords and cloth, and the lines that their tabs draw at the edges."""

from __future__ import annotations

import math
from typing import NamedTuple

from .effect import Effect
from .hanging import CORD_SHARE, Hang, Hanging
from .level import LEVELS, Level
from .mechanics import GRAVITY, cord_pull_n_per_m, tab_reach_m
from .tab_lines import TabLines

# By level: share of the bar's weight on the cords, and how far tabs hold the edge off the cloth's plane, half a cord and its
# pocket [m]. Our own guesses; at a share of 1 the cloth hangs on nothing but itself.
SHARE: dict[Level, float] = {"low": 0.5, "typical": CORD_SHARE, "high": 0.95}
OFFSET_M: dict[Level, float] = {"low": 0.0005, "typical": 0.001, "high": 0.002}
LEAST_SLOPE = (
    1e-4  # slopes below it are left out: 0.04 % of luminance where light falls at 75 degrees, a tenth of what an eye sees
)


class Tension(NamedTuple):
    """Tensions of the sheet half-way down [N/m], and of each cord [N]; no cords: 0."""

    upright_n_per_m: float
    sideways_n_per_m: float
    cord_n: float


def at_level(hanging: Hanging, level: Level) -> Tension:
    """Tensions of a level. A cord never carries more than half the bar: what would be more lifts the bar until it is that.

    Source: statics: bar = cloth + two cords; rope under even load for the pull sideways.
    """
    bar, cloth = GRAVITY * hanging.bar_kg, 0.5 * GRAVITY * hanging.areal_weight_kg_m2 * hanging.drop_m
    if hanging.hang != Hang.TAB_TENSIONED:
        return Tension(cloth + bar / hanging.width_m, 0.0, 0.0)
    cord = 0.5 * SHARE[level] * bar if "cord_tension_n" in hanging.assumed else min(hanging.cord_tension_n, 0.5 * bar)
    pull = cord_pull_n_per_m(tension_n=cord, depth_m=hanging.cord_depth_m, height_m=hanging.drop_m)
    return Tension(cloth + (bar - 2.0 * cord) / hanging.width_m, pull, cord)


def cords_of(hanging: Hanging, width_m: float) -> Effect:
    """Side cords, their pull, the bow of the edge between tabs and the lines at them; width_m of the white area [m].

    Between tabs the edge moves by 2 pull spacing / (2 pi E t) in the cloth's own plane (half-plane under a cosine load, textbook).
    Source: `tab_reach_m` for the lines, `at_level` for the tensions.
    """
    tensions = {level: at_level(hanging, level) for level in LEVELS}
    lines = {level: _lines(hanging, width_m, level) for level in LEVELS}
    seen = {level: line for level, line in lines.items() if _steepest(line, width_m) >= LEAST_SLOPE}
    typical = tensions["typical"]
    bow = typical.sideways_n_per_m * hanging.tab_spacing_m / (math.pi * hanging.modulus_pa * hanging.thickness_m)
    at_edge = {level: line.amplitude_m * math.exp(-hanging.border_m / line.reach_m) for level, line in lines.items()}
    heights = " / ".join(f"{1e3 * at_edge[level]:.2g}" for level in LEVELS)
    return Effect(
        name="side cords",
        sentence=(
            f"Cords at {typical.cord_n:.0f} N in edges {1e3 * hanging.cord_depth_m:.0f} mm deep pull sideways with "
            f"{typical.sideways_n_per_m:.2f} N/m (rope under even load, textbook); in its own plane the edge bows by "
            f"{1e3 * bow:.2g} mm between tabs. Across it tabs {1e3 * hanging.tab_spacing_m:.0f} mm apart draw lines that die away "
            f"inwards over {' / '.join(f'{1e3 * lines[level].reach_m:.0f}' for level in LEVELS)} mm (membrane, derived); at the "
            f"white area's edge {heights} mm are left at low / typical / high. The offset of the tabs and the bar's share on the "
            "cords are our own guesses."
        ),
        figures={
            "cord_pull_n_per_m": typical.sideways_n_per_m,
            "cord_tension_n": typical.cord_n,
            "edge_bow_m": bow,
            **{f"reach_{level}_m": lines[level].reach_m for level in LEVELS},
            **{f"amplitude_{level}_m": at_edge[level] for level in LEVELS},
        },
        folds={level: (line,) for level, line in seen.items()},
    )


def _lines(hanging: Hanging, width_m: float, level: Level) -> TabLines:
    tension = at_level(hanging, level)
    reach = tab_reach_m(
        spacing_m=hanging.tab_spacing_m,
        sideways_n_per_m=max(tension.sideways_n_per_m, 1e-9),
        upright_n_per_m=tension.upright_n_per_m,
        stiffness_nm=hanging.stiffness_nm,
    )
    return TabLines(0.5 * OFFSET_M[level], hanging.tab_spacing_m, reach, 0.5 * width_m + hanging.border_m)


def _steepest(line: TabLines, width_m: float) -> float:
    """Greatest slope of the lines on the white area, width_m wide [1]."""
    left = line.amplitude_m * math.exp(-(line.edge_m - 0.5 * width_m) / line.reach_m)
    return left * max(2.0 * math.pi / line.spacing_m, 1.0 / line.reach_m)
