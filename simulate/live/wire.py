"""What goes over the socket: questions of a page, checked, and answers as JSON or as JSON with arrays behind it."""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping
from dataclasses import field
from typing import Any, NamedTuple

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.cloth.level import LEVELS
from ...scenes.read import LARGEST_BYTES
from .edits import Edit

MOST_BYTES = LARGEST_BYTES + 100_000  # of one question: a scene's text and a little more
SLOTS = ("a", "b")
ZONES = 192
_EDITS = ("set", "add", "take")
_MOST_EDITS, _MOST_NAME = 200, 300


class BadQuestion(ValueError):
    """A question that no page of ours sends; str() is one line."""


class Message(NamedTuple):
    """An answer: its kind, what JSON holds of it, and arrays by name."""

    kind: str
    head: Mapping[str, Any]
    arrays: Mapping[str, np.ndarray] = {}

    def encoded(self) -> str | bytes:
        """JSON text; with arrays a length (uint32), JSON, blanks up to a multiple of 8, then the arrays, each on a multiple of 8.

        Source: own format, little-endian.
        """
        head = {"kind": self.kind, **self.head}
        if not self.arrays:
            return json.dumps(head, separators=(",", ":"), allow_nan=False)
        parts, listed, at = [], [], 0
        for name, array in self.arrays.items():
            data = np.ascontiguousarray(array).tobytes()
            listed.append({"name": name, "type": array.dtype.str[1:], "shape": list(array.shape), "at": at})
            data += b"\0" * (-len(data) % 8)
            parts.append(data)
            at += len(data)
        text = json.dumps({**head, "arrays": listed}, separators=(",", ":"), allow_nan=False).encode()
        text += b" " * (-(len(text) + 4) % 8)
        return struct.pack("<I", len(text)) + text + b"".join(parts)


@dataclass(frozen=True)
class Ask:
    """One question about a scene.

    number  rises with every question of a page;  slot  which of its two variants
    text    the scene's text, before edits;  name  what the page calls it
    seat    number of the seat that looks;  show  what the screen shows
    zones   (192, 3) levels of the zones of a picture of the page's own [1], or None;  level  of estimated folds
    have    what the page holds already: keys of shape and room, so that they are not sent again
    wants   which answers;  light  name of the light state in which the seat looks, "" in the dark
    """

    number: int
    slot: str
    text: str
    name: str
    edits: tuple[Edit, ...] = ()
    seat: int = 0
    show: str = "letters"
    zones: np.ndarray | None = None
    level: str = "typical"
    have: Mapping[str, str] = field(default_factory=dict)
    wants: frozenset[str] = frozenset()
    light: str = ""


def question(data: str) -> dict[str, Any]:
    """A page's message as a table with a word under "do". raises BadQuestion"""
    try:
        table = json.loads(data)
    except (ValueError, RecursionError) as fault:
        raise BadQuestion("not JSON") from fault
    if not isinstance(table, dict) or not isinstance(table.get("do"), str):
        raise BadQuestion('not a table with "do"')
    return table


def ask_of(table: Mapping[str, Any]) -> Ask:
    """The question about a scene in a message. raises BadQuestion"""
    level, slot, show = text_in(table, "level", "typical"), text_in(table, "slot", "a"), text_in(table, "show", "letters")
    if slot not in SLOTS or level not in LEVELS:
        raise BadQuestion(f"slot {slot!r}, level {level!r}")
    have = table.get("have", {})
    if not isinstance(have, dict) or not all(isinstance(part, str) for part in have.values()):
        raise BadQuestion("have")
    wants = table.get("wants", [])
    if not isinstance(wants, list) or not all(isinstance(part, str) for part in wants):
        raise BadQuestion("wants")
    text = table.get("text")
    if not isinstance(text, str):
        raise BadQuestion("text")
    return Ask(
        _whole(table, "number"), slot, text, text_in(table, "name", "scene.toml"), _edits(table.get("edits", [])), _whole(table, "seat"),
        show, _zones(table.get("zones")), level, {str(key): part for key, part in have.items()}, frozenset(wants),
        text_in(table, "light", ""),
    )  # fmt: skip


def text_in(table: Mapping[str, Any], key: str, default: str = "") -> str:
    """A short text of a message. raises BadQuestion"""
    value = table.get(key, default)
    if not isinstance(value, str) or len(value) > _MOST_NAME:
        raise BadQuestion(key)
    return value


def _whole(table: Mapping[str, Any], key: str) -> int:
    value = table.get(key, 0)
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value < 1 << 53:
        raise BadQuestion(key)
    return value


def _edits(given: Any) -> tuple[Edit, ...]:
    if not isinstance(given, list) or len(given) > _MOST_EDITS:
        raise BadQuestion("edits")
    found = []
    for each in given:
        if not isinstance(each, list) or len(each) != 3 or each[0] not in _EDITS or not isinstance(each[1], str):
            raise BadQuestion("edits")
        found.append(Edit(each[0], each[1], each[2]))
    return tuple(found)


def _zones(given: Any) -> np.ndarray | None:
    """Levels of the zones 0 .. 1 [1], (192, 3), or None."""
    if given is None:
        return None
    try:
        levels = np.array(given, float)
    except (TypeError, ValueError) as fault:
        raise BadQuestion("zones") from fault
    if levels.shape != (ZONES, 3) or not ((levels >= 0.0) & (levels <= 1.0)).all():
        raise BadQuestion("zones")
    return levels
