"""What is wrong in a file, in one line each: file, line, key, value, what is allowed."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError

from ..dataclass import dataclass
from .nearest import nearest
from .plain import plain, plain_path, told
from .toml_lines import Path, line_of

MOST_FAULTS = 100  # of one table: who has more has another kind of file
LONGEST_WORDS = 1000  # of a message, and of what is allowed
_OWN_WORDS = {
    "string_type": "should be a text",
    "dict_type": "should be a table",
    "model_type": "should be a table",
    "list_type": "should be a list",
    "tuple_type": "should be a list",
    "float_type": "should be a number",
    "float_parsing": "should be a number",
    "int_parsing_size": "is out of range",
    "int_type": "should be a whole number",
    "finite_number": "should be a finite number",
    "string_pattern_mismatch": "holds characters that cannot be shown",
    "missing": "has too few entries",
}


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
        file = plain_path(self.file)
        place = f"{file}:{self.line}" if self.line else file
        facts = [f"got {shown(self.value)}"] if self.value is not None else []
        facts += [f"allowed: {plain(self.allowed, LONGEST_WORDS)}"] if self.allowed else []
        key = f"{plain(self.key)}: " if self.key else ""
        return f"{place}: {key}{plain(self.message, LONGEST_WORDS)}" + (f" ({'; '.join(facts)})" if facts else "")


def lines_of(problems: Sequence[Problem]) -> str:
    """All problems, a line each; of many alike the rest is counted. Places in lists make no difference."""
    return "\n".join(told([((p.file, re.sub(r"\[\d+\]", "", p.key), p.message), str(p)) for p in problems]))


def shown(value: object) -> str:
    """A value as the user wrote it, at most 60 characters, on one line."""
    text = f'"{value}"' if isinstance(value, str) else repr(value)
    return plain({"True": "true", "False": "false"}.get(text, text), 60)


def dotted(path: Path) -> str:
    """A key path as in TOML; elements of arrays counted from 1: ("fabric", 0, "gain") is fabric[1].gain."""
    words = ""
    for part in path:
        words += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if words else part
    return words


def problems_of(
    error: ValidationError, *, model: type[BaseModel], file: str, lines: Mapping[Path, int], prefix: Path = ()
) -> list[Problem]:
    """The mistakes pydantic found in one table, in the user's words.

    What is allowed comes from the field's `json_schema_extra["allowed"]`; an unknown key gets its nearest spelling.
    """
    found = []
    for fault in error.errors(include_url=False)[:MOST_FAULTS]:
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
            message = _words(fault["type"], fault.get("ctx", {}), fault["msg"])
        found.append(Problem(file, line_of(path, lines), dotted(path), value, message, allowed))
    return found


def _words(kind: str, context: Mapping[str, Any], message: str) -> str:
    """What pydantic finds, in words that need no Python."""
    if kind in _OWN_WORDS:
        return _OWN_WORDS[kind]
    if kind in ("too_short", "too_long"):
        bound, limit = ("least", "min_length") if kind == "too_short" else ("most", "max_length")
        count = context[limit]
        return f"should have at {bound} {count} {'entry' if count == 1 else 'entries'}"
    if kind == "value_error":  # raised by the project's own checks
        text = str(context["error"])
    elif kind.startswith(("greater_than", "less_than", "string_too_")):
        text = message.removeprefix("Input ")
    else:
        return "cannot be used here"
    return text[:1].lower() + text[1:]


def allowed_words(model: type[BaseModel], name: str) -> str:
    """What a field of a model allows, in words; empty if it does not say."""
    field = model.model_fields.get(name)
    extra: Any = field.json_schema_extra if field is not None else None
    return str(extra.get("allowed", "")) if isinstance(extra, dict) else ""
