"""The JSON document of `compare`: variants with their figures, differences from the first one, turned rankings."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

from ....scenes.model import Scene
from ...choices.comparison import Comparison
from ...choices.differences import Difference
from ...choices.fabric_models import ModelSpread
from ...choices.figures import Figure, seat_figures
from ...choices.turns import Turn
from ...folds.multiples import AMPLITUDES_M, WAVE_M, Multiple
from ...measuring.estimate import Estimate, estimate
from ...measuring.targets import UPPER_BOUND, echo_note
from ..cautions import CAUTIONS
from .folds_table import fold_entry

FORMAT = "halfgain.compare/1"


def compare_document(comparison: Comparison, spread: tuple[ModelSpread, ...] = ()) -> dict[str, Any]:
    """A comparison as plain dictionaries, lists and numbers; units stand in the keys.

    Source: the project's form of `measure --json`: every estimate with standard error and bias bound.
    """
    scene = comparison.variants[0].scene
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "seed": comparison.seed,
        "paths_each": comparison.paired[0].measurement.paths,
        "elapsed_s": comparison.elapsed_s,
        "ledger": None
        if comparison.ledger is None
        else {"file": comparison.ledger.file, "traced_anew": list(comparison.ledger.retraced)},
        "error": {"asked": comparison.error_asked, "reached": comparison.error_reached, "met": comparison.met},
        "scene": {"title": scene.title, "path": scene.path},
        "axes": [{"name": axis.name, "choices": [choice.label for choice in axis.choices]} for axis in comparison.axes],
        "reference": comparison.variants[0].label,
        "variants": [_variant(comparison, i) for i in range(len(comparison.variants))],
        "differences": [
            {"variant": variant.label, **_difference(each)}
            for variant, found in zip(comparison.variants, comparison.differences, strict=True)
            for each in found
        ],
        "light_of_flat_cloth": comparison.taken_flat,
        "turned_rankings": [_turn(turn) for turn in comparison.turns],
        "folds": [
            {"variant": variant.label, **fold_entry(fold)}
            for variant, fold in zip(comparison.variants, comparison.folds, strict=bool(comparison.folds))
        ],
        "fold_multiples": [_multiple(each, scene) for each in comparison.multiples],
        "fabric_models": [model_spread(each) for each in spread],
        "notes": {
            "full_on_off_dark": echo_note(*(variant.scene for variant in comparison.variants)),
            "difference": "called so where it is larger than Student's t x its standard error + its bias bound",
        },
        "cautions": list(CAUTIONS),
    }


def number(value: Estimate) -> dict[str, float]:
    """An estimate as the documents write it."""
    return {"value": float(value.value), "standard_error": float(value.standard_error), "bias_bound": float(value.bias_bound)}


def _variant(comparison: Comparison, index: int) -> dict[str, Any]:
    variant, paired = comparison.variants[index], comparison.paired[index]
    scene = variant.scene
    picks = {axis.name: pick for axis, pick in zip(comparison.axes, variant.picks, strict=True)}
    return {
        "name": variant.label,
        "choices": picks,
        "changes": {".".join(change.path): change.value for change in variant.changes},
        "sha256": scene.sha256,
        "fabric": scene.screen.fabric.name,
        "hang": scene.screen.hang,
        "checkerboard_note": UPPER_BOUND if scene.projector.checkerboard_contrast is None else None,
        "light_output_note": "rated output, not in-use" if scene.projector.in_use is None else None,
        "throw": {
            "ratio": paired.measurement.throw.ratio,
            "feasible": paired.measurement.throw.feasible,
            "remedies": [move._asdict() for move in paired.measurement.throw.remedies],
        },
        "picture_width_deg": {
            seat.name: place.picture_width_deg for seat, place in zip(scene.seats, paired.measurement.geometry, strict=True)
        },
        "warnings": [warning.text for warning in scene.warnings],
        "notes": [*scene.notes, *scene.screen.fabric.notes],
        "seats": [
            {
                "name": seat.name,
                "figures": [
                    {**_figure(figure), **number(estimate(stack))} for figure, stack in seat_figures(paired.seats, i).items()
                ],
            }
            for i, seat in enumerate(scene.seats)
        ],
    }


def _multiple(each: Multiple, scene: Scene) -> dict[str, Any]:
    """One set-up of the small multiples: brightness over the threshold by seat, for each amplitude."""
    seats = [seat.name for seat in scene.seats]
    return {
        "throw": each.throw,
        "fabric": each.fabric,
        "direction": each.direction,
        "wavelength_mm": 1e3 * WAVE_M,
        "threshold_ratio": [
            {"amplitude_mm": 1e3 * amplitude, "by_seat": dict(zip(seats, map(float, ratios), strict=True))}
            for amplitude, ratios in zip(AMPLITUDES_M, each.ratio, strict=True)
        ],
    }


def _figure(figure: Figure) -> dict[str, str]:
    return {"figure": figure.key, "state": figure.state}


def _difference(found: Difference) -> dict[str, Any]:
    return {
        "seat": found.seat,
        **_figure(found.figure),
        "reference": number(found.reference),
        "value": number(found.value),
        "difference": number(found.absolute),
        "relative_difference": number(found.relative),
        "verdict": "difference" if found.found else "no difference found",
    }


def _turn(turn: Turn) -> dict[str, Any]:
    return {
        "axis": turn.axis,
        "seat": turn.seat,
        **_figure(turn.figure),
        "first": turn.first,
        "second": turn.second,
        "second_has_less_with": {"context": turn.ahead, "relative_difference": number(turn.by_ahead)},
        "second_has_more_with": {"context": turn.behind, "relative_difference": number(turn.by_behind)},
    }


def model_spread(spread: ModelSpread) -> dict[str, Any]:
    """Spread of one figure over the admissible models of a fabric."""
    return {
        "seat": spread.seat,
        **_figure(spread.figure),
        "scene_model": number(spread.reference),
        "least": {"model": spread.least_model, **number(spread.least)},
        "greatest": {"model": spread.greatest_model, **number(spread.greatest)},
        "relative_spread": spread.relative,
    }
