"""Rooms that the README begins with are rooms whose projector fits: nobody's first answer is a fault."""

from __future__ import annotations

import re
from pathlib import Path

from halfgain.scenes.load import load_scene
from halfgain.scenes.throw import throw

README = Path(__file__).parents[2] / "README.md"


def test_the_first_rooms_fit() -> None:
    text = README.read_text(encoding="utf-8")
    first = re.search(r"halfgain measure ([a-z-]+)", text), re.search(r"halfgain scenes ([a-z-]+) --copy", text)
    rooms = [found[1] for found in first if found]
    assert len(rooms) == 2
    assert all(throw(load_scene(room)).feasible for room in rooms), rooms
