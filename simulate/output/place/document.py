"""The JSON document and the tidy table of `place`."""

from __future__ import annotations

import string
from importlib.metadata import version
from typing import Any

from ....scenes.remedy import AXES
from ...placing.bounds import Bound, BoundRole, Range
from ...placing.placement import Placement
from ...placing.published import REVIEW_HEIGHTS
from ...placing.regions import FREE, Region
from ..cautions import CAUTIONS
from ..csv_text import csv_text

FORMAT = "halfgain.place/1"
COLUMNS = (
    "length", "axis", "lens", "cause", "role", "low_m", "high_m", "low_set_by", "high_set_by", "fits_now", "empty", "asked", "unit", "source",
)  # fmt: skip
SERVES = "all that must be and is asked for"


def place_document(found: Placement) -> dict[str, Any]:
    """Everything `place` found; lengths in metres, places [right, out, up]. Source: Placement."""
    scene, lens = found.scene, found.lens
    conflict = None
    if lens.conflict is not None:
        conflict = {
            "axis": AXES[lens.conflict[2]],
            "asks_for_more": str(lens.conflict[0]),
            "asks_for_less": str(lens.conflict[1]),
        }
    return {
        "format": FORMAT,
        "version": version("halfgain"),
        "scene": {"title": scene.title, "sha256": scene.sha256},
        "lens": {
            "place_m": list(lens.here),
            "fits": lens.fits_here,
            "nearest_m": None if lens.nearest is None else list(lens.nearest),
            "conflict": conflict,
            "ranges": {each.axis: _range(each) for each in lens.ranges},
            "plan": None if lens.plan is None else _region(lens.plan),
            "section": None if lens.section is None else _region(lens.section),
        },
        "screen_width": {"lens_where_it_stands": _range(found.width), "lens_anywhere": _range(found.width_lens_free)},
        "lower_edge": {"lens_where_it_stands": _range(found.bottom), "lens_anywhere": _range(found.bottom_lens_free)},
        "rows": [
            {"seats": list(row.seats), "out_m": row.out_m, "eye_m": row.eye_m, "lifted_m": row.lifted_m, "lift": _range(row.lift)}
            for row in found.rows
        ],
        "review_room": {
            "distance_picture_heights": list(REVIEW_HEIGHTS),
            "seats": {name: value for name, value in found.heights_away.items()},
            "source": "SMPTE ST 196M-2003, section 9 (second-hand)",
        },
        "cautions": list(CAUTIONS),
    }


def _range(found: Range) -> dict[str, Any]:
    return {
        "now_m": found.now_m,
        "fits_now": found.fits_now,
        "low_m": found.low_m,
        "high_m": found.high_m,
        "low_set_by": None if found.low_by is None else str(found.low_by.by),
        "high_set_by": None if found.high_by is None else str(found.high_by.by),
        "nearest_m": found.nearest_m,
        "step_m": found.step_m,
        "bounds": [_bound(bound) for bound in found.bounds],
    }


def _bound(bound: Bound) -> dict[str, Any]:
    asked = bound.published
    return {
        "cause": str(bound.by),
        "role": str(bound.role),
        "low_m": bound.low_m,
        "high_m": bound.high_m,
        "low_set_by": bound.low_thing or None,
        "high_set_by": bound.high_thing or None,
        "in_the_way": [each for each in bound.things if each],
        "fits_now": bound.fits_now,
        "empty": bound.empty,
        "asked": None
        if asked is None
        else {"name": asked.name, "value": asked.value, "unit": asked.unit, "source": asked.source, "seen": asked.seen},
    }


def _region(found: Region) -> dict[str, Any]:
    """The rectangle and its cells, a letter a cause, a text a row from the low end."""
    reasons = [each for each in dict.fromkeys(found.reason.ravel().tolist()) if each != FREE]
    letters = {reason: letter for reason, letter in zip(reasons, string.ascii_lowercase, strict=False)} | {FREE: "."}
    return {
        "across": AXES[found.across],
        "up": AXES[found.up],
        "held_m": {AXES[3 - found.across - found.up]: found.held_m},
        "low_m": list(found.low),
        "high_m": list(found.high),
        "free_share": found.free_share,
        "legend": {letter: reason or "free" for reason, letter in letters.items()},
        "cells": ["".join(letters[each] for each in row) for row in found.reason.tolist()],
    }


def place_csv(found: Placement) -> str:
    """One row a length and cause, and one a length for what serves; empty where a cause sets no end."""
    named = [(each, "-") for each in found.lens.ranges]
    named += [(found.width, "where it stands"), (found.width_lens_free, "anywhere")]
    named += [(found.bottom, "where it stands"), (found.bottom_lens_free, "anywhere")]
    rows: list[tuple[object, ...]] = [COLUMNS]
    for each, lens in named:
        rows += _rows(each.key, each, lens)
    for row in found.rows:
        rows += _rows(f"lift of {', '.join(row.seats)}", row.lift, "-")
    return csv_text(rows)


def _rows(length: str, found: Range, lens: str) -> list[tuple[object, ...]]:
    start = (length, found.axis, lens)
    low, high = (None if bound is None else str(bound.by) for bound in (found.low_by, found.high_by))
    rows: list[tuple[object, ...]] = [
        (
            *start,
            SERVES,
            str(BoundRole.MUST),
            found.low_m,
            found.high_m,
            low,
            high,
            found.fits_now,
            found.low_m is None,
            None,
            None,
            None,
        )
    ]
    for bound in found.bounds:
        asked = bound.published
        told = (None, None, None) if asked is None else (asked.value, asked.unit, asked.source)
        things = (bound.low_thing or None, bound.high_thing or None)
        rows.append(
            (*start, str(bound.by), str(bound.role), bound.low_m, bound.high_m, *things, bound.fits_now, bound.empty, *told)
        )
    return rows
