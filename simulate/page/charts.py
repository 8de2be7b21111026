"""The drawings of the page: made from the evidence before its pictures have come, since they need none of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.frozen import FrozenDict
from ..output.finishes.chart import finishes_figure
from ..output.folds.map import folds_figure
from ..output.levels.chart import levels_figure
from ..output.measure.plan import plan_figure
from ..output.units import figure
from .elevation import elevation
from .fabric_band import band_figure, lobe_angles_deg
from .seat_pictures import data_url, figure_jpeg
from .svg import inline_svg

if TYPE_CHECKING:
    from .evidence import Evidence


@dataclass(frozen=True)
class Charts:
    """SVG elements, and fold maps as URLs that hold them, by the place of the seat; "" where there is nothing to draw.

    bands  one entry a fabric of the evidence
    """

    plan: str
    side: str
    costs: str
    levels: str
    bands: tuple[str, ...]
    folds: Mapping[int, str]


def charts_of(evidence: Evidence) -> Charts:
    """All drawings of a page. Its pictures need not have come yet."""
    return Charts(
        _plan(evidence),
        _side(evidence),
        _costs(evidence),
        _levels(evidence),
        tuple(band_chart(evidence, k) for k in range(len(evidence.bands))),
        FrozenDict(
            {seat: data_url(figure_jpeg(folds_figure(evidence.measurement, seat, small=True))) for seat in fold_seats(evidence)}
        ),
    )


def fold_seats(evidence: Evidence) -> tuple[int, ...]:
    """Seats whose fold maps are shown, the worst first; none where the cloth is flat."""
    folds = evidence.measurement.folds
    if folds.flat:
        return ()
    level = "typical" if folds.stated else "high"
    worst = max(range(len(folds.seats)), key=lambda i: folds.seats[i].levels[level].visible.ratio)
    return tuple(dict.fromkeys((worst, *evidence.shown)))


def _plan(evidence: Evidence) -> str:
    found = evidence.measurement
    room, screen = found.scene.room, found.scene.screen
    said = (
        f"Plan of the room, {room.width_m:.2f} by {room.depth_m:.2f} m, screen wall at the top: screen {screen.width_m:.2f} m "
        f"wide, lens, beam, seats {seats_named(evidence)}, each with its luminance in cd/m²."
    )
    return inline_svg(plan_figure(found), "plan", said)


def seats_named(evidence: Evidence) -> str:
    """The seats with their numbers, in words."""
    return ", ".join(f"{i} {name}" for i, name in enumerate(evidence.seats, start=1))


def _side(evidence: Evidence) -> str:
    hidden = [f"{each.seat} {100 * each.hidden:.0f} %" for each in evidence.sights if each.hidden >= 0.005]
    said = (
        "The room from the side, screen wall at the left: lines from every seat's eye to the lower and upper edge of the picture; "
        + (f"hidden from {', '.join(hidden)}." if hidden else "nothing is hidden from any seat.")
    )
    return inline_svg(elevation(evidence.measurement.scene, evidence.sights), "side", said)


def _costs(evidence: Evidence) -> str:
    costs, plan = evidence.costs, evidence.plan
    if plan is None:
        return ""
    said = "Bars by surface, from the contrast now to the contrast if that surface were black: " + ", ".join(
        f"{each.name} {figure(each.contrast_black[costs.worst].value)}" for each in costs.surfaces[:5]
    )
    return inline_svg(finishes_figure(costs, plan, small=True), "costs", said)


LEVEL_ENDS = (5.0, 50.0, 100.0)  # [%]: dark film scenes, a checkerboard's level, a white picture


def worst_at_levels(evidence: Evidence) -> dict[float, float]:
    """Contrast [1] at the seat with the least, by average picture level in per cent, at LEVEL_ENDS."""
    curve = evidence.levels
    worst = curve.contrast.min(axis=1)
    return {level: float(np.interp(np.log(level / 100), np.log(curve.level), worst)) for level in LEVEL_ENDS}


def _levels(evidence: Evidence) -> str:
    at = worst_at_levels(evidence)
    said = "Contrast against the average level of the picture, falling: " + ", ".join(
        f"{figure(at[level])} at {level:g} %" for level in LEVEL_ENDS
    )
    return inline_svg(levels_figure(evidence.levels, small=True), "levels", said)


def band_chart(evidence: Evidence, k: int) -> str:
    """The k-th fabric's gain curve with what is open of it, and where the seats lie; "" where nothing is open."""
    band = evidence.bands[k]
    fabric, places = band.fabric, evidence.measurement.geometry
    if not band.open:
        return ""
    half = "" if fabric.half_gain_deg is None else f", half of it at {fabric.half_gain_deg:g} degrees"
    said = (
        f"Gain of {fabric.name} against the angle: {fabric.gain:g} at the middle{half}; a band of all curves that share what is "
        "stated of it, and where the seats lie."
    )
    degrees = lobe_angles_deg([place.lobe_angle_deg for place in places]) if k == 0 else []
    return inline_svg(band_figure(band, degrees), f"band-{k + 1}", said)
