"""seats.csv: one row a seat and light state, units in the column names, standard errors beside the values."""
from __future__ import annotations

import math

from ..estimate import Estimate
from ..measure import Measurement, SeatGeometry
from ..readings import SeatReading, StateReading
from ..targets import DARK
from .csv_text import csv_text
from .folds_document import folds_columns
from .units import CD_M2_PER_FOOT_LAMBERT

Row = dict[str, str | float]


def seats_csv(measurement: Measurement) -> str:
    """The readings as CSV text with a header line; a cell is empty where the figure is not defined for the state.

    State "dark" holds all figures; the other states hold what the light changes.
    Source: one row an observation, one column a variable (tidy data, Wickham 2014, J. Stat. Softw. 59(10)).
    """
    rows: list[Row] = []
    for reading, geometry, folds in zip(measurement.seats, measurement.geometry, measurement.folds.seats, strict=True):
        rows.append({**_dark(reading, geometry), **folds_columns(folds)})
        lights = zip(measurement.scene.lights, reading.states, strict=True)
        rows += [_lit(reading.name, geometry, state, light.screen_lx) for light, state in lights]
    columns = list(dict.fromkeys(column for row in rows for column in row))
    return csv_text([columns, *([row.get(column, "") for column in columns] for row in rows)])


def _place(name: str, state: str, geometry: SeatGeometry, screen_lx: float) -> Row:
    """The columns every row begins with; None is written as an empty cell."""
    return {
        "seat": name,
        "state": state,
        "ambient_at_screen_lx": screen_lx,
        "distance_m": geometry.distance_m,
        "view_angle_deg": geometry.view_angle_deg,
        "gain_towards_seat_ratio": geometry.gain,
        "angle_from_lobe_axis_deg": "" if geometry.lobe_angle_deg is None else geometry.lobe_angle_deg,
        "picture_width_deg": geometry.picture_width_deg,
        "picture_top_deg": geometry.picture_top_deg,
        "hidden_share_ratio": geometry.hidden_share,
    }


def _put(row: Row, name: str, unit: str, value: Estimate) -> None:
    row[f"{name}_{unit}"] = _cell(value.value)
    row[f"{name}_standard_error_{unit}"] = _cell(value.standard_error)


def _cell(value: float) -> str | float:
    """Empty for what is not a number or has no end, as null is in measure.json."""
    return float(value) if math.isfinite(value) else ""


def _luminance(row: Row, name: str, value: Estimate) -> None:
    _put(row, name, "cd_m2", value)
    _put(row, name, "fl", Estimate(*(part / CD_M2_PER_FOOT_LAMBERT for part in value)))


def _dark(reading: SeatReading, geometry: SeatGeometry) -> Row:
    row = _place(reading.name, DARK, geometry, 0.0)
    _luminance(row, "white_centre", reading.white["centre"])
    _put(row, "black_centre", "cd_m2", reading.black)
    _put(row, "full_on_off", "ratio", reading.full_on_off)
    _put(row, "checkerboard", "ratio", reading.checkerboard)
    _put(row, "checkerboard_one_pattern", "ratio", reading.checkerboard_one_pattern)
    for part in ("mean", "min", "max"):
        _put(row, f"white_{part}", "cd_m2", reading.white[part])
    for part, value in reading.direct.items():
        _put(row, f"direct_{part}", "cd_m2", value)
    _put(row, "uniformity", "ratio", reading.uniformity)
    _put(row, "darker_side_to_centre", "ratio", reading.side_to_centre)
    _put(row, "brighter_side_to_centre", "ratio", reading.brighter_side_to_centre)
    _put(row, "darker_edge_5_percent_in_to_centre", "ratio", reading.edge_to_centre)
    _put(row, "brighter_edge_5_percent_in_to_centre", "ratio", reading.brighter_edge_to_centre)
    _put(row, "washout", "cd_m2", reading.washout)
    for surface, value in reading.share.items():
        _put(row, f"washout_share_{surface}", "ratio", value)
    for name, shift in (("white", reading.shift_white), ("washout", reading.shift_washout)):
        for axis, value in zip(("u", "v"), shift, strict=True):
            _put(row, f"{name}_shift_{axis}", "uv", value)
    return row


def _lit(name: str, geometry: SeatGeometry, state: StateReading, screen_lx: float) -> Row:
    row = _place(name, state.name, geometry, screen_lx)
    _luminance(row, "white_centre", state.white)
    _put(row, "black_centre", "cd_m2", state.black)
    _put(row, "full_on_off", "ratio", state.full_on_off)
    _put(row, "checkerboard", "ratio", state.checkerboard)
    return row
