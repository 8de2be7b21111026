"""One served lounge for all tests of the socket."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from halfgain.scenes.library import scene_path

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
