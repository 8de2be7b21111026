"""TOML text to tables; what the parser objects to as words and a line. The one place that knows how Python's parser says it."""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache
from typing import Any

from .error import Error
from .toml_lines import BeyondSense, Path, key_lines

_PLACE = re.compile(r" \(at (?:line (?P<line>\d+), column \d+|end of document)\)$")


class TomlFault(Error, ValueError):
    """A text that is not TOML: `words` say why, without the place; `line` counts from 1, 0 where there is no one line.

    path     of the key at fault, () where there is none;  allowed  what would do, ""
    """

    def __init__(self, words: str, line: int = 0, path: Path = (), allowed: str = "") -> None:
        self.words, self.line, self.path, self.allowed = words, line, path, allowed
        super().__init__(words)


def toml_tables(text: str) -> dict[str, Any]:
    """The tables of a TOML text.

    raises  TomlFault at the first fault: a parser cannot see beyond it
    """
    try:
        key_lines(text)  # refuses what would take the parser for ever
        return {key: _own(value) for key, value in _tables(text).items()}
    except BeyondSense as fault:
        raise TomlFault(str(fault), fault.line, fault.path, fault.allowed) from None
    except tomllib.TOMLDecodeError as fault:
        raise _fault(fault, text) from None
    except RecursionError:
        raise TomlFault("brackets nested too deeply") from None
    except ValueError:  # an integer longer than Python converts; a date that no calendar has
        raise TomlFault("a number or date that cannot be") from None


@lru_cache(maxsize=4)
def _tables(text: str) -> dict[str, Any]:
    """Of the last texts, since whoever changes one reads it several times over; not to be handed out."""
    return tomllib.loads(text)


def _own(value: Any) -> Any:
    """A copy that its reader may change."""
    if isinstance(value, dict):
        return {key: _own(each) for key, each in value.items()}
    return [_own(each) for each in value] if isinstance(value, list) else value


def _fault(fault: tomllib.TOMLDecodeError, text: str) -> TomlFault:
    """Words and line, from the attributes that Python 3.14 gave the exception; before, from its message, which ends with the place."""
    words, line = getattr(fault, "msg", None), getattr(fault, "lineno", None)
    if words is None or line is None:
        whole = str(fault)
        place = _PLACE.search(whole)
        words = whole[: place.start()] if place else whole
        last = text.count("\n") + (not text.endswith("\n"))
        line = 0 if place is None else int(place["line"]) if place["line"] else last
    return TomlFault(words[:1].lower() + words[1:], min(line, max(1, len(text.splitlines()))))
