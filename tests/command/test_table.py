"""The terminal report and seats.csv: fit for 80 columns, no control codes in a file, units in every column."""

from __future__ import annotations

import csv
import dataclasses
import io
import re

import pytest
from halfgain.scenes.warning import SceneWarning, WarningCode
from halfgain.simulate.measuring.estimate import Estimate
from halfgain.simulate.measuring.measure import Measurement, measure
from halfgain.simulate.measuring.quantities import QUANTITIES
from halfgain.simulate.output.measure.seats_csv import seats_csv, seats_wide_csv
from halfgain.simulate.output.measure.table import report
from halfgain.simulate.output.units import CD_M2_PER_FOOT_LAMBERT, figure, foot_lamberts, spread
from rich.console import Console

from tests.rooms import box_object, room

from .conftest import reported


def _report(measurement: Measurement, width: int = 80) -> str:
    return reported(measurement, width, full=True)


def test_report_fits_80_columns_without_control_codes(any_measurement: Measurement) -> None:
    text = _report(any_measurement)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "\x1b" not in text


def test_report_says_all_that_a_client_needs(any_measurement: Measurement) -> None:
    flat = " ".join(_report(any_measurement, 200).split())
    scene = any_measurement.scene
    assert flat.startswith(scene.title)
    for said in (
        scene.screen.fabric.name,
        "Throw",
        "the projector's own; finishes cannot change it",
        "no certificate",
        "never look into the lens",
        "Overhead mass",
        "Mains",
        "Fire",
        "Egress",
        "Follow local code",
        "licensed trades",
        *(seat.name for seat in scene.seats),
        *(f"With {light.name}" for light in scene.lights),
        *(warning.text for warning in scene.warnings),
    ):
        assert said in flat


@pytest.mark.parametrize(("share", "said"), [(0.1234, "12.3 %"), (0.0, "less than 0.1 %")])
def test_a_warning_of_something_in_sight_says_the_share_it_hides(lounge: Measurement, share: float, said: str) -> None:
    first, *others = lounge.geometry
    name = lounge.scene.seats[0].name
    warnings = (
        SceneWarning(WarningCode.IN_SIGHT, "the words do not matter", name, ('"lamp"', 'the head of "x"')),
        SceneWarning(WarningCode.OVERLAP, "another warning"),
    )
    measurement = dataclasses.replace(
        lounge,
        scene=dataclasses.replace(lounge.scene, warnings=warnings),
        geometry=(dataclasses.replace(first, hidden_share=share), *others),
    )
    lines = _report(measurement, 200).splitlines()
    assert f'- from "{name}", {said} of the screen is hidden by "lamp" and the head of "x"' in lines
    assert "- another warning" in lines
    assert not any("the words do not matter" in line for line in lines)


def test_every_seat_name_survives_a_narrow_terminal(lounge: Measurement) -> None:
    long = dataclasses.replace(lounge.seats[0], name="the very long name of a seat [bold]at the window[/bold]")
    text = _report(dataclasses.replace(lounge, seats=(long, *lounge.seats[1:])), 80)
    assert "[bold]" in re.sub(r"\s", "", text)


def test_seat_names_break_at_blanks_beside_wide_figures(lounge: Measurement) -> None:
    """A bright picture known to a tenth of a per cent: figures as wide as they come, and each word of a name still whole."""
    names = ("front middle left", "front middle right", "back row middle")
    seats = tuple(
        dataclasses.replace(seat, name=name).with_values(
            white_cd_m2=Estimate(138.9, 0.0045),
            uniformity_ratio=Estimate(0.929, 3.4e-5),
            black_cd_m2=Estimate(0.463, 0.0012),
            checkerboard_ratio=Estimate(25.4, 0.0061),
            washout_cd_m2=Estimate(4.7, 0.0012),
        )
        for name, seat in zip(names, lounge.seats, strict=False)
    )
    text = _report(dataclasses.replace(lounge, seats=seats, geometry=lounge.geometry[: len(names)]), 80)
    table = text[text.index("At the seats") : text.index("full on : full off")]
    rows = table[table.rindex("─") + 2 :].splitlines()
    first = [found.group() for row in rows if (found := re.match(r"[a-z ]*", row))]
    assert " ".join(" ".join(first).split()) == " ".join(names)
    assert len(rows) <= 3 * len(names)
    assert max(len(row) for row in rows) <= 80
    for said in ("±0.0045", "±0.0013", "±0.0034", "±0.0012", "±0.0061"):
        assert said in table


def test_report_says_upper_bound_where_the_lens_is_not_known(lounge: Measurement) -> None:
    projector = dataclasses.replace(lounge.scene.projector, checkerboard_contrast=None)
    open_scene = dataclasses.replace(lounge.scene, projector=projector)
    assert "the room's limit, an upper bound" in _report(dataclasses.replace(lounge, scene=open_scene), 200)
    assert "the room's limit, an upper bound" not in _report(lounge, 200)


def test_report_says_calmly_when_the_cap_was_met_first(lounge: Measurement) -> None:
    text = _report(dataclasses.replace(lounge, met=False, error_reached=0.034, error_asked=0.01), 200)
    assert "Less precise than asked" in text
    assert "3.4 % (asked 1 %)" in text
    assert "Less precise" not in _report(lounge)


def test_report_keeps_to_ascii_where_the_terminal_does(lounge: Measurement) -> None:
    raw = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    report(lounge, Console(file=raw, width=80), full=True).encode("ascii")


def test_csv_is_tidy_and_a_figure_ends_in_its_unit(any_measurement: Measurement) -> None:
    rows = list(csv.DictReader(io.StringIO(seats_csv(any_measurement))))
    states = ["dark", *(light.name for light in any_measurement.scene.lights)]
    places = [(seat.name, state) for seat in any_measurement.seats for state in states]
    assert list(dict.fromkeys((row["seat"], row["state"]) for row in rows)) == places
    assert len({(row["seat"], row["state"], row["figure"], row["surface"]) for row in rows}) == len(rows)
    units = ("_m", "_deg", "_lx", "_cd_m2", "_fl", "_ratio", "_shift_u", "_shift_v", "_arcmin", "_px")
    assert all(row["figure"].endswith(units) for row in rows)
    first = any_measurement.seats[0]
    for quantity in QUANTITIES:  # every entry of the registry is a row, whatever is added to it
        (row,) = [row for row in rows if (row["seat"], row["state"], row["figure"]) == (first.name, "dark", quantity.key)]
        assert float(row["value"]) == first.values[quantity.key].value
        assert float(row["value_standard_error"]) == first.values[quantity.key].standard_error
        assert float(row["value_bias_bound"]) == first.values[quantity.key].bias_bound


def test_csv_numbers_are_the_readings(lounge: Measurement) -> None:
    rows = {(r["seat"], r["state"], r["figure"], r["surface"]): r for r in csv.DictReader(io.StringIO(seats_csv(lounge)))}
    seat, light = lounge.seats[0], lounge.scene.lights[0]
    lit = rows[seat.name, light.name, "checkerboard_ratio", ""]
    assert float(lit["value"]) == seat.states[0].checkerboard.value
    assert float(lit["ambient_at_screen_lx"]) == light.screen_lx == 12.0
    assert (seat.name, light.name, "washout_cd_m2", "") not in rows
    assert float(rows[seat.name, "dark", "washout_share_ratio", "ceiling"]["value"]) == seat.share["ceiling"].value
    fl = float(rows[seat.name, "dark", "white_fl", ""]["value"])
    assert fl == pytest.approx(seat.white["centre"].value / 3.426259, rel=1e-6)  # NIST SP 811


def test_the_wide_csv_holds_the_same_numbers_in_a_row_for_each_seat_and_state(lounge: Measurement) -> None:
    wide = list(csv.DictReader(io.StringIO(seats_wide_csv(lounge))))
    assert [(row["seat"], row["state"]) for row in wide] == [
        (seat.name, state) for seat in lounge.seats for state in ("dark", *(light.name for light in lounge.scene.lights))
    ]
    places = {(row["seat"], row["state"]): row for row in wide}
    for row in csv.DictReader(io.StringIO(seats_csv(lounge))):
        name = f"{row['figure']}[{row['surface']}]" if row["surface"] else row["figure"]
        assert places[row["seat"], row["state"]][name] == row["value"]


def test_foot_lambert() -> None:
    # Source: NIST SP 811, appendix B.8: 1 footlambert = 3.426 259 cd/m2; 48 cd/m2 is the 14 fL of cinema
    assert pytest.approx(3.426259, abs=5e-7) == CD_M2_PER_FOOT_LAMBERT
    assert foot_lamberts(48.0) == pytest.approx(14.0, abs=0.01)


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (138.96, "139.0"), (12345.6, "12346"), (0.04633, "0.0463"), (4.697, "4.70"), (1e-7, "1.0e-07")],
)
def test_figures_are_short(value: float, text: str) -> None:
    assert figure(value) == text


@pytest.mark.parametrize(("error", "text"), [(0.0, ""), (0.0961, "0.096"), (1.26, "1.3"), (12.4, "12")])
def test_standard_errors_have_two_digits(error: float, text: str) -> None:
    assert spread(error) == text


def test_a_blocked_beam_gives_blanks_and_no_verdict_but_no_noise(recwarn: pytest.WarningsRecorder) -> None:
    # A black box right before the lens: 0 cd/m2 everywhere, so no ratio exists. Blank in the file, null in JSON, "-" in the table
    blocked = measure(room(objects=box_object("post", [-0.4, 3.6, 1.6], [0.4, 4.2, 2.6], 0.0)), threads=2)
    text = _report(blocked, 200)
    assert not re.search(r"\b(nan|inf)\b", text)
    assert "no light reaches a place that it compares" in text
    rows = list(csv.DictReader(io.StringIO(seats_csv(blocked))))
    assert {row["value"] for row in rows if row["figure"] == "uniformity_ratio"} == {""}
    assert all(cell not in ("nan", "inf") for row in rows for cell in row.values())
    assert [str(warning.message) for warning in recwarn] == []


def test_an_implausible_fabric_is_warned_of_and_not_taken_for_granted() -> None:
    fabric = '[screen.fabric]\nkind = "angular-reflective"\ngain = 4.0\nhalf_gain_deg = 35'
    scene = room(fabric=fabric)
    (doubt,) = [warning.text for warning in scene.warnings if warning.code is WarningCode.FABRIC_IN_DOUBT]
    assert "2.737" in doubt  # largest gain of a smooth lobe there; tests/materials holds the number against quadrature
    assert not any("implausible" in note for note in scene.screen.fabric.assumed)
