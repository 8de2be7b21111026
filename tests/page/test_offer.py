"""The first sheet: fields, prices and a logo that is judged before it stands on the page."""

from __future__ import annotations

import base64
import dataclasses
from pathlib import Path

import pytest
from halfgain.materials.text.reading import Unreadable
from halfgain.scenes.errors import SceneErrors
from halfgain.simulate.command import app
from halfgain.simulate.page import evidence as evidence_module
from halfgain.simulate.page.logo import logo_url
from halfgain.simulate.page.offer import LONGEST, MOST_LINES, money, offer_from, offer_of, price_table
from halfgain.simulate.page.page import page_html
from halfgain.simulate.page.recommendation import chosen_hang
from PIL import Image

from .conftest import Made
from .reader import Reader

SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 9 9">{}</svg>'
BAD = [
    ("<script>alert(1)</script>", "script"),
    ('<rect onload="alert(1)" width="9" height="9"/>', "onload"),
    ('<image href="https://example.org/a.png"/>', "another file"),
    ('<image xlink:href="file:///etc/hosts"/>', "another file"),
    ('<a href="javascript:alert(1)"><rect/></a>', "another file"),
    ('<image href="data:text/html;base64,AAAA"/>', "another file"),
    ('<style>@import "https://example.org/a.css";</style>', "another file"),
    ("<style>rect { fill: url(https://example.org/a) }</style>", "another file"),
    ("<style>rect { fill: u\\72l(https://example.org/a) }</style>", "another file"),
    ("<rect style=\"fill: url('//example.org/a')\"/>", "another file"),
    ("<foreignObject><p>text</p></foreignObject>", "foreignObject"),
    ("<?xml-stylesheet href='https://example.org/a.css'?>", "processing instruction"),
    ("<rect>", "not well-formed"),
]


@pytest.mark.parametrize("inside, said", BAD)
def test_an_svg_that_does_more_than_show_itself_is_refused(tmp_path: Path, inside: str, said: str) -> None:
    file = tmp_path / "logo.svg"
    file.write_text(SVG.format(inside))
    with pytest.raises(Unreadable) as told:
        logo_url(file)
    assert said in str(told.value)


def test_an_svg_with_a_document_type_is_refused_before_its_entities_grow(tmp_path: Path) -> None:
    file = tmp_path / "logo.svg"
    entities = "".join(f'<!ENTITY a{i + 1} "{f"&a{i};" * 10}">' for i in range(9))
    file.write_text(f'<!DOCTYPE svg [<!ENTITY a0 "x">{entities}]>' + SVG.format("<text>&a9;</text>"))
    with pytest.raises(Unreadable, match="document type"):
        logo_url(file)
    file.write_text("<html><body/></html>")
    with pytest.raises(Unreadable, match="root is not svg"):
        logo_url(file)


def test_logos_of_the_three_kinds_are_embedded_as_they_are(tmp_path: Path) -> None:
    good = SVG.format('<defs><linearGradient id="g"/></defs><rect fill="url(#g)"/><use href="#g"/>')
    (tmp_path / "a.svg").write_text(good)
    for name in ("a.png", "a.jpeg"):
        Image.new("RGB", (8, 4), "navy").save(tmp_path / name)
    for name, kind in (("a.svg", "svg+xml"), ("a.png", "png"), ("a.jpeg", "jpeg")):
        head, data = logo_url(tmp_path / name).split(",")
        assert head == f"data:image/{kind};base64"
        assert base64.b64decode(data) == (tmp_path / name).read_bytes()


@pytest.mark.parametrize(
    "data", [b"", b"GIF89a", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n" + bytes(1_000_000)]
)
def test_what_is_no_logo_is_one_line_and_nothing_is_written(
    tmp_path: Path, data: bytes, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(evidence_module, "collect", lambda *_, **__: pytest.fail("worked in vain"))
    file = tmp_path / "logo.png"
    file.write_bytes(data)
    assert app.run(["report", "light-lounge", "--logo", str(file), "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err
    assert len(said.splitlines()) == 1
    assert "logo.png" in said
    assert [path.name for path in tmp_path.iterdir()] == ["logo.png"]


def test_fields_that_cannot_stand_are_told_all_at_once() -> None:
    with pytest.raises(SceneErrors) as told:
        offer_of(
            client=" ", project="a\nb", designer="x" * (LONGEST + 1), not_included=["a"] * (MOST_LINES + 1), logo=Path("none.svg")
        )
    lines = str(told.value).splitlines()
    for key in ("--client", "--project", "--designer", "--not-included", "none.svg"):
        assert any(key in line for line in lines), key
    with pytest.raises(SceneErrors, match="customer"):
        offer_from({"customer": "A"})
    with pytest.raises(SceneErrors, match="not_included"):
        offer_from({"not_included": "one text, no list"})


def test_fields_stand_on_the_first_sheet_as_text(made: Made) -> None:
    fields = {
        "client": "<b>A & co</b>",
        "project": "{{ 7 * 7 }} rooms",
        "designer": "D",
        "date": "2026-11-29",
        "not_included": ["<i>wiring</i>"],
    }
    read = Reader(page_html(made.evidence, offer_from(fields)))
    assert {"<b>A & co</b>", "{{ 7 * 7 }} rooms", "D", "2026-11-29"} <= set(read.text("dd"))
    assert "<i>wiring</i>" in read.text("li")
    assert "Choices and prices" not in read.text("caption"), "no list, no prices"
    assert not [a for _, a, _ in read.every("img") if a.get("class") == "logo"]


def test_prices_add_up_and_what_the_list_lacks_is_said(made: Made) -> None:
    advice = made.evidence.advice
    hang, planned = chosen_hang(advice).hang.value, advice.scene.screen
    prices = {advice.balanced: 610.5, hang: 1234.0}
    table = price_table(dataclasses.replace(advice, wishes=dataclasses.replace(advice.wishes, prices=prices)))
    assert table is not None
    assert table.rows[0][1:] == (advice.balanced, "610.50", hang, "1\u202f234", "1\u202f844.50")
    row = next(row for row in table.rows if "as planned" in row[0].lower())
    assert (row[1], row[3]) == (planned.fabric.name, planned.hang.value)
    assert row[5] == ("1\u202f844.50" if row is table.rows[0] else "open")
    assert money(0.0) == "0"
    assert money(1e6) == "1\u202f000\u202f000"


def test_what_does_not_fit_leads(made: Made) -> None:
    found = made.evidence.measurement
    throw = dataclasses.replace(found.throw, feasible=False)
    read = Reader(page_html(dataclasses.replace(made.evidence, measurement=dataclasses.replace(found, throw=throw))))
    titles = [
        text
        for tag, _, text in read.every("h3")
        if text in ("Projector", "Brightness", "Flatness", "Sight", "Contrast in the dark")
    ]
    assert titles[0] == "Projector"
    assert [a for _, a, _ in read.every("p") if a.get("class") == "blocker"]
    order = [
        ("look", "note", "good").index(a["class"]) for tag, a, _ in read.every("li") if a.get("class") in ("look", "note", "good")
    ]
    assert order == sorted(order)
