"""A measurement as a tidy table: one row a seat, light state and figure, whoever asks (CSV, data frames, arrays)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ...materials.dataclass import dataclass
from ..folds.readings import SeatFolds
from .estimate import Estimate, exact
from .measure import Measurement, SeatGeometry
from .quantities import LIT, QUANTITIES
from .readings import SeatReading
from .targets import DARK
from .unit import CD_M2_PER_FOOT_LAMBERT


class TidyRow(NamedTuple):
    """One figure of one seat in one light state.

    figure   its key, unit in it;  surface  of a share of the wash-out, else ""
    value    in the figure's unit, shares as plain numbers [1]; None where there is none
    verdict  in a word, where the figure is judged by one (folds)
    """

    seat: str
    state: str
    ambient_at_screen_lx: float
    figure: str
    surface: str
    value: Estimate | None
    verdict: str = ""


@dataclass(frozen=True)
class PlaceFigure:
    """A figure of how a seat stands to the screen: key with unit, title, unit as shown, field of SeatGeometry."""

    key: str
    title: str
    unit: str
    field: str


PLACE_FIGURES = (
    PlaceFigure("distance_m", "away", "m", "distance_m"),
    PlaceFigure("view_angle_deg", "off axis", "deg", "view_angle_deg"),
    PlaceFigure("gain_towards_seat_ratio", "gain to the seat", "", "gain"),
    PlaceFigure("angle_from_lobe_axis_deg", "off the lobe's axis", "deg", "lobe_angle_deg"),
    PlaceFigure("picture_width_deg", "picture width", "deg", "picture_width_deg"),
    PlaceFigure("picture_top_deg", "top edge above the eye line", "deg", "picture_top_deg"),
    PlaceFigure("hidden_share_ratio", "hidden", "%", "hidden_share"),
)


def tidy_rows(measurement: Measurement) -> Iterator[TidyRow]:
    """All figures of all seats: places, quantities in the dark and in each light state, shares by surface, folds.

    Source: one row an observation (tidy data, Wickham 2014, J. Stat. Softw. 59(10)); names from the registry.
    """
    for reading, place, folds in zip(measurement.seats, measurement.geometry, measurement.folds.seats, strict=True):
        yield from _place(reading.name, place)
        yield from _dark(reading)
        for state in reading.states:
            lux = state.values["ambient_lx"].value
            for quantity in LIT:
                yield from _row(reading.name, state.name, lux, quantity.key, state.values[quantity.key])
        yield from _folds(reading.name, folds)


def _place(seat: str, place: SeatGeometry) -> Iterator[TidyRow]:
    for each in PLACE_FIGURES:
        found = getattr(place, each.field)
        yield TidyRow(seat, DARK, 0.0, each.key, "", None if found is None else exact(found))


def _row(seat: str, state: str, screen_lx: float, key: str, value: Estimate) -> Iterator[TidyRow]:
    yield TidyRow(seat, state, screen_lx, key, "", value)
    if key == "white_cd_m2":
        yield TidyRow(seat, state, screen_lx, "white_fl", "", Estimate(*(part / CD_M2_PER_FOOT_LAMBERT for part in value)))


def _dark(reading: SeatReading) -> Iterator[TidyRow]:
    for quantity in QUANTITIES:
        yield from _row(reading.name, DARK, 0.0, quantity.key, reading.values[quantity.key])
    for surface, share in reading.share.items():
        yield TidyRow(reading.name, DARK, 0.0, "washout_share_ratio", surface, share)


def _folds(seat: str, folds: SeatFolds) -> Iterator[TidyRow]:
    """Rows of a folded cloth, by level of the estimate; none for a flat one."""
    for level, reading in folds.levels.items():
        seen, warp = reading.visible, reading.warp
        brightness, geometry = reading.luminance.word, reading.geometry.word
        yield TidyRow(seat, DARK, 0.0, f"folds_{level}_modulation_ratio", "", exact(seen.modulation))
        yield TidyRow(seat, DARK, 0.0, f"folds_{level}_threshold_ratio", "", exact(seen.ratio), brightness)
        for axis, value in zip(("right", "up"), seen.place_m, strict=True):
            place = exact(value) if seen.ratio > 0.0 else None
            yield TidyRow(seat, DARK, 0.0, f"folds_{level}_place_{axis}_m", "", place)
        yield TidyRow(seat, DARK, 0.0, f"folds_{level}_warp_arcmin", "", exact(warp.peak_to_peak_arcmin), geometry)
        pixels = None if warp.peak_to_peak_px is None else exact(warp.peak_to_peak_px)
        yield TidyRow(seat, DARK, 0.0, f"folds_{level}_warp_px", "", pixels, geometry)
    if folds.swing is not None:
        yield TidyRow(seat, DARK, 0.0, "swing_shift_arcmin", "", exact(folds.swing.shift_arcmin))
