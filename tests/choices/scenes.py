"""Scenes of these tests as documents: a room whose answers follow by hand, and shorthand for the library's."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

from halfgain.scenes.load import scene_from_text
from halfgain.simulate.choices.variants import VariantText, read_document

from ..rooms import DEFAULTS, ROOM


def document(**changes: object) -> VariantText:
    """The test room as a document, with changes to the fields of ROOM."""
    text = ROOM.format(**{**DEFAULTS, **changes})
    return VariantText(tomllib.loads(text), "room.toml", Path(), scene_from_text(text, "room.toml"))


def black(**changes: object) -> VariantText:
    """A room that gives nothing back: white = E g / pi and ambient light by hand."""
    walls = dict.fromkeys(("front", "back", "left", "right", "ceiling", "floor"), 0)
    return document(**{**walls, **changes})


@cache
def library(name: str) -> VariantText:
    """A scene of the library."""
    return read_document(name)
