"""One page for all tests here, made once by the command itself: a small room whose names try to break out of the page."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest
from halfgain.scenes.load import load_scene
from halfgain.scenes.model import Scene
from halfgain.simulate.command import app
from halfgain.simulate.page import evidence as evidence_module
from halfgain.simulate.page.evidence import Evidence

from ..rooms import DEFAULTS, ROOM
from ..small_report import make_small

TITLE = "<script>alert('title')</script> & {{ 7 * 7 }} room of 2 : 1 and 5 cd/m²"
SEAT = "left {{ 7 }} & co's"  # the loader itself refuses < > and quotation marks in names, not in titles
LIGHT = "lamps &amp; {% sun %}"
ERROR = 0.2

FABRIC = 'hang = "motorised"\n[screen.fabric]\nkind = "angular-reflective"\ngain = 1.6\nhalf_gain_deg = 32'
SEATS = f"""
[[seat]]
name = "{SEAT}"
eye_m = [-0.8, 3.0, 1.1]
[[seat]]
name = "rear"
eye_m = [-0.75, 4.4, 1.05]
"""


def scene_text() -> str:
    """A living room with a motorised screen, a head in front of the rear seat, and one light state."""
    text = ROOM.format(
        **{
            **DEFAULTS,
            "fabric": FABRIC,
            "seats": SEATS,
            "gap": 0.08,
            "border": 0.05,
            "bottom": 0.9,
            "ceiling": 0.8,
            "lights": f'[[light]]\nname = "{LIGHT}"\nscreen_lx = 8',
        }
    )
    return text.replace('title = "test room"', f'title = "{TITLE}"')


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever needs the page waits for it to be made."""
    for item in items:
        if "made" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.long)


@dataclass(frozen=True)
class Made:
    """The page's file, its text, what it was made from."""

    file: Path
    html: str
    scene: Scene
    evidence: Evidence


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The page at the coarsest error and made small; everything else as a user gets it."""
    folder = tmp_path_factory.mktemp("page")
    scene_file = folder / "room.toml"
    scene_file.write_text(scene_text())
    kept: list[Evidence] = []
    collect = evidence_module.collect

    def collect_and_keep(*args: object, **kwargs: object) -> Evidence:
        kept.append(collect(*args, **kwargs))  # type: ignore[arg-type]
        return kept[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(evidence_module, "collect", collect_and_keep)
        make_small(patch.setattr)
        status = app.run(["report", str(scene_file), "--out", str(folder / "out"), "--error", str(ERROR), "--threads", "1"])
    assert status == 0
    file = folder / "out" / "report.html"
    return Made(file, file.read_text(encoding="utf-8"), load_scene(str(scene_file)), kept[0])
