"""Names written from the right, or with letters that steer the direction, leave the page around them as it is."""

from __future__ import annotations

import dataclasses
import re

import pytest
from halfgain.simulate.page.isolate import isolated, user_names
from halfgain.simulate.page.page import page_html

from .conftest import Made

HEBREW, ARABIC = "שורה 2", "أريكة"
STEERING = "".join(map(chr, (*range(0x202A, 0x202F), *range(0x2066, 0x206A))))


@pytest.mark.parametrize(
    ("page", "names", "expected"),
    [
        (f"<td>{HEBREW}: 5</td>", [HEBREW], f"<td><bdi>{HEBREW}</bdi>: 5</td>"),
        (f"<p>{HEBREW}, {ARABIC}</p>", [HEBREW, ARABIC], f"<p><bdi>{HEBREW}</bdi>, <bdi>{ARABIC}</bdi></p>"),
        (f'<img alt="from {HEBREW}">', [HEBREW], f'<img alt="from \u2068{HEBREW}\u2069">'),
        (f"<title>{HEBREW}: page</title>", [HEBREW], f"<title>\u2068{HEBREW}\u2069: page</title>"),
        (f"<td>{HEBREW}1</td>", [HEBREW, f"{HEBREW}1"], f"<td><bdi>{HEBREW}1</bdi></td>"),
        (
            f"<td>a&#39;{ARABIC}</td><i title='a&#x27;{ARABIC}'>",
            [f"a'{ARABIC}"],
            f"<td><bdi>a&#39;{ARABIC}</bdi></td><i title='\u2068a&#x27;{ARABIC}\u2069'>",
        ),
        ("<td>sofa: 5</td>", ["sofa"], "<td>sofa: 5</td>"),
        ("<td>\u202eevil\u2069: 5</td>", ["\u202eevil\u2069"], "<td>evil: 5</td>"),
        (f"<td>\u202e{ARABIC}\u202c: 5</td>", [f"\u202e{ARABIC}\u202c"], f"<td><bdi>{ARABIC}</bdi>: 5</td>"),
        (f"<script>'{ARABIC}'</script>", ["", " "], f"<script>'{ARABIC}'</script>"),
    ],
)
def test_a_name_is_kept_to_itself(page: str, names: list[str], expected: str) -> None:
    assert isolated(page, names) == expected


def test_every_name_of_a_page_is_kept_to_itself(made: Made) -> None:
    """The made page with names written from the right in place of its own: none stands free in a text or an attribute."""
    found = made.evidence
    scene = found.measurement.scene
    title, light = f"{STEERING}בית קולנוע", "מנורה"
    names = [f"מושב {i}" for i in range(len(scene.seats))]
    seats = tuple(dataclasses.replace(seat, name=name) for seat, name in zip(scene.seats, names, strict=True))
    readings = tuple(dataclasses.replace(each, name=name) for each, name in zip(found.measurement.seats, names, strict=True))
    lights = tuple(dataclasses.replace(each, name=light) for each in scene.lights)
    renamed = dataclasses.replace(scene, title=title, seats=seats, lights=lights)
    table = {**found.document.table, "title": title, "seat": [{"name": name} for name in names], "light": [{"name": light}]}
    document = dataclasses.replace(found.document, table=table, scene=renamed)
    measurement = dataclasses.replace(found.measurement, scene=renamed, seats=readings)
    evidence = dataclasses.replace(found, document=document, measurement=measurement, charts=None)
    assert {title, light, *names} <= set(user_names(evidence))
    page = page_html(evidence)
    assert not set(STEERING) & set(re.sub("\u2068[^\u2068\u2069]+\u2069", "", page)), (
        "no steering letter but the isolates in pairs"
    )
    hebrew = r"[\u05d0-\u05ea]"
    kept = re.sub("\u2068[^\u2068\u2069<>]*\u2069|<bdi>[^<]*</bdi>|<!--.*?-->", "", page)
    free = re.findall(f".{{0,40}}{hebrew}.{{0,40}}", kept)
    assert free == []
    assert len(re.findall(f"<bdi>[^<]*{hebrew}", page)) > 20
