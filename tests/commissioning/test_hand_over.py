"""The hand-over sheet in a real browser: one A4 sheet however much there is to say, nothing wider than the paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.commissioning.check import Check, check
from halfgain.simulate.commissioning.meters import Meter
from halfgain.simulate.commissioning.predictor import Predictor
from halfgain.simulate.commissioning.site_reading import PATCHES, ShownPicture, SiteReading
from halfgain.simulate.page.hand_over import hand_over_html
from halfgain.simulate.page.offer import LONGEST, offer_of

from tests.chromium import chromium, sheets
from tests.commissioning.site import illuminances, luminances, readings, site_room
from tests.rooms import box_object

SEATS = "".join(
    f'[[seat]]\nname = "row of seats number {i}, with a name"\neye_m = [{-1.4 + 0.2 * i:.1f}, 3.5, 1.2]\n' for i in range(14)
)
LIGHTS = "".join(f'[[light]]\nname = "lamp circuit number {i}, dimmed to half"\nscreen_lx = {1 + i}\n' for i in range(8))
FINISH = '{{ name = "a finish with a long name, number {0}", reflectance = 0.4 }}'


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def plain() -> Check:
    answers = Answers.of(site_room(), seed=3, paths=16)
    truth = Predictor(Answers.of(site_room(ceiling=0.7), seed=9, paths=32), [*luminances(), *illuminances()])
    return check(answers, readings(truth, seed=1))


@pytest.fixture(scope="module")
def crowded() -> Check:
    """Many seats, lights, finishes and readings; much that differs, and a wrong reading."""
    crates = "".join(
        box_object(f"piece of furniture number {i}", [-1.9 + 0.4 * i, 1.0, 0.0], [-1.7 + 0.4 * i, 1.4, 0.5], FINISH.format(i))
        for i in range(8)
    )
    scene = site_room(seats=SEATS, lights=LIGHTS, objects=crates)
    taken = [
        SiteReading(Meter.LUMINANCE, shown, place, seat.name, "dark", 1.0, 0.01)
        for seat in scene.seats
        for shown, places in (
            (ShownPicture.WHITE, ["centre"]),
            (ShownPicture.BLACK, ["centre"]),
            (ShownPicture.CHECKERBOARD, PATCHES[5:7]),
        )
        for place in places
    ]
    taken += [replace(illuminances()[0], place=str(i)) for i in range(1, 10)]
    taken += [replace(illuminances()[-1], light=light.name) for light in scene.lights]
    built = scene.change({"projector.in_use": 0.7, "projector.checkerboard_contrast": 150, "projector.native_contrast": 1200})
    truth = Predictor(Answers.of(built.with_finish("ceiling", 0.75), seed=9, paths=8), taken)
    return check(Answers.of(scene, seed=3, paths=8), readings(truth, seed=1, wrong={4: lambda x: 2 * x}))


@pytest.mark.parametrize("which", ["plain", "crowded"])
def test_the_sheet_is_one_sheet(which: str, browser: Any, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    found = request.getfixturevalue(which)
    long = "word " * (LONGEST // 5)
    offer = offer_of(client=long, project=long, designer=long, date="2026-12-01")
    file = tmp_path / "check.html"
    file.write_text(hand_over_html(found, offer), encoding="utf-8")
    printed = sheets(browser, file)
    assert len(printed) == 1
    said = " ".join(printed[0])
    for words in (
        "What explains the differences",
        "At the seats, dark room",
        "Stated, and as built",
        "Measured by, date",
        "Meters:",
    ):
        assert words in said
    page = browser.new_page(viewport={"width": 695, "height": 1000})
    page.goto(file.as_uri())
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= 695
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": 360, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") == 360, "on a phone wide tables scroll by themselves"
    page.close()


def test_what_the_sheet_has_no_room_for_is_counted(crowded: Check) -> None:
    page = hand_over_html(crowded)
    assert "And 7 more seats." in page
    assert "stand in check.csv" in page
    assert page.count("row of seats number") >= 7
