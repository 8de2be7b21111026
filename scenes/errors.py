"""What the loader says about a scene that cannot be used: one line for each error, all of them at once."""

from __future__ import annotations

import re
from datetime import date, time
from typing import Any

from ..materials.dataclass import dataclass
from ..materials.text.error import Error
from ..materials.text.plain import plain, plain_path, told

LONGEST_WORDS = 1000  # of a message, and of what is allowed


class _Nothing:
    """Marks an error that has no value to show (a missing key, an empty file)."""

    def __repr__(self) -> str:
        return "NOTHING"

    def __reduce__(self) -> str:
        return "NOTHING"  # this module's one, also in another process


NOTHING = _Nothing()


def show(value: Any, longest: int = 60) -> str:
    """A value as the file would write it, at most `longest` characters."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = '"' + value[: longest + 1].replace("\\", "\\\\").replace('"', '\\"') + '"'
    elif value is None:
        text = "None"
    elif isinstance(value, int):
        text = str(value) if abs(value) < 10**longest else "an integer of very many digits"
    elif isinstance(value, float | date | time):
        text = str(value)
    elif isinstance(value, list | tuple):
        text = "[" + ", ".join(show(item, 30) for item in value[:6]) + (", ...]" if len(value) > 6 else "]")
    elif isinstance(value, dict):
        text = "a table" if value else "an empty table"
    else:
        text = type(value).__name__
    return plain(text, longest)


@dataclass(frozen=True)
class SceneError:
    """One thing wrong with a scene file.

    file     as the user named it
    line     line of the file, from 1; 0 where the error belongs to no line (no such file)
    key      place in the file, `seat[2].eye_m`; lists count from 1, as the user does
    value    what stands there, or NOTHING
    message  what is wrong, in the user's words
    allowed  what would be right, or ""
    """

    file: str
    line: int
    key: str
    value: Any
    message: str
    allowed: str = ""

    def __str__(self) -> str:
        file = plain_path(self.file)
        place = f"{file}:{self.line}: " if self.line else f"{file}: "
        key = f"{plain(self.key)}: " if self.key else ""
        got = "" if self.value is NOTHING else f"got {show(self.value)}"
        allowed = f"allowed {plain(self.allowed, LONGEST_WORDS)}" if self.allowed else ""
        tail = "; ".join(part for part in (got, allowed) if part)
        return f"{place}{key}{plain(self.message, LONGEST_WORDS)}" + (f" ({tail})" if tail else "")


class SceneErrors(Error):
    """All errors of one scene, in the order of the file.  str() gives one line each; of many alike the rest is counted."""

    def __init__(self, errors: list[SceneError]) -> None:
        self.errors = sorted(errors, key=lambda error: error.line)
        super().__init__("\n".join(told([(_kind(error), str(error)) for error in self.errors])))


def _kind(error: SceneError) -> tuple[str, str, str]:
    """What errors have in common that are alike: all but their places in lists."""
    return error.file, re.sub(r"\[\d+\]", "", error.key), error.message


def key_text(path: tuple[str | int, ...]) -> str:
    """A place in a file as text: ("seat", 1, "eye_m") -> `seat[2].eye_m`."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else (f".{part}" if text else part)
    return text
