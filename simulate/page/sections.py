"""Sections of the page on light that comes back, picture level, flatness and fabrics: texts, tables and charts."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...scenes.cloth.notes import flat_words
from ..eye.verdict import STATED_FOR
from ..output.units import TYPESET, figure
from . import tables
from .charts import Charts, fold_seats, worst_at_levels
from .evidence import CONTRAST, Evidence
from .pairs import surface_words


def returned_light(evidence: Evidence, charts: Charts) -> dict[str, Any]:
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
        "chart": charts.costs,
        "table": tables.cost_table(evidence),
    }


def picture_levels(evidence: Evidence, charts: Charts) -> dict[str, Any]:
    """Contrast against the average level of the picture. Texts and charts by the names that page.html has."""
    curve = evidence.levels
    at = worst_at_levels(evidence)
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
        "chart": charts.levels,
        "dark": f"{at[5.0]:.0f}",
        "white": f"{at[100.0]:.0f}",
        "table": tables.PageTable("Contrast of a small white to a small black detail", ("average level", *curve.seats), rows),
    }


def flatness(evidence: Evidence, charts: Charts) -> dict[str, Any]:
    """Folds as seats see them: maps, verdicts, what they come from. Texts and charts by the names that page.html has."""
    found = evidence.measurement
    folds = found.folds
    if folds.flat:
        return {"flat": True, "hang": found.scene.screen.hang, "words": flat_words(found.scene.screen)}
    level = "typical" if folds.stated else "high"
    maps = []
    for i in fold_seats(evidence):
        reading = folds.seats[i].levels[level]
        verdict = (
            f"brightness {reading.luminance.word} ({reading.visible.ratio:.2g} times the threshold), geometry "
            f"{reading.geometry.word} ({reading.warp.peak_to_peak_arcmin:.2g} arc min of warp)"
        )
        name = evidence.seats[i]
        said = f"Two maps of the screen as {name} sees it: brightness against a flat screen, and shift of the picture. {verdict}."
        maps.append({"seat": name, "url": charts.folds[i], "said": said, "verdict": verdict})
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


def fabric(evidence: Evidence, charts: Charts, k: int) -> dict[str, Any]:
    """A fabric of the page, the k-th, with what its numbers leave open. Texts and charts by the names that page.html has."""
    band = evidence.bands[k]
    fabric = band.fabric
    low, high = fabric.albedo_band
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
        "chart": charts.bands[k],
        "contrast": (figure(contrast.own), figure(contrast.least), figure(contrast.greatest)),
        "table": tables.band_table(evidence, k) if band.open else None,
        "notes": fabric.notes,
    }
