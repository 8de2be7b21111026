"""`halfgain order`: the sheet, its document, what is refused."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import halfgain as hg
import pytest
from halfgain.simulate.command import app
from halfgain.simulate.ordering.order import order
from halfgain.simulate.output.order.words import screen_rows
from halfgain.simulate.output.own_kind import kind_called, kind_of
from halfgain.simulate.page.offer import offer_of
from halfgain.simulate.page.order_sheet import order_sheet
from pypdf import PdfReader

from tests.chromium import chromium
from tests.scenes.scene_texts import edit

EVIL = "<script>alert(1)</script> & \u202e\u05d0\u05d1"
ALL = edit(
    (
        'title = "Test room"',
        'title = "A long title of a long room with a hung projector and a screen before its two tall windows, twice"',
    ),
    ("[0.0, 3.9, 2.2]", "[0.3, 3.9, 2.35]"),
    (
        "lens_shift = [0.1, 0.6]",
        "lens_shift = [0.1, 0.6]\nweight_kg = 14\n[projector.casing]\nsize_m = [0.5, 0.5, 0.2]\nair_m = 0.1\n"
        "[projector.ageing]\nhalf_light_h = 4000\nrun_h = 500\nweek_h = 12",
    ),
    (
        'hang = "fixed frame"',
        'hang = "motorised"\n[screen.mount]\ncase_height_m = 0.12\ncase_depth_m = 0.13\ncase_width_m = 2.8\nrecess_m = 0.05\n'
        'weight_kg = 30\nfixings = 2\nfixing_load_n = 80\ncable_side = "left"',
    ),
)


def test_the_document_holds_what_the_library_gives(capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["order", "light-lounge", "--standing", "1.9", "--white", "70", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["format"] == "halfgain.order/1"
    assert told == json.loads(hg.order("light-lounge", standing_m=1.9, white_cd_m2=70.0).to_json())
    assert told["beam"]["stature_m"] == 1.9
    assert any("local code" in text for text in told["cautions"])


def test_the_sheet_is_written_with_its_list_and_replaces_only_its_kind(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "ordered"
    assert app.run(["order", "light-lounge", "--out", str(out), "--client", "A & B"]) == 0
    assert {path.name for path in out.iterdir()} == {"order.html", "order.json", "order.sha256"}
    page = (out / "order.html").read_bytes()
    assert kind_of(page) == kind_called("order.html")
    assert b"A &amp; B" in page
    (out / "order.html").write_text("mine", encoding="utf-8")
    capsys.readouterr()
    assert app.run(["order", "light-lounge", "--out", str(out)]) == 2
    assert "not replaced" in capsys.readouterr().err


def test_a_users_text_is_escaped_and_turns_nothing() -> None:
    scene = hg.load_scene("light-lounge").change({"title": EVIL})
    page = order_sheet(order(scene), offer_of(project=EVIL.replace("\u202e", "")))
    assert "<script" not in page
    assert "\u202e" not in page
    assert page.count("<bdi>") >= 2
    assert "http-equiv" in page
    assert not re.findall(r"""(?:src|href)=["'](?!data:|#)""", page.replace("xmlns:xlink=", ""))


def test_every_library_scene_is_told_in_eighty_columns(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for name in hg.scene_names():
        assert app.run(["order", name]) == 0
        text = capsys.readouterr().out
        assert max(map(len, text.splitlines())) <= 80
        assert "None" not in text
        assert "nan" not in text


def test_a_long_name_of_a_seat_leaves_room_for_what_is_said_of_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    name = "the seat of honour between the second column and the stove " + "x"
    path = tmp_path / "room.toml"
    path.write_text(edit(('name = "front"', f'name = "{name}"')), encoding="utf-8")
    assert app.run(["order", str(path)]) == 0
    told = capsys.readouterr().out
    assert "the seat of honour" in told
    assert max(len(each) - len(each.lstrip()) for each in told.splitlines()) < 50


@pytest.mark.parametrize(
    ("option", "value", "allowed"),
    [("--standing", "3", "1 to 2.5"), ("--standing", "nan", "1 to 2.5"), ("--white", "0", "1 to 10000")],
)
def test_numbers_out_of_range_are_refused_in_one_line(
    option: str, value: str, allowed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert app.run(["order", "black-box", option, value]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert f"allowed {allowed}" in said.err


def test_the_fullest_sheet_is_one_page_of_a4(tmp_path: Path) -> None:
    scene = hg.scene_from_text(ALL)
    found = order(scene, white_cd_m2=60.0)
    assert len(found.open) >= 2
    offer = offer_of(client="Somebody with a name", project="The attic", designer="Somebody else", date="2026-12-01")
    file = tmp_path / "order.html"
    file.write_text(order_sheet(found, offer), encoding="utf-8")
    asked: list[str] = []
    with chromium() as browser:
        page = browser.new_page(viewport={"width": 794, "height": 1123})
        page.on("request", lambda request: asked.append(request.url))
        page.goto(file.as_uri())
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.set_viewport_size({"width": 360, "height": 740})
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        pdf = page.pdf(format="A4", prefer_css_page_size=True)
    assert len(PdfReader(io.BytesIO(pdf)).pages) == 1
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []


def test_a_case_that_its_cloth_cannot_roll_into_is_told() -> None:
    """White 2.4 m wide with a border of 0.08 m: 2.56 m."""
    for width, told in (("2.8", "2.800 m wide"), ("2.5", "2.500 m wide, narrower than screen and border: ask its maker")):
        rows = dict(screen_rows(order(hg.scene_from_text(ALL.replace("case_width_m = 2.8", f"case_width_m = {width}")))))
        assert rows["Case"] == f"0.120 m high, 0.130 m deep, {told}"


def test_a_room_that_is_no_box_takes_its_drop_from_the_ceiling_over_the_screen() -> None:
    found = hg.order("attic")
    assert found.sizes.drop_to_white == pytest.approx(found.scene.room.height_m - found.sizes.upper_edge)
    assert found.sizes.left_free is None
    assert found.plot().axes


@pytest.mark.parametrize("right", [0.0, 0.3])
def test_the_drop_under_a_slope_is_told_from_its_least_to_its_greatest(right: float) -> None:
    """Level at 2.5 m within 0.9 m of the middle, then down by 1 m a metre: the border's outer end hangs under the lowest."""
    found = hg.order(hg.load_scene("attic").change("screen.right_m", right))
    sizes = found.sizes
    end = right + found.scene.screen.width_m / 2 + found.scene.screen.border_m
    assert sizes.least_drop_to_white == pytest.approx(2.5 - (end - 0.9) - sizes.upper_edge)
    assert sizes.greatest_drop_to_white == pytest.approx(2.5 - sizes.upper_edge)
    rows = dict(screen_rows(found))
    assert rows["The same, along the screen"] == f"{sizes.least_drop_to_white:.3f} to {sizes.greatest_drop_to_white:.3f} m"
    level = hg.order("dark-room")
    assert level.sizes.least_drop_to_white == level.sizes.greatest_drop_to_white == level.sizes.drop_to_white
    assert "The same, along the screen" not in dict(screen_rows(level))
