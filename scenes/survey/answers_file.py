"""Answers of a survey from a TOML file: `room_width = "13 ft 6 in"`, entries of [[seat]], [[furniture]] and [[light]]."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ...materials.text.nearest import nearest
from ...materials.text.reading import Unreadable, read_text
from ...materials.text.toml_lines import key_lines, line_of
from ...materials.text.toml_read import TomlFault, toml_tables
from ..errors import NOTHING, SceneError, SceneErrors
from .question import Given, Question, RefusedAnswer
from .questions import DIAGONAL, GROUPS, LISTS, TITLE

_MOST_BYTES = 1_000_000
_FORM = "a TOML file of answers; halfgain new --answers-form FILE writes one"
UNIT_KEY = "unit"
_COLUMN = 40


class AnswersFile:
    """Answers by key; whatever a file leaves out is taken as an empty answer.

    raises  SceneErrors: no such file, no TOML, keys that no question has
    """

    def __init__(self, path: Path) -> None:
        self._file = str(path)
        try:
            text = read_text(path, _MOST_BYTES, "a file of answers", _FORM)
            self._table = toml_tables(text)
        except Unreadable as fault:
            raise SceneErrors([SceneError(self._file, fault.line, "", NOTHING, str(fault), fault.allowed)]) from None
        except TomlFault as fault:
            raise SceneErrors([SceneError(self._file, fault.line, "", NOTHING, str(fault), fault.allowed)]) from None
        self._lines = key_lines(text)
        self._check_keys()

    @property
    def unit(self) -> str | None:
        """Unit of bare numbers that the file states: m, cm, mm, in, ft; None: it states none."""
        value = self._table.get(UNIT_KEY)
        return None if value is None else str(value)

    def begin(self, title: str) -> None:
        """Nothing to say."""

    def answer(self, question: Question, given: Given, place: tuple[str, int] | None) -> str:
        """As `Source`."""
        entry = self._entry(place)
        value = entry.get(question.key, "")
        if isinstance(value, bool) or not isinstance(value, str | int | float | list):
            self._raise(question, value, "should be a text or a number", "", place)
        if isinstance(value, list):
            return " ".join(str(part) for part in value)
        return str(value)

    def refuse(self, question: Question, text: str, fault: RefusedAnswer, place: tuple[str, int] | None) -> None:
        """As `Source`: a file cannot be asked again."""
        shown = text if text else NOTHING
        self._raise(question, shown, str(fault) if text else f"{question.ask}: {fault}", fault.allowed, place)

    def _entry(self, place: tuple[str, int] | None) -> Mapping[str, Any]:
        if place is None:
            return self._table
        entries = self._table.get(place[0], [])
        return entries[place[1]] if place[1] < len(entries) else {}

    def _raise(self, question: Question, value: Any, message: str, allowed: str, place: tuple[str, int] | None) -> None:
        path = (question.key,) if place is None else (place[0], place[1], question.key)
        key = question.key if place is None else f"{place[0]}[{place[1] + 1}].{question.key}"
        line = line_of(path, self._lines)
        raise SceneErrors([SceneError(self._file, line, key, value, message, allowed)])

    def _check_keys(self) -> None:
        """Refuse keys that no question has, and lists that are none. raises SceneErrors"""
        known = {TITLE.key: (), UNIT_KEY: (), DIAGONAL.key: ()}
        lists = {}
        for title, questions in GROUPS:
            if title in LISTS:
                lists[LISTS[title]] = [question.key for question in questions]
            else:
                known |= {question.key: () for question in questions}
        wrong = [self._unknown((key,), key, [*known, *lists]) for key in self._table if key not in known and key not in lists]
        for key, inner in lists.items():
            entries = self._table.get(key, [])
            if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
                line = line_of((key,), self._lines)
                wrong.append(SceneError(self._file, line, key, NOTHING, "should be a list of tables", f"[[{key}]] for each"))
                continue
            wrong += [
                self._unknown((key, i, name), f"{key}[{i + 1}].{name}", inner)
                for i, entry in enumerate(entries)
                for name in entry
                if name not in inner
            ]
        if wrong:
            raise SceneErrors(wrong)

    def _unknown(self, path: tuple[str | int, ...], key: str, known: list[str]) -> SceneError:
        near = nearest(str(path[-1]), known)
        hint = f', did you mean "{near[0]}"?' if near else ""
        return SceneError(
            self._file, line_of(path, self._lines), key, NOTHING, f"no question has this key{hint}", ", ".join(known)
        )


def answers_form() -> str:
    """An empty file of answers with every question and what is taken where nothing is said; lists last, as TOML wants them."""
    lines = [
        '# Answers for halfgain new --answers FILE. Lengths as you say them: 4.2, "420 cm", "165 in", "13 ft 6 in".',
        "# Take the first mark of a line away to answer it; what stays as it is, is taken as an empty answer.",
        f'# {UNIT_KEY} = "m"'.ljust(_COLUMN) + "# of a number that names none: m, cm, mm, in, ft",
        _asked(TITLE),
    ]
    for title, questions in sorted(GROUPS, key=lambda group: group[0] in LISTS):
        lines += ["", f"# {title}"]
        if title in LISTS:
            lines.append(f"# [[{LISTS[title]}]]".ljust(_COLUMN) + "# once for each")
        for question in questions:
            lines.append(_asked(question))
            if question.key == "picture_width":
                lines.append(_asked(DIAGONAL))
    return "\n".join(lines) + "\n"


def _asked(question: Question) -> str:
    default = question.default if isinstance(question.default, str) else ""
    empty = f"; left out: {question.empty}" if question.empty else ""
    return f'# {question.key} = "{default}"'.ljust(_COLUMN) + f"# {question.ask}{empty}"
