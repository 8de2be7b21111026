"""Names in pictures: whole and inside the picture, in a font that has their letters."""

from __future__ import annotations

import dataclasses
from types import SimpleNamespace

import pytest
from halfgain.simulate.measuring.measure import Measurement
from halfgain.simulate.output import drawing, lettering
from halfgain.simulate.output.lettering import fallback_families, width_in, wrapped
from halfgain.simulate.output.measure import plan as plan_module
from halfgain.simulate.output.measure import screen_map
from halfgain.simulate.output.units import figure as digits
from halfgain.simulate.output.units import foot_lamberts
from matplotlib.figure import Figure
from matplotlib.font_manager import fontManager
from matplotlib.text import Text

from .conftest import SCENES, measured

LONG = (
    "front row, the seat in the middle of the long sofa by the bar",
    "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunter",
    "front middle left",
)


def _figure(monkeypatch: pytest.MonkeyPatch, module: object) -> list[Figure]:
    """Figures as they are when they would become PNG."""
    figures: list[Figure] = []
    monkeypatch.setattr(module, "png", lambda figure: figures.append(figure) or b"")
    return figures


def test_the_plans_legend_keeps_number_name_and_luminance_inside_the_picture(
    lounge: Measurement, monkeypatch: pytest.MonkeyPatch
) -> None:
    figures = _figure(monkeypatch, plan_module)
    seats = tuple(dataclasses.replace(seat, name=LONG[i % 3]) for i, seat in enumerate(lounge.seats))
    plan_module.plan(dataclasses.replace(lounge, seats=seats))
    (figure,) = figures
    legend = [text for text in figure.texts if text.get_position()[0] > 0.6]
    edge = figure.get_window_extent().x1
    assert all(text.get_window_extent().x1 < edge for text in legend)
    lines = [text for text in legend if text.get_text().strip()]
    assert len({round(text.get_window_extent().y0) for text in lines}) == len(lines) > 3  # none stands on another
    said = "".join(text.get_text() for text in legend).replace("\u00a0", "").replace(" ", "")
    for number, seat in enumerate(seats, start=1):
        white = seat.white["centre"].value
        assert f"{number}:{seat.name.replace(' ', '')},{digits(white)}cd/m²,{digits(foot_lamberts(white))}fL" in said


def test_lines_break_at_blanks_and_inside_a_word_only_where_it_is_too_long() -> None:
    room = width_in("front middle", 11)
    assert wrapped("front middle left", 11, room) == ["front middle", "left"]
    assert wrapped("front", 11, room) == ["front"]
    pieces = wrapped(f"a {LONG[1]} b", 11, room)
    assert pieces[0] == "a"
    assert "".join(pieces).startswith("a" + LONG[1])
    assert all(width_in(piece, 11) <= room for piece in pieces)
    assert wrapped("", 11, room) == [""]


def test_width_is_that_of_the_drawn_line() -> None:
    figure = drawing.figure_of(8.0, 1.0)
    text = figure.text(0.1, 0.5, "front middle left, 138.9 cd/m²", fontsize=11)
    assert width_in(text.get_text(), 11) == pytest.approx(text.get_window_extent().width / figure.dpi, rel=0.01)


def test_letters_that_the_usual_font_lacks_come_from_an_installed_one() -> None:
    """matplotlib brings fonts of its own: \N{HIRAGANA LETTER NO} is in one of them, not in the usual one."""
    assert fallback_families("front left") == []
    assert fallback_families("\N{HIRAGANA LETTER NO}") == ["STIXGeneral"]
    assert fallback_families("\U0010fffd") == []  # private: nobody has it
    figure = drawing.figure_of(2.0, 1.0)
    plain, odd = (figure.text(0.1, 0.5, name) for name in ("left", "\N{HIRAGANA LETTER NO}"))
    usual = plain.get_fontfamily()
    drawing.png(figure)
    assert plain.get_fontfamily() == usual
    assert odd.get_fontfamily() == [*usual, "STIXGeneral"]


def test_several_fonts_share_a_name_and_unreadable_ones_are_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    has = {"one": frozenset({1, 2, 3}), "two": frozenset({3, 4}), "boxes": frozenset(range(10)), "broken": frozenset()}
    names = {"one": "One", "two": "Two", "boxes": "Last Resort", "broken": "Broken"}
    fonts = [SimpleNamespace(name=name, fname=file, style="normal", weight=400) for file, name in names.items()]
    monkeypatch.setattr(fontManager, "ttflist", fonts)
    monkeypatch.setattr(lettering, "_letters", has.__getitem__)
    assert lettering._families_with.__wrapped__(frozenset({1, 2, 4, 9})) == ("One", "Two")


@pytest.mark.parametrize("scene", SCENES)
def test_labels_of_contours_stay_inside_the_picture(scene: str, monkeypatch: pytest.MonkeyPatch) -> None:
    figures = _figure(monkeypatch, screen_map)
    measurement = measured(scene)
    for seat in range(len(measurement.seats)):
        screen_map.screen_map(measurement, seat)
    labels = [(figure.axes[0], text) for figure in figures for text in figure.axes[0].texts if isinstance(text, Text)]
    assert len(figures) == len(measurement.seats)
    for axes, text in labels:
        label, frame = text.get_window_extent(), axes.get_window_extent()
        assert frame.x0 < label.x0 < label.x1 < frame.x1
        assert frame.y0 < label.y0 < label.y1 < frame.y1


def test_short_throw_maps_have_labels() -> None:
    """The test above would pass on maps without any."""
    with pytest.MonkeyPatch.context() as patch:
        figures = _figure(patch, screen_map)
        screen_map.screen_map(measured("short-throw-wall"), 0)
    assert {text.get_text() for text in figures[0].axes[0].texts} == {"75 %", "90 %"}
