"""Folds in the outputs of `measure`: entries of the JSON document, columns of seats.csv, arrays by seat."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from ....scenes.cloth.notes import flat_words
from ....scenes.cloth.surface import LEVELS, Level, cloth_of
from ....scenes.model import Scene
from ...choices.fold_sight import NOT_JUDGED
from ...eye.sight import NONE
from ...eye.verdict import STATED_FOR
from ...folds.maps import picture_grid, seat_maps
from ...folds.readings import FoldReading, Folds, SeatFolds
from ..file_names import file_stems


def cloth_document(scene: Scene, folds: Folds) -> dict[str, Any]:
    """How the cloth is taken: flat, stated or estimated, and each effect of the hang with its sentence and figures.

    The figures are those of mechanics; amplitude_scale [1] multiplies the heights of all estimated folds.
    """
    hanging = scene.screen.drape.hanging
    return {
        "hang": scene.screen.hang,
        "flat": folds.flat,
        **({"flat_words": f"the cloth {flat_words(scene.screen)}"} if folds.flat else {}),
        "amplitude_scale": 1.0 if hanging is None else hanging.amplitude_scale,
        "stated": folds.stated,
        "effects": [{"name": e.name, "sentence": e.sentence, "figures": dict(e.figures)} for e in folds.effects],
        "verdicts_are": STATED_FOR,
        "border_masks": False,
        "typical_alone": "no verdict from the typical value alone: several shapes are our own scale estimates",
    }


def folds_entry(seat: SeatFolds) -> dict[str, Any]:
    """The `folds` entry of a seat: low, typical and high; all nought for a flat cloth."""
    return {level: _reading(seat.levels.get(level)) for level in LEVELS}


def swing_entry(seat: SeatFolds) -> dict[str, Any] | None:
    """What a swing of the bar does at a seat, or None where the cloth does not swing."""
    swing = seat.swing
    if swing is None:
        return None
    return {"swing_m": swing.swing_m, "period_s": swing.period_s, "shift_arcmin": swing.shift_arcmin, "shift_px": swing.shift_px}


def _reading(reading: FoldReading | None) -> dict[str, Any]:
    if reading is None:
        nought = dict.fromkeys(
            ("modulation", "modulation_peak_to_peak", "modulation_rms", "threshold_ratio", "cycles_per_deg"), 0.0
        )
        return {
            **nought,
            "channel": NONE,
            "at_edge": False,
            "place": None,
            "warp_arcmin": 0.0,
            "warp_rms_arcmin": 0.0,
            "warp_px": 0.0,
            "warp_place": None,
            "straight_line_ratio": 0.0,
            "verdict_luminance": NOT_JUDGED,
            "verdict_geometry": NOT_JUDGED,
            "margin_luminance": "flat",
            "margin_geometry": "flat",
            "seen_by_share": 0.0,
        }
    seen, warp = reading.visible, reading.warp
    place = None
    if seen.ratio > 0.0:
        place = {
            "right_m": seen.place_m[0],
            "up_m": seen.place_m[1],
            "window_width_m": seen.side_m[0],
            "window_height_m": seen.side_m[1],
            "field_width_deg": seen.field_deg[0],
            "field_height_deg": seen.field_deg[1],
        }
    return {
        "modulation": seen.modulation,
        "modulation_peak_to_peak": seen.peak_to_peak,
        "modulation_rms": seen.rms,
        "threshold_ratio": seen.ratio,
        "cycles_per_deg": seen.cycles_per_deg,
        "channel": seen.channel,
        "at_edge": seen.at_edge,
        "place": place,
        "warp_arcmin": warp.peak_to_peak_arcmin,
        "warp_rms_arcmin": warp.rms_arcmin,
        "warp_px": warp.peak_to_peak_px,
        "warp_place": {"right_m": warp.place_m[0], "up_m": warp.place_m[1]},
        "straight_line_ratio": warp.straight_line_ratio,
        "verdict_luminance": reading.luminance.word,
        "verdict_geometry": reading.geometry.word,
        "margin_luminance": reading.luminance.margin,
        "margin_geometry": reading.geometry.margin,
        "seen_by_share": reading.luminance.seen_by,
    }


def folds_files(scene: Scene, folds: Folds, *, threads: int = 1) -> dict[str, bytes]:
    """folds-NAME.npz of every seat by file name, for a folded cloth; none for a flat one.

    right_m (n), up_m (m), luminance_ratio (m, n), shift_arcmin (m, n, 2: right, up), top row first, of the typical shape; the
    high one's end in _high where it differs.
    Source: the project's own format.
    """
    if folds.flat:
        return {}
    grid = picture_grid(scene)
    levels: tuple[Level, ...] = ("typical",) if folds.stated else ("typical", "high")
    maps = {level: seat_maps(scene, cloth_of(scene.screen, level), grid, threads=threads) for level in levels}
    found = {}
    for i, stem in enumerate(file_stems(seat.name for seat in scene.seats)):
        arrays = {"right_m": grid.right_m, "up_m": grid.up_m}
        for level, seats in maps.items():
            ending = "" if level == "typical" else f"_{level}"
            arrays[f"luminance_ratio{ending}"] = seats[i].luminance_ratio.astype(np.float32)
            arrays[f"shift_arcmin{ending}"] = seats[i].shift_arcmin.astype(np.float32)
        data = io.BytesIO()
        np.savez_compressed(data, **arrays)  # type: ignore[arg-type]
        found[f"folds-{stem}.npz"] = data.getvalue()
    return found
