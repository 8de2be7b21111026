"""Tables: no cell starts a formula, numbers stay numbers, and every reader gets the rows back."""

from __future__ import annotations

import csv
import dataclasses
import io
from pathlib import Path

import halfgain.simulate
import pytest
from halfgain.simulate.folds.flatness import Flatness
from halfgain.simulate.measuring.measure import Measurement
from halfgain.simulate.output.csv_text import csv_text
from halfgain.simulate.output.folds.flatness_outputs import flatness_csv
from halfgain.simulate.output.measure.seats_csv import seats_csv
from halfgain.simulate.output.own_kind import kind_called, kind_of


@pytest.mark.parametrize(
    "text", ["=1+1", "+A1", "-A1", "@SUM(A1)", "\t=1+1", "\r=1+1", "  =1+1", "=1\n+1", "＝1+1", "-", "+1 (0)"]
)
def test_text_that_would_start_a_formula_gets_an_apostrophe(text: str) -> None:
    [row] = csv.reader(io.StringIO(csv_text([[text, 1.5]]), newline=""))
    assert row[0].startswith("'")
    assert row[0].lstrip("'").replace("\n", "") == text.replace("\r", "").replace("\n", "")
    assert float(row[1]) == 1.5


@pytest.mark.parametrize(
    "cell", [-0.7, 1e-7, -1, "-0.7", "+3", "-1.5e-3", "sofa = red", "matt white", "", "[-0.7, 3, 1.1]", "a,b", 'q"q']
)
def test_all_else_stays_as_it_is(cell: object) -> None:
    [row] = csv.reader(io.StringIO(csv_text([[cell]]) or "\n", newline=""))
    assert row == ([str(cell)] if cell != "" else [""])


def test_a_carriage_return_breaks_no_row() -> None:
    assert list(csv.reader(io.StringIO(csv_text([["a\rb", "c"], ["d", "e"]]), newline=""))) == [["a\nb", "c"], ["d", "e"]]


def test_a_seat_called_like_a_formula_is_text_in_the_table(lounge: Measurement) -> None:
    odd = dataclasses.replace(lounge.seats[0], name="=1+1")
    text = seats_csv(dataclasses.replace(lounge, seats=(odd, *lounge.seats[1:])))
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert rows[0]["seat"] == "'=1+1"
    assert float(rows[0]["value"]) == lounge.geometry[0].distance_m
    assert kind_of(text.encode()) == kind_called("seats.csv")


def test_tables_are_known_again() -> None:
    assert kind_of(flatness_csv(Flatness((), (), ())).encode()) == kind_called("flatness.csv")


def test_nothing_else_writes_tables() -> None:
    folder = Path(halfgain.simulate.__path__[0])
    others = [
        path.name for path in folder.rglob("*.py") if "csv.writer" in (text := path.read_text("utf-8")) or "DictWriter" in text
    ]
    assert others == ["csv_text.py"]
