"""Sections of the page on light that comes back, picture level, flatness and fabrics: texts, tables and charts."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...scenes.cloth.notes import flat_words
from ..eye.verdict import STATED_FOR
from ..output.finishes.chart import finishes_figure
from ..output.folds.map import folds_figure
from ..output.levels.chart import levels_figure
from ..output.units import TYPESET, figure
from . import tables
from .evidence import CONTRAST, Evidence
from .fabric_band import band_figure, lobe_angles_deg
from .pairs import surface_words
from .seat_pictures import data_url, figure_jpeg
from .svg import inline_svg


def returned_light(evidence: Evidence) -> dict[str, Any]:
    """Wash-out by surface, and what to repaint first. Texts and charts by the names that page.html has."""
    costs, plan = evidence.costs, evidence.plan
    now = costs.contrast_now[costs.worst].value
    steps = []
    before = now
    for step in evidence.steps:
        gain = 100.0 * (step.contrast.value / before - 1.0)
        steps.append(
            (surface_words(step.surface), step.before.name, step.finish.name, figure(step.contrast.value), f"+{gain:.0f} %")
        )
        before = step.contrast.value
    said = "Bars by surface, from the contrast now to the contrast if that surface were black: " + ", ".join(
        f"{each.name} {figure(each.contrast_black[costs.worst].value)}" for each in costs.surfaces[:5]
    )
    goal = ""
    if plan is not None and plan.found.choice is not None and plan.changes:
        each = ", ".join(f"{surface_words(name)} in {finish.name}" for name, finish in plan.changes.items())
        wanted = TYPESET.written(f"{plan.target:g}", ":1")
        goal = f"The least area that brings every seat to {wanted} is {figure(plan.found.cost)} m²: {each}."
    elif plan is not None and plan.found.choice is None:
        best = figure(float(min(plan.found.contrast)))
        wanted = TYPESET.written(f"{plan.target:g}", ":1")
        goal = f"Dark paints and carpets alone do not bring every seat to {wanted}; the darkest choice gives {best}."
    return {
        "now": figure(now),
        "seat": costs.seats[costs.worst],
        "black": figure(costs.contrast_all_black[costs.worst].value),
        "shares": tables.washout_table(evidence.measurement),
        "steps": steps,
        "goal": goal,
        "target": f"{CONTRAST.low:g}",
        "chart": inline_svg(finishes_figure(costs, plan, small=True), "costs", said) if plan is not None else "",
        "table": tables.cost_table(evidence),
    }


def picture_levels(evidence: Evidence) -> dict[str, Any]:
    """Contrast against the average level of the picture. Texts and charts by the names that page.html has."""
    curve = evidence.levels
    worst = curve.contrast.min(axis=1)
    ends = [(5.0, "dark film scenes"), (50.0, "a checkerboard's level"), (100.0, "a white picture")]
    at = {level: float(np.interp(np.log(level / 100), np.log(curve.level), worst)) for level, _ in ends}
    said = "Contrast against the average level of the picture, falling: " + ", ".join(
        f"{figure(at[level])} at {level:g} %" for level, _ in ends
    )
    rows = tuple(
        (
            f"{level:g} %",
            *(
                figure(float(np.interp(np.log(level / 100), np.log(curve.level), curve.contrast[:, i])))
                for i in range(len(curve.seats))
            ),
        )
        for level in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
    )
    return {
        "chart": inline_svg(levels_figure(curve, small=True), "levels", said),
        "dark": f"{at[5.0]:.0f}",
        "white": f"{at[100.0]:.0f}",
        "table": tables.PageTable("Contrast of a small white to a small black detail", ("average level", *curve.seats), rows),
    }


def flatness(evidence: Evidence) -> dict[str, Any]:
    """Folds as seats see them: maps, verdicts, what they come from. Texts and charts by the names that page.html has."""
    found = evidence.measurement
    folds = found.folds
    if folds.flat:
        return {"flat": True, "hang": found.scene.screen.hang, "words": flat_words(found.scene.screen)}
    level = "typical" if folds.stated else "high"
    worst = max(range(len(folds.seats)), key=lambda i: folds.seats[i].levels[level].visible.ratio)
    maps = []
    for i in dict.fromkeys((worst, *evidence.pictures[0].seats)):
        reading = folds.seats[i].levels[level]
        verdict = (
            f"brightness {reading.luminance.word} ({reading.visible.ratio:.2g} times the threshold), geometry "
            f"{reading.geometry.word} ({reading.warp.peak_to_peak_arcmin:.2g} arc min of warp)"
        )
        name = evidence.seats[i]
        said = f"Two maps of the screen as {name} sees it: brightness against a flat screen, and shift of the picture. {verdict}."
        maps.append(
            {"seat": name, "url": data_url(figure_jpeg(folds_figure(found, i, small=True))), "said": said, "verdict": verdict}
        )
    return {
        "flat": False,
        "hang": found.scene.screen.hang,
        "stated": folds.stated,
        "level": level,
        "maps": maps,
        "table": tables.fold_table(found),
        "effects": [effect.sentence for effect in folds.effects],
        "for": STATED_FOR,
    }


def fabric(evidence: Evidence, k: int) -> dict[str, Any]:
    """A fabric of the page, the k-th, with what its numbers leave open. Texts and charts by the names that page.html has."""
    band = evidence.bands[k]
    fabric, places = band.fabric, evidence.measurement.geometry
    low, high = fabric.albedo_band
    chart = ""
    if band.open:
        half = "" if fabric.half_gain_deg is None else f", half of it at {fabric.half_gain_deg:g} degrees"
        said = (
            f"Gain of {fabric.name} against the angle: {fabric.gain:g} at the middle{half}; a band of all curves that share what is "
            "stated of it, and where the seats lie."
        )
        degrees = lobe_angles_deg([place.lobe_angle_deg for place in places]) if k == 0 else []
        chart = inline_svg(band_figure(band, degrees), f"band-{k + 1}", said)
    contrast = min(band.contrast, key=lambda spread: spread.own)
    return {
        "name": fabric.name,
        "role": "as planned" if k == 0 else "as advised",
        "kind": fabric.kind,
        "gain": f"{fabric.gain:g}",
        "half": "" if fabric.half_gain_deg is None else f"{fabric.half_gain_deg:g}",
        "albedo": f"{fabric.albedo:.2f}" + ("" if fabric.albedo_given else f" ({low:.2f} to {high:.2f} is open)"),
        "open": band.open,
        "stated": band.stated,
        "models": band.models[1:],
        "chart": chart,
        "contrast": (figure(contrast.own), figure(contrast.least), figure(contrast.greatest)),
        "table": tables.band_table(evidence, k) if band.open else None,
        "notes": fabric.notes,
    }
