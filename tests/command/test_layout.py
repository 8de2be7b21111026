"""Lines and tables of reports on terminals of any width: names stay whole, figures are never cut."""

from __future__ import annotations

import io

import pytest
from halfgain.simulate.output.layout import bullet, grid, rendered
from rich.console import Console, RenderableType

FIGURES = ("12345.6 ±0.05", "-0.758", "+104 to +119")


def drawn(part: RenderableType, width: int) -> list[str]:
    return rendered([part], Console(file=io.StringIO(), width=width)).splitlines()


@pytest.mark.parametrize("width", range(30, 81))
def test_a_name_in_quotes_stays_on_one_line(width: int) -> None:
    text = 'heads may hide part of the picture, most from "row 2 seat 11" (31.0 % of it), "back row left" and "sofa"'
    lines = drawn(bullet(text), width)
    assert " ".join(line[2:] for line in lines) == text
    assert max(map(len, lines)) <= width
    for name in ('"row 2 seat 11"', '"back row left"', '"sofa"'):
        assert sum(name in line for line in lines) == 1, lines


def test_a_name_longer_than_a_line_breaks_and_a_lone_quote_mark_holds_nothing() -> None:
    long = f'"{"a very long name " * 4}"'
    assert max(map(len, drawn(bullet(long), 40))) <= 40
    assert max(map(len, drawn(bullet('a 100" screen ' + "and more words " * 6), 40))) <= 40


@pytest.mark.parametrize("no_wrap", [True, False])
@pytest.mark.parametrize("width", [20, 30, 40, 50, 80])
def test_a_table_shows_every_figure_whole_however_narrow_the_terminal(width: int, no_wrap: bool) -> None:
    table = grid()
    table.add_column("surface", overflow="fold")
    for title in ("contrast\nif black :1", "slope", "change %"):
        table.add_column(title, justify="right", no_wrap=no_wrap)
    table.add_row("the left wall", *FIGURES)
    table.add_row("ceiling", *FIGURES)
    lines = drawn(table, width)
    said = " ".join(" ".join(lines).split())
    assert "…" not in said
    for word in ("surface", "ceiling", "left", "wall", "contrast", "black", "slope", "change", *" ".join(FIGURES).split()):
        assert word in said.split(), (word, lines)
    if no_wrap:
        assert all(any(figure in line for line in lines) for figure in FIGURES)


def test_a_table_that_fits_is_as_wide_as_its_words() -> None:
    table = grid()
    table.add_column("seat")
    table.add_column("white", justify="right", no_wrap=True)
    table.add_row("sofa", "168")
    assert drawn(table, 80) == ["seat  white", "───────────", "sofa    168"]
