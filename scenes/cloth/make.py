"""From checked [[screen.fold]] tables to folds: defaults filled in, maps and scans read."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np

from ..units import UNITS
from .creases import Crease, VGroove
from .edges import SIDES, EdgeCurl, Outline, Swing, TensionLines
from .kinds import CORNERS
from .measured import HeightMap
from .read_map import MAPS, read_map
from .read_scan import SCANS, laid, map_of_scan, read_scan
from .shape import Across, Fold, Growth
from .table import FoldTable
from .unusable import UnusableMap
from .waves import Wave, seeded_mix


class Frame(NamedTuple):
    """What a fold needs of its screen: white area [m], cloth above it [m], draping length [m], folder of its files."""

    width_m: float
    height_m: float
    lead_m: float
    draping_m: float
    folder: Path


def make_folds(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    """The folds of one [[screen.fold]] table whose keys fit its kind.

    Lead and draping length that the table leaves out are the frame's; widths, angles and spreads are our own choice, no source.
    raises UnusableMap where its file cannot be used
    """
    return _MAKERS[table.kind](table, frame)


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


def _growth(table: FoldTable, frame: Frame, power: float) -> Growth:
    return Growth(0.5 * frame.height_m, frame.height_m, _or(table.growth, power), _or(table.lead_m, frame.lead_m))


def _wave(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    across = Across(math.radians(_or(table.crests, 0.0)))
    power = 0.5 if table.kind == "roller waves" else 0.0
    phase = math.radians(_or(table.phase_deg, 0.0))
    return (Wave(_or(table.amplitude_m, 0.0), _or(table.wavelength_m, 1.0), across, _growth(table, frame, power), phase),)


def _v_groove(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    return (
        VGroove(
            amplitude_m=_or(table.amplitude_m, 0.0),
            width_m=_or(table.width_m, 0.4 * frame.height_m),
            rounding_m=_or(table.rounding_m, frame.draping_m),
            half_angle_rad=math.radians(_or(table.angle_deg, 30.0)),
            pull_right_m=_or(table.offset_m, 0.0),
            pull_up_m=-0.5 * frame.height_m,
            growth=_growth(table, frame, 1.0),
        ),
    )


def _crease(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    across = Across(math.radians(_or(table.crests, 0.0)), _or(table.offset_m, 0.0))
    rounding = _or(table.rounding_m, frame.draping_m)
    width = _or(table.width_m, 3.0 * rounding)
    growth = _growth(table, frame, 0.0)
    return (Crease(_or(table.amplitude_m, 0.0), width, rounding, across, growth, table.spacing_m),)


def _tension_lines(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    found = []
    for name in CORNERS if table.corner in (None, "all") else (table.corner,):
        right, up = 0.5 * frame.width_m * CORNERS[name][0], 0.5 * frame.height_m * CORNERS[name][1]
        reach = _or(table.reach_m, 0.3 * math.hypot(frame.width_m, frame.height_m))
        spread = math.radians(_or(table.spread_deg, 20.0))
        found.append(
            TensionLines(
                _or(table.amplitude_m, 0.0), _or(table.wavelength_m, 1.0), reach, spread, (right, up), math.atan2(-up, -right)
            )
        )
    return tuple(found)


def _edge_curl(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    sides = {None: ("left", "right"), "left and right": ("left", "right"), "all": SIDES}.get(table.sides)
    half = (0.5 * frame.width_m, 0.5 * frame.height_m)
    chosen = (str(table.sides),) if sides is None else sides
    return (EdgeCurl(_or(table.amplitude_m, 0.0), _or(table.width_m, frame.draping_m), chosen, half),)


def _concave(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    return (Outline(side_m=_or(table.depth_m, 0.0)),)


def _bar_sag(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    return (Outline(bottom_m=_or(table.depth_m, 0.0)),)


def _swing(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    lead = _or(table.lead_m, frame.lead_m)
    return (Swing(_or(table.amplitude_m, 0.0), 0.5 * frame.height_m + lead, frame.height_m + lead),)


def _random(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    shortest = _or(table.wavelength_m, 1.0)
    return (
        seeded_mix(
            amplitude_m=_or(table.amplitude_m, 0.0),
            shortest_m=shortest,
            longest_m=max(shortest, _or(table.longest_m, 3.0 * shortest)),
            angle_rad=math.radians(_or(table.crests, 0.0)),
            spread_rad=math.radians(_or(table.spread_deg, 180.0 if table.crests is None else 15.0)),
            growth=_growth(table, frame, 0.0),
            seed=1 if table.seed is None else table.seed,
        ),
    )


def _measured(table: FoldTable, frame: Frame) -> tuple[Fold, ...]:
    path = frame.folder / str(table.file)
    ending = path.suffix.lower()
    if ending in SCANS:
        return (_scan(table, frame, path),)
    if ending not in MAPS:
        raise UnusableMap("is of no known kind", f"a name that ends in {', '.join((*MAPS, *SCANS))}")
    if table.lay is not None:
        raise UnusableMap("belongs to scanned meshes: a height map is spread over the white area", key="lay")
    return (_height_map(table, frame, path),)


def _metres_per_unit(table: FoldTable, what: str) -> float:
    if table.unit is None:
        raise UnusableMap(f"the unit of {what} is not known", '"m", "cm", "mm", "in" or "ft"', key="unit")
    unit = next(unit for unit in UNITS if unit.suffix == f"_{table.unit}")
    return unit.numerator / unit.denominator


def _scan(table: FoldTable, frame: Frame, path: Path) -> HeightMap:
    for key in ("count_m", "zero_count", "spacing_m"):
        if getattr(table, key) is not None:
            raise UnusableMap("belongs to height maps: a scan has its own places and heights", key=key)
    corners, triangles = read_scan(path, metres_per_unit=_metres_per_unit(table, "the scan's coordinates"))
    if table.lay is not False:
        corners = laid(corners)
    heights, short = map_of_scan(corners, triangles, width_m=frame.width_m, height_m=frame.height_m)
    right, up = 0.5 * frame.width_m - short, 0.5 * frame.height_m - short
    return HeightMap(heights, -right, right, -up, up)


def _height_map(table: FoldTable, frame: Frame, path: Path) -> HeightMap:
    values, counts = read_map(path)
    if counts:
        if table.count_m is None:
            raise UnusableMap("the height of one grey level is not known", "count_mm, the height of one level", key="count_m")
        if table.unit is not None:
            raise UnusableMap("belongs to numbers: the scale of a picture is count_mm", key="unit")
        scale = table.count_m
    else:
        if table.count_m is not None:
            raise UnusableMap("belongs to 16-bit pictures: numbers have a unit", key="count_m")
        scale = _metres_per_unit(table, "the heights")
    _fits(table, frame, *values.shape)
    zero = float(values.mean()) if table.zero_count is None else table.zero_count
    right, up = 0.5 * frame.width_m, 0.5 * frame.height_m
    return HeightMap(np.ascontiguousarray((values - zero) * scale), -right, right, -up, up)


def _fits(table: FoldTable, frame: Frame, rows: int, columns: int) -> None:
    """raises UnusableMap where a map's samples do not fit the white area."""
    if table.spacing_m is not None:
        wide, high = (columns - 1) * table.spacing_m, (rows - 1) * table.spacing_m
        if max(abs(wide - frame.width_m), abs(high - frame.height_m)) > 1.5 * table.spacing_m:
            raise UnusableMap(
                f"is of the wrong size: {columns} x {rows} samples make {wide:.3f} x {high:.3f} m",
                f"the white area, {frame.width_m:.3f} x {frame.height_m:.3f} m, to one sample",
            )
        return
    shape, wanted = (columns - 1) / (rows - 1), frame.width_m / frame.height_m
    if not 0.8 < shape / wanted < 1.25:
        raise UnusableMap(
            f"is of the wrong size: {columns} columns and {rows} rows have another shape than the white area",
            f"about {wanted:.2f} times as many columns as rows; or say the samples' spacing_mm",
        )


_MAKERS: dict[str, Callable[[FoldTable, Frame], tuple[Fold, ...]]] = {
    "wave": _wave,
    "roller waves": _wave,
    "v-groove": _v_groove,
    "crease": _crease,
    "tension lines": _tension_lines,
    "edge curl": _edge_curl,
    "concave edges": _concave,
    "bar sag": _bar_sag,
    "swing": _swing,
    "random": _random,
    "measured": _measured,
}
