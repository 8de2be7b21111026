"""What stands on the page: numbers of `measure`, names escaped, everything inside one file, readable by machines."""

from __future__ import annotations

import dataclasses
import hashlib
from importlib.metadata import version
from itertools import pairwise

import pytest
from halfgain.scenes.cloth.surface import LEVELS, cloth_of
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.measuring.targets import TARGETS
from halfgain.simulate.output.cautions import CAUTIONS
from halfgain.simulate.output.own_kind import kind_called, kind_of
from halfgain.simulate.output.units import figure, foot_lamberts
from halfgain.simulate.page.page import page_html
from halfgain.simulate.page.recommendation import chosen_hang, hung, recommendation, why_hang
from halfgain.simulate.page.room_picture import RoomPicture

from .conftest import ERROR, LIGHT, SEAT, TITLE, Made
from .reader import Reader


@pytest.fixture(scope="module")
def read(made: Made) -> Reader:
    return Reader(made.html)


def test_one_file_and_of_a_size_that_can_be_sent(made: Made) -> None:
    assert [path.name for path in made.file.parent.iterdir()] == ["report.html"]
    assert made.file.stat().st_size < 6e6
    assert kind_of(made.file.read_bytes()) == kind_called("report.html")


def test_nothing_points_outside_the_file(read: Reader) -> None:
    for tag, attributes, _ in read.every(*{tag for tag, _, _ in read.elements}):
        for name in ("src", "href", "xlink:href", "srcset", "action", "poster", "data"):
            value = attributes.get(name, "")
            assert value.startswith(("data:", "#")) or not value, (tag, name, value[:80])
        assert "url(" not in attributes.get("style", "").replace("url(#", "")
    style = " ".join(read.text("style"))
    assert "url(" not in style
    assert "@import" not in style


def test_names_of_the_scene_are_text_and_nothing_else(made: Made, read: Reader) -> None:
    """A title, a seat and a light state with markup in them come out letter by letter."""
    assert read.text("h1") == [TITLE]
    assert TITLE in read.text("title")[0]
    assert len(read.text("script")) == 1
    assert "alert" not in read.text("script")[0]
    assert "<script>alert" not in made.html
    assert made.html.count("room of 2 : 1 and 5 cd/m²") >= 2, (
        "figures keep their units by hard blanks, a user's words stay as they are"
    )
    assert any(SEAT in text for text in read.text("th"))
    assert any(SEAT in text for text in read.text("label"))
    assert any(SEAT in a["alt"] for _, a, _ in read.every("img"))
    assert any(SEAT in a["aria-label"] for _, a, _ in read.every("svg"))
    assert any(LIGHT in text for text in read.text("caption"))


def _both(cd_m2: float) -> str:
    return f"{figure(cd_m2)} cd/m² ({figure(foot_lamberts(cd_m2))} fL)"


def test_figures_are_those_of_measure_at_the_same_seed(made: Made, read: Reader) -> None:
    found = measure(made.scene, seed=1, error=ERROR)
    cells = read.text("td")
    every = read.every("caption", "th", "td")
    start = next(i for i, (tag, _, text) in enumerate(every) if tag == "caption" and text == "What each seat gets")
    for reading, place in zip(found.seats, found.geometry, strict=True):
        row = next(i for i, (tag, _, text) in enumerate(every) if i > start and tag == "th" and reading.name in text)
        shown = [text for _, _, text in every[row + 1 : row + 9]]
        assert shown == [
            f"{place.distance_m:.2f} m",
            f"{place.view_angle_deg:.0f}°",
            _both(reading.white["centre"].value),
            f"{100 * reading.uniformity.value:.0f} %",
            f"{figure(reading.checkerboard.value)} : 1",
            f"{figure(reading.states[0].checkerboard.value)} : 1",
            f"{place.picture_width_deg:.0f}°",
            f"{100 * place.hidden_share:.0f} %",
        ]
        assert any(cell.startswith(f"{figure(reading.washout.value)} ±") for cell in cells)


def test_sources_cautions_version_and_hash_are_there(made: Made, read: Reader) -> None:
    said = read.text("li")
    for caution in CAUTIONS:
        assert " ".join(caution.split()) in said
    for source in {target.source for target in TARGETS}:
        assert any(source in text for text in said)
    facts = read.text("dd")
    assert f"halfgain {version('halfgain')}" in facts
    assert hashlib.sha256((made.file.parents[1] / "room.toml").read_bytes()).hexdigest() in facts


def test_headings_go_down_one_step_at_a_time(read: Reader) -> None:
    levels = [int(tag[1]) for tag, _, _ in read.every("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert max(b - a for a, b in pairwise(levels)) <= 1
    assert all(read.text(tag) for tag in ("h2", "h3"))


def test_pictures_have_words_and_inputs_have_labels(read: Reader) -> None:
    assert all(len(attributes["alt"]) > 20 for _, attributes, _ in read.every("img"))
    charts = read.every("svg")
    assert len(charts) >= 5
    assert all(a["role"] == "img" and len(a["aria-label"]) > 20 for _, a, _ in charts)
    ids = [a["id"] for _, a, _ in read.elements if "id" in a]
    assert len(ids) == len(set(ids))
    labelled = {a["for"] for _, a, _ in read.every("label") if "for" in a}
    assert {a["id"] for _, a, _ in read.every("input") if a["type"] == "range"} <= labelled
    targets = {a["href"][1:] for _, a, _ in read.every("a")}
    assert targets <= set(ids)


def test_before_and_after_are_for_folds_paint_and_fabric(made: Made, read: Reader) -> None:
    kinds = [pair.kind for pair in made.evidence.pairs]
    assert kinds[0] == "folds"
    assert kinds.count("other") == 2
    assert len(made.evidence.pairs[0].after) == 3
    pictures = [a for _, a, _ in read.every("img") if "data-seat" in a]
    assert len(pictures) == 2 * (1 + 3 + 2 + 2)
    shapes = [cloth_of(made.scene.screen, level) for level in LEVELS]
    folded = sum(not cloth.flat for cloth in shapes)
    assert len({a["src"] for a in pictures}) == 2 * (1 + folded + 1 + 2), (
        "before of paint and fabric, and flat shapes, are one picture"
    )


def test_the_same_evidence_gives_the_same_bytes(made: Made) -> None:
    assert page_html(made.evidence) == made.html


def test_without_graphics_libraries_a_sentence_stands_in_the_place_of_the_picture(made: Made) -> None:
    reason = "install the graphics libraries"
    read = Reader(page_html(dataclasses.replace(made.evidence, room=RoomPicture(None, reason, 1.0))))
    assert any(reason in text and text.startswith("There is no 3-D picture") for text in read.text("p"))


def test_what_counts_for_the_client_is_told_with_the_choice(made: Made) -> None:
    # Expected: without wishes the weakest aim alone; with them the aim put first and each weight, by name
    advice = made.evidence.advice
    plain = recommendation(advice).reasons[0]
    wishes = dataclasses.replace(advice.wishes, first_aim="lights-on", weights={"white": 2.0})
    asked = recommendation(dataclasses.replace(advice, wishes=wishes)).reasons[0]
    assert "gives up least in its weakest aim" in plain
    assert "as asked" not in plain
    assert "contrast with the lights on first of all as asked" in asked
    assert "white 2, others 1" in asked


def test_folds_of_the_planned_hang_are_told_with_the_fabric_they_are_judged_with(made: Made) -> None:
    """The section on folds has the planned fabric, whose figures may be twenty times smaller."""
    advice = made.evidence.advice
    planned = advice.scene.screen
    assert advice.balanced != planned.fabric.name
    other = why_hang(advice, chosen_hang(advice))
    assert f"The same fabric on the planned {hung(planned.hang)}: " in other
    screen = dataclasses.replace(planned, fabric=dataclasses.replace(planned.fabric, name=advice.balanced))
    same = dataclasses.replace(advice, scene=dataclasses.replace(advice.scene, screen=screen))
    assert f" On the planned {hung(planned.hang)}: " in why_hang(same, chosen_hang(same))
