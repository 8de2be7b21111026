"""What is wrong in a file, in one line each: file, line, key, value, what is allowed."""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError

from .nearest import nearest

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Problem:
    """One mistake. `line` counts from 1, 0 where unknown; `key` is dotted; `value` is None where there is none."""

    file: str
    line: int
    key: str
    value: object
    message: str
    allowed: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        facts = [f"got {shown(self.value)}"] if self.value is not None else []
        facts += [f"allowed: {self.allowed}"] if self.allowed else []
        key = f"{self.key}: " if self.key else ""
        return f"{place}: {key}{self.message}" + (f" ({'; '.join(facts)})" if facts else "")


def shown(value: object) -> str:
    """A value as the user wrote it, at most 60 characters, on one line."""
    text = f'"{value}"' if isinstance(value, str) else repr(value)
    text = {"True": "true", "False": "false"}.get(text, text).replace("\n", "\\n")
    return text if len(text) <= 60 else text[:57] + "..."


def dotted(path: Path) -> str:
    """A key path as in TOML; elements of arrays counted from 1: ("fabric", 0, "gain") is fabric[1].gain."""
    words = ""
    for part in path:
        words += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if words else part
    return words


def line_of(path: Path, lines: Mapping[Path, int]) -> int:
    """Line of a key path, or of the nearest table around it where the key itself is missing; 0 if unknown."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 0


def problems_of(
    error: ValidationError, *, model: type[BaseModel], file: str, lines: Mapping[Path, int], prefix: Path = ()
) -> list[Problem]:
    """The mistakes pydantic found in one table, in the user's words.

    What is allowed comes from the field's `json_schema_extra["allowed"]`; an unknown key gets its nearest spelling.
    """
    found = []
    for fault in error.errors(include_url=False):
        path = prefix + tuple(fault["loc"])
        name = str(fault["loc"][0]) if fault["loc"] else ""
        value: object = fault["input"]
        allowed = allowed_words(model, name)
        if fault["type"] == "extra_forbidden":
            close = nearest(name, model.model_fields)
            message = "unknown key" + (f', did you mean "{close[0]}"?' if close else "")
            allowed = ", ".join(model.model_fields)
        elif fault["type"] == "missing":
            message, value = "missing key", None
        else:
            text = fault["msg"].removeprefix("Value error, ").removeprefix("Input ")
            message = text[:1].lower() + text[1:]
        found.append(Problem(file, line_of(path, lines), dotted(path), value, message, allowed))
    return found


def allowed_words(model: type[BaseModel], name: str) -> str:
    """What a field of a model allows, in words; empty if it does not say."""
    field = model.model_fields.get(name)
    extra: Any = field.json_schema_extra if field is not None else None
    return str(extra.get("allowed", "")) if isinstance(extra, dict) else ""
