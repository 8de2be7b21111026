"""Which surfaces a finish is for, and the everyday words for finishes; both are data."""

from __future__ import annotations

import tomllib
from collections.abc import Container
from functools import cache
from pathlib import Path

FILE = Path(__file__).resolve().parent / "data" / "finish_words.toml"
WALL, CEILING, FLOOR = "wall", "ceiling", "floor"


@cache
def _tables() -> tuple[dict[str, tuple[str, ...]], dict[str, tuple[str, ...]]]:
    """Kinds of surface by finish, and finishes by word."""
    read = tomllib.loads(FILE.read_text("utf-8"))
    suits: dict[str, tuple[str, ...]] = {}
    for entry in read["for"]:
        for name in entry["finishes"]:
            suits[name] = tuple(dict.fromkeys((*suits.get(name, ()), *entry["surfaces"])))
    called: dict[str, tuple[str, ...]] = {}
    for entry in read["called"]:
        for word in entry["words"]:
            called[word] = tuple(dict.fromkeys((*called.get(word, ()), *entry["finishes"])))
    return suits, called


def kind_of_surface(surface: str) -> str:
    """ "floor", "ceiling", or "wall" for the four walls. Source: definition."""
    return surface if surface in (CEILING, FLOOR) else WALL


def surfaces_for(finish: str) -> tuple[str, ...]:
    """Kinds of surface that a finish of the built-in library is for; empty: none in particular, or not known."""
    return _tables()[0].get(finish, ())


def suits(finish: str, surface: str) -> bool:
    """True where a finish is for a surface of the room; one that is for none in particular suits none."""
    return kind_of_surface(surface) in surfaces_for(finish)


def meant(text: str, names: Container[str]) -> list[str]:
    """Finishes among `names` that an everyday word in a text may mean, those of the longest words first."""
    asked = f" {text.casefold().replace('-', ' ')} "
    words = sorted((word for word in _tables()[1] if f" {word} " in asked or f" {word}s " in asked), key=lambda word: -len(word))
    found = dict.fromkeys(name for word in words for name in _tables()[1][word] if name in names)
    return list(found)
