"""The page in a real browser: accessibility by axe-core, slider and picker by keyboard, phone, paper, no outside request."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from halfgain.simulate.page.offer import LONGEST, MOST_LINES, offer_of
from halfgain.simulate.page.page import page_html

from ..chromium import chromium, sheets, violations
from .conftest import Made
from .reader import Reader

DESK, PHONE = (1200, 900), (390, 844)  # windows
A4_PX = round((210 - 28) / 25.4 * 96)  # width of A4 between the page's margins, in CSS pixels
FEW_PIXELS = {"device_scale_factor": 0.25}  # the same layout; software draws a sixteenth of the pixels


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Chromium of this machine; none is ever downloaded."""
    with chromium() as found:
        yield found


class Watched:
    """A page with what it said and asked for."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.said: list[str] = []
        self.asked: list[str] = []


def _open(browser: Any, made: Made, width: int, height: int) -> Watched:
    context = browser.new_context(viewport={"width": width, "height": height}, reduced_motion="reduce", **FEW_PIXELS)
    watched = Watched(context.new_page())

    def decide(route: Any) -> None:
        url = route.request.url
        if url.startswith(("file:", "data:")):
            route.continue_()
        else:
            watched.asked.append(url)
            route.abort()

    context.route("**/*", decide)
    watched.page.on(
        "request", lambda request: None if request.url.startswith(("file:", "data:")) else watched.asked.append(request.url)
    )
    watched.page.on(
        "console", lambda message: watched.said.append(message.text) if message.type in ("error", "warning") else None
    )
    watched.page.on("pageerror", lambda fault: watched.said.append(str(fault)))
    watched.page.on("dialog", lambda dialog: (watched.said.append(dialog.message), dialog.dismiss()))
    watched.page.goto(made.file.as_uri())
    return watched


@pytest.fixture(scope="module")
def desk(browser: Any, made: Made) -> Watched:
    return _open(browser, made, *DESK)


@pytest.fixture(scope="module")
def phone(browser: Any, made: Made) -> Watched:
    return _open(browser, made, *PHONE)


# charts are pictures with a name: what they are drawn of is thousands of paths, and not for reading
_BUT_CHARTS = "{ exclude: [['svg.chart > *']] }"


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_no_accessibility_violation_of_any_impact(size: tuple[int, int], desk: Watched) -> None:
    """With all details open, since the checker passes over what is closed.

    Both sizes in one page, in which it is three times as fast the second time.
    """
    page = desk.page
    page.set_viewport_size({"width": size[0], "height": size[1]})
    every = "(open) => document.querySelectorAll('details').forEach((each) => { each.open = open; })"
    page.evaluate(every, True)
    assert violations(page, _BUT_CHARTS) == []
    page.evaluate(every, False)
    page.set_viewport_size({"width": DESK[0], "height": DESK[1]})


def test_no_error_no_dialog_and_no_outside_request(desk: Watched, phone: Watched) -> None:
    for watched in (desk, phone):
        assert watched.said == []
        assert watched.asked == []


def _clip(page: Any, number: int) -> str:
    return str(page.evaluate(f"getComputedStyle(document.querySelector('[data-pair=\"{number}\"] .after')).clipPath"))


def test_slider_moves_by_keyboard_and_moves_the_line(desk: Watched) -> None:
    page = desk.page
    slider = page.locator("#cut-1")
    slider.focus()
    assert "50%" in _clip(page, 1)
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    assert slider.input_value() == "53"
    assert "53%" in _clip(page, 1)
    page.keyboard.press("Home")
    assert re.search(r"inset\(0(px|%)?\b", _clip(page, 1))
    assert slider.get_attribute("aria-valuetext") == "0 % of the width shows the left side"
    page.keyboard.press("End")
    assert "100%" in _clip(page, 1)
    assert "50%" in _clip(page, 2), "each pair has its own line"


def test_pointer_on_the_picture_moves_the_line(desk: Watched) -> None:
    stage = desk.page.locator("[data-pair='2'] .stage")
    stage.scroll_into_view_if_needed()
    box = stage.bounding_box()
    desk.page.mouse.click(box["x"] + 0.25 * box["width"], box["y"] + 0.5 * box["height"])
    assert "25%" in _clip(desk.page, 2)


def _shown(page: Any, number: int, side: str) -> list[str]:
    return list(
        page.evaluate(
            f"[...document.querySelectorAll('[data-pair=\"{number}\"] .{side} img')].filter((i) => i.checkVisibility()).map((i) => i.alt)"
        )
    )


def test_picker_by_keyboard_changes_all_pictures(desk: Watched, made: Made) -> None:
    page = desk.page
    first, second = made.evidence.seats
    page.locator("#seat-picker input").first.focus()
    assert first in _shown(page, 1, "before")[0]
    page.keyboard.press("ArrowRight")
    for number in range(1, len(made.evidence.pairs) + 1):
        for side in ("before", "after"):
            shown = _shown(page, number, side)
            assert len(shown) == 1
            assert f"View from {second}" in shown[0]
    page.keyboard.press("ArrowLeft")
    assert first in _shown(page, 1, "after")[0]


def test_shape_of_the_cloth_changes_the_folded_picture_alone(desk: Watched) -> None:
    page = desk.page
    before = _shown(page, 1, "before")
    page.locator("input[name='shape-1'][value='2']").check(force=True)
    assert "high folds" in _shown(page, 1, "after")[0]
    page.locator("input[name='shape-1'][value='0']").check(force=True)
    assert "low folds" in _shown(page, 1, "after")[0]
    assert _shown(page, 1, "before") == before


def test_every_picture_is_drawn(desk: Watched) -> None:
    assert desk.page.evaluate("[...document.images].every((each) => each.complete && each.naturalWidth > 0)")


_TOO_WIDE = """(limit) => [...document.querySelectorAll('body *')].filter((each) => {
  const box = each.getBoundingClientRect();
  const scrolls = each.parentElement.closest('.scroll');
  return box.width > 1 && box.height > 1 && (box.right > limit + 1 || box.left < -1) && each.checkVisibility()
    && !(scrolls && getComputedStyle(scrolls).overflowX === 'auto') && !each.closest('.skip, thead');
}).map((each) => each.outerHTML.slice(0, 100))"""


def test_phone_does_not_scroll_sideways(phone: Watched) -> None:
    page = phone.page
    for state in (False, True):
        page.evaluate("(open) => document.querySelectorAll('details').forEach((each) => { each.open = open; })", state)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        assert page.evaluate(_TOO_WIDE, 390) == []
    assert page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 16


def test_paper_has_both_sides_no_instructions_and_cuts_nothing_off(desk: Watched, made: Made) -> None:
    """A4: both sides of every pair stand side by side, nothing is wider than the paper, nothing is said of what only a screen has."""
    page = desk.page
    page.set_viewport_size({"width": A4_PX, "height": 1000})
    page.emulate_media(media="print")
    assert page.evaluate("[...document.querySelectorAll('details')].every((each) => !each.checkVisibility())")
    assert page.evaluate(_TOO_WIDE, A4_PX) == []
    cut = "[...document.querySelectorAll('.scroll')].filter((each) => each.scrollWidth > each.clientWidth + 1).length"
    assert page.evaluate(cut) == 0
    for number in range(1, len(made.evidence.pairs) + 1):
        boxes = [page.locator(f"[data-pair='{number}'] .{side} img:visible").bounding_box() for side in ("before", "after")]
        assert boxes[0]["x"] + boxes[0]["width"] <= boxes[1]["x"]
        assert _clip(page, number) == "none"
    assert not page.locator("#cut-1").is_visible()
    said = page.evaluate("document.body.innerText").lower()
    assert [words for words in ("move the line", "choose", "finger", "arrow keys") if words in said] == []
    assert f"from {made.evidence.seats[made.evidence.pictures[0].seats[0]]}".lower() in said
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": DESK[0], "height": DESK[1]})


@pytest.fixture(scope="module")
def printed_page(browser: Any, made: Made) -> list[list[str]]:
    """Lines of text of every sheet of the page as it was made."""
    return sheets(browser, made.file)


def test_the_offer_is_one_sheet_and_the_annex_at_most_seven(
    browser: Any, made: Made, printed_page: list[list[str]], tmp_path: Path
) -> None:
    """With every field as long as it may be, and a price list; the answer alone stands on the first sheet."""
    advice = made.evidence.advice
    prices = dict.fromkeys([*(each.name for each in advice.evidence), *(each.hang.value for each in advice.hangs)], 1234.5)
    evidence = replace(made.evidence, advice=replace(advice, wishes=replace(advice.wishes, prices=prices)))
    long = "word " * (LONGEST // 5)
    offer = offer_of(client=long, project=long, designer=long, date="2026-11-29", not_included=[long] * MOST_LINES)
    file = tmp_path / "long.html"
    file.write_text(page_html(evidence, offer), encoding="utf-8")
    for printed in (printed_page, sheets(browser, file, read=2)):
        assert 3 <= len(printed) <= 8
        first = " ".join(printed[0])
        assert "Our advice" in first
        assert "What it rests on follows." in first
        assert "In short" not in first
        assert "In short" in " ".join(printed[1][:4])
    assert "Not included" in first
    assert "1\u202f234.50" in first.replace(" ", "\u202f")


def test_on_paper_no_heading_is_parted_from_what_follows(made: Made, printed_page: list[list[str]]) -> None:
    """No sheet ends with a heading, a caption of a table or the line that leads to the pictures."""
    headings = {
        " ".join(text.split())
        for text in Reader(made.html).text("h2") + Reader(made.html).text("h3") + Reader(made.html).text("caption")
    }
    assert sum(line in headings for lines in printed_page for line in lines) >= 10, "headings are found in the text of the sheets"
    assert [lines[-1] for lines in printed_page if lines[-1] in headings or lines[-1].endswith("after on the right.")] == []


def test_without_scripts_both_sides_stand_beside_each_other(browser: Any, made: Made) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 900, "height": 800}, **FEW_PIXELS)
    page = context.new_page()
    page.goto(made.file.as_uri())
    boxes = [page.locator(f"[data-pair='1'] .{side} img:visible").first.bounding_box() for side in ("before", "after")]
    assert boxes[0]["x"] + boxes[0]["width"] <= boxes[1]["x"]
    assert not page.locator("#cut-1").is_visible()
