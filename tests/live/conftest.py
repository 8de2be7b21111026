"""What the tests of this folder share, which one worker runs: a browser, and a room served to its pages and to sockets."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from halfgain.scenes.library import scene_path

from .desk import Desk, drawing_browser
from .talking import Served


@pytest.fixture(scope="package")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with one scene of its own in it."""
    place = tmp_path_factory.mktemp("rooms")
    (place / "mine.toml").write_text(scene_path("dark-room").read_text(encoding="utf-8"), encoding="utf-8")
    return place


@pytest.fixture(scope="package")
def served(folder: Path) -> Iterator[Served]:
    """`halfgain serve mine.toml` in its folder."""
    found = Served(str(folder / "mine.toml"), coarse=True)
    yield found
    if found.process.poll() is None:
        found.end()


@pytest.fixture(scope="package")
def browser() -> Iterator[Any]:
    with drawing_browser() as found:
        yield found


WIDE, LOW = 1280, 480  # the room in 3-D is out of sight there, and is not drawn


@pytest.fixture(scope="package")
def one_desk(browser: Any, served: Served) -> Iterator[Desk]:
    """One page for the tests of all controls, each of which begins a room of its own in it."""
    found = Desk(browser, served.address, WIDE, LOW)
    yield found
    found.ready()
    assert found.said == []
    found.close()
