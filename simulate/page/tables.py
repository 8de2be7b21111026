"""Tables of the page: what stands in them, row by row, ready to be set."""

from __future__ import annotations

from collections.abc import Sequence

from ...materials.dataclass import dataclass
from ...scenes.cloth.surface import LEVELS
from ..choices.differences import Difference
from ..choices.figures import Figure
from ..folds.readings import FoldReading
from ..measuring.estimate import Estimate
from ..measuring.measure import Measurement
from ..measuring.places import EDGE_INSET, SIDE_INSET, inset_words
from ..measuring.targets import DARK
from ..measuring.unit import in_unit
from ..output.compare.table import signed
from ..output.measure.verdict_table import verdict_lines
from ..output.units import TYPESET, figure, foot_lamberts, spread
from .evidence import Evidence


@dataclass(frozen=True)
class PageTable:
    """A table: caption, heads of the columns, rows of texts; the first column names the row.

    marks  what to mark a row with ("met", "above", "undecided", "missed"), one for each row, or nothing
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    marks: tuple[str, ...] = ()


def _head(title: str, unit: str) -> str:
    """A column's head with the unit of its figures."""
    return TYPESET.written(title, unit)


def with_error(value: Estimate, scale: float = 1.0, unit: str = "") -> str:
    """A value, and its standard error where it has one."""
    error = spread(value.standard_error * scale)
    return f"{figure(value.value * scale)}{f' ± {error}' if error else ''}{unit}"


def between(values: Sequence[float], unit: str) -> str:
    """One number, or the least and the greatest, with three digits and the unit; shares [1] as `in_unit` has them."""
    low, high = figure(in_unit(min(values), unit)), figure(in_unit(max(values), unit))
    return TYPESET.written(low if low == high else f"{low} to {high}", unit)


def both_luminances(values: Sequence[float]) -> str:
    """Luminances [cd/m2], one or the least and the greatest, with foot-lamberts beside them."""
    return f"{between(values, 'cd/m2')} ({between([foot_lamberts(value) for value in values], 'fL')})"


def seat_table(measurement: Measurement) -> PageTable:
    """A row a seat: what a client asks first."""
    heads: tuple[str, ...] = ("seat", "away", "off axis", "white", "evenness", "contrast, dark", "picture width", "hidden")
    lights = measurement.scene.lights
    rows = []
    for i, (reading, place) in enumerate(zip(measurement.seats, measurement.geometry, strict=True), start=1):
        white = reading.white["centre"].value
        states = [TYPESET.of(state.checkerboard.value, ":1") for state in reading.states]
        rows.append(
            (
                f"{i}. {reading.name}",
                f"{place.distance_m:.2f} m",
                f"{place.view_angle_deg:.0f}°",
                both_luminances([white]),
                f"{100 * reading.uniformity.value:.0f} %",
                TYPESET.of(reading.checkerboard.value, ":1"),
                *states,
                f"{place.picture_width_deg:.0f}°",
                f"{100 * place.hidden_share:.0f} %",
            )
        )
    heads = (*heads[:6], *(f"contrast, {light.name}" for light in lights), *heads[6:])
    return PageTable("What each seat gets", heads, tuple(rows))


def expert_table(measurement: Measurement) -> PageTable:
    """Every figure of every seat with its standard error."""
    heads = (
        "seat",
        "gain to seat",
        _head("white", "cd/m2"),
        "white fL",
        "least of nine / centre",
        f"side / centre, {inset_words(SIDE_INSET)}",
        f"side / centre, {inset_words(EDGE_INSET)}",
        _head("black", "cd/m2"),
        _head("checkerboard", ":1"),
        _head("one pattern", ":1"),
        _head("wash-out", "cd/m2"),
        "full on : off",
        "white shift u', v'",
        "wash-out shift u', v'",
    )
    rows = []
    for reading, place in zip(measurement.seats, measurement.geometry, strict=True):
        shifts = (", ".join(f"{part.value:+.4f}" for part in pair) for pair in (reading.shift_white, reading.shift_washout))
        rows.append(
            (
                reading.name,
                f"{place.gain:.3f}",
                with_error(reading.white["centre"]),
                figure(foot_lamberts(reading.white["centre"].value)),
                with_error(reading.uniformity, 100.0, " %"),
                with_error(reading.side_to_centre, 100.0, " %"),
                with_error(reading.edge_to_centre, 100.0, " %"),
                with_error(reading.black),
                with_error(reading.checkerboard),
                with_error(reading.checkerboard_one_pattern),
                with_error(reading.washout),
                figure(reading.full_on_off.value),
                *shifts,
            )
        )
    return PageTable("No other light on; ± is one standard error", heads, tuple(rows))


def state_table(measurement: Measurement) -> PageTable:
    """Every seat in every light state."""
    rows = []
    for reading in measurement.seats:
        for state, light in zip(reading.states, measurement.scene.lights, strict=True):
            rows.append(
                (
                    reading.name,
                    f"{state.name}: {light.words}",
                    with_error(state.white),
                    with_error(state.black),
                    with_error(state.full_on_off),
                    with_error(state.checkerboard),
                )
            )
    heads = (
        "seat",
        "light on the screen",
        _head("white", "cd/m2"),
        _head("black", "cd/m2"),
        "full on : off",
        _head("checkerboard", ":1"),
    )
    return PageTable("With other light on", heads, tuple(rows))


def target_tables(measurement: Measurement) -> list[PageTable]:
    """One table of published targets a light state, each row marked by its worst result."""
    found = []
    for title, lines in verdict_lines(measurement, TYPESET):
        rows = tuple(
            (line.target, f"{line.asked}; {line.in_eye}" if line.in_eye else line.asked, "; ".join(line.said)) for line in lines
        )
        marks = tuple(line.worst or "" for line in lines)
        found.append(PageTable(title[:1].upper() + title[1:], ("target", "asked", "result"), rows, marks))
    return found


def sight_table(evidence: Evidence) -> PageTable:
    """Where each eye is, how it sees the picture, and what is in its way."""
    rows = []
    found = evidence.measurement
    for i, (seat, place, sight) in enumerate(zip(found.scene.seats, found.geometry, evidence.sights, strict=True), start=1):
        by = ", ".join(f"{name} {100 * share:.0f} %" for name, share in sight.by if share >= 0.005) or "nothing"
        rows.append(
            (
                f"{i}. {seat.name}",
                f"{seat.eye_m[2]:.2f} m",
                f"{place.picture_width_deg:.0f}°",
                f"{place.picture_top_deg:+.0f}°",
                f"{100 * place.hidden_share:.0f} %",
                by,
            )
        )
    heads = ("seat", "eye above floor", "picture width", "top edge above eye line", "picture hidden", "hidden by")
    return PageTable("Sight of the picture", heads, tuple(rows))


def washout_table(measurement: Measurement) -> list[tuple[str, str, float]]:
    """(surface, share in words, mean share in %) of the wash-out, the largest first; shares below 0.5 % are left out."""
    names = measurement.seats[0].share
    found = []
    for name in names:
        values = [100.0 * reading.share[name].value for reading in measurement.seats]
        if max(values) >= 0.5:
            low, high = f"{min(values):.0f}", f"{max(values):.0f}"
            found.append((name, f"{low} %" if low == high else f"{low} to {high} %", sum(values) / len(values)))
    return sorted(found, key=lambda row: -row[2])


def cost_table(evidence: Evidence) -> PageTable:
    """What each surface costs at the seat with the least contrast."""
    seat = evidence.costs.worst
    rows = tuple(
        (
            each.name,
            each.finish.name,
            f"{each.finish.luminous:.2f}",
            f"{each.area_m2:.1f}",
            with_error(each.contrast_black[seat]),
            figure(each.contrast_alone[seat].value),
            f"{each.slope[seat].value:.3f}",
        )
        for each in evidence.costs.surfaces
    )
    heads = (
        "surface",
        "finish now",
        "reflects",
        "m²",
        _head("contrast if it were black", ":1"),
        _head("contrast if all others were black", ":1"),
        "% of contrast per % of reflectance",
    )
    return PageTable(f"At {evidence.costs.seats[seat]}, the seat with the least contrast", heads, rows)


def fold_table(measurement: Measurement) -> PageTable:
    """Visibility of folds at every seat and shape."""
    folds = measurement.folds
    rows, marks = [], []
    for seat in folds.seats:
        for level in ("typical",) if folds.stated else LEVELS:
            reading = seat.levels[level]
            rows.append((seat.name, "as stated" if folds.stated else level, *_fold_cells(reading)))
            marks.append({"visible": "missed", "borderline": "undecided"}.get(reading.luminance.word, "met"))
    heads = ("seat", "shape", "brightness", "times the eye's threshold", "modulation", "geometry", "warp, peak to peak")
    return PageTable("Folds as the seats see them, in an even bright picture", heads, tuple(rows), tuple(marks))


def _fold_cells(reading: FoldReading) -> tuple[str, ...]:
    seen, warp = reading.visible, reading.warp
    return (
        reading.luminance.word,
        f"{seen.ratio:.2g}",
        f"{100 * seen.modulation:.2g} %",
        reading.geometry.word,
        f"{warp.peak_to_peak_arcmin:.2g} arc min",
    )


def difference_table(found: Sequence[Difference], before: str, after: str) -> PageTable:
    """Figures before and after at every seat; seats with the same cells share a row."""
    groups: dict[tuple[Figure, tuple[str, ...]], list[str]] = {}
    for each in found:
        unit = each.figure.unit
        change = f"{signed(each.relative.value)} %" if each.found else "no difference found"
        cells = (TYPESET.of(each.reference.value, unit), TYPESET.of(each.value.value, unit), change)
        groups.setdefault((each.figure, cells), []).append(each.seat)
    every = len({each.seat for each in found})
    order = list(dict.fromkeys(each.figure for each in found))
    rows = tuple(
        (_with_state(figure), "every seat" if len(names) == every else ", ".join(names), *cells)
        for (figure, cells), names in sorted(groups.items(), key=lambda item: order.index(item[0][0]))
    )
    return PageTable(f"{before} against {after}", ("figure", "seats", before, after, "change"), rows)


def _with_state(figure: Figure) -> str:
    return figure.title + ("" if figure.state == DARK else f", {figure.state}")


def band_table(evidence: Evidence, which: int) -> PageTable:
    """What the open part of a fabric does at each seat."""
    band = evidence.bands[which]
    rows = tuple(
        (
            name,
            figure(white.own),
            f"{figure(white.least)} to {figure(white.greatest)}",
            figure(contrast.own),
            f"{figure(contrast.least)} to {figure(contrast.greatest)}",
        )
        for name, white, contrast in zip(evidence.seats, band.white_cd_m2, band.contrast, strict=True)
    )
    heads = (
        "seat",
        _head("white, as taken", "cd/m2"),
        "white, all models",
        _head("contrast, as taken", ":1"),
        "contrast, all models",
    )
    return PageTable(f"{band.fabric.name}: what is left open by its {band.stated}", heads, rows)
