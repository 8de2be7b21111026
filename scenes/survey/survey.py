"""The survey itself: every answer is judged at once, by its own limits and by whether a scene can have it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Protocol

from ..errors import SceneErrors
from ..load import scene_from_text
from ..model import Scene
from .question import Given, Question, RefusedAnswer
from .questions import DIAGONAL, FIRST_SEAT, GROUPS, LISTS, SEATS, TITLE
from .scene_text import scene_text

MOST_ITEMS = 100  # seats, lights, things; a survey by hand has a few


class Source(Protocol):
    """Where answers come from: a person, a pipe, a file."""

    def begin(self, title: str) -> None:
        """A group of questions begins."""

    def answer(self, question: Question, given: Given, place: tuple[str, int] | None) -> str:
        """The answer as text, "" for none; place: list and number of the entry it belongs to."""

    def refuse(self, question: Question, text: str, fault: RefusedAnswer, place: tuple[str, int] | None) -> None:
        """Say that an answer cannot be; returns where it may be asked again, else raises."""


def survey(source: Source, *, unit: str = "_m") -> dict[str, Any]:
    """Answers by key, lists of answers under "seat", "furniture" and "light".

    unit    of a bare number;  raises  what the source raises where it refuses or ends
    """
    given: dict[str, Any] = {}
    _take(source, TITLE, given, given, unit, None)
    for title, questions in GROUPS:
        source.begin(title)
        if title in LISTS:
            given[LISTS[title]] = _items(source, LISTS[title], questions, given, unit, needed=title == SEATS)
            continue
        for question in questions:
            _take(source, question, given, given, unit, None)
            if question.key == "picture_width" and given["picture_width"] is None:
                _take(source, DIAGONAL, given, given, unit, None)
    return given


def surveyed_scene(given: Given, name: str = "the answers") -> Scene:
    """The scene of answers, loaded as its file will be. raises SceneErrors"""
    return scene_from_text(scene_text(given), name)


def _take(
    source: Source, question: Question, given: dict[str, Any], into: dict[str, Any], unit: str, place: tuple[str, int] | None
) -> Any:
    """Ask until the answer can be; write it into `into`, which `given` holds or is."""
    context = given if into is given else {**given, **into}
    while True:
        text = source.answer(question, context, place)
        try:
            value = question.value(text, unit, context)
            if into is given:
                _possible({**given, question.key: value})
        except RefusedAnswer as fault:
            source.refuse(question, text, fault, place)
            continue
        into[question.key] = value
        return value


def _items(
    source: Source, key: str, questions: Sequence[Question], given: dict[str, Any], unit: str, *, needed: bool
) -> list[dict[str, Any]]:
    """Entries of a list, until a name is left empty; an entry that a scene cannot have is asked again from its first question."""
    found: list[dict[str, Any]] = []
    while len(found) < MOST_ITEMS:
        item: dict[str, Any] = {}
        place = (key, len(found))
        first = questions[0] if found or not needed else replace(questions[0], default=FIRST_SEAT, empty=None)
        if _take(source, first, given, item, unit, place) is None:
            break
        for question in questions[1:]:
            _take(source, question, given, item, unit, place)
        try:
            _possible({**given, key: [*found, item]})
        except RefusedAnswer as fault:
            source.refuse(first, str(item["name"]), fault, place)
            continue
        found.append(item)
    return found


def _possible(given: Given) -> None:
    """Refuse what no scene can have, in the loader's words. raises RefusedAnswer"""
    try:
        surveyed_scene(given)
    except SceneErrors as fault:
        first = fault.errors[0]
        raise RefusedAnswer(first.message, first.allowed) from None
