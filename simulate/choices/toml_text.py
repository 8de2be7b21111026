"""A parsed scene file back to TOML, so that a changed scene goes through the same loader as a file."""
from __future__ import annotations

import json
from datetime import date, time
from typing import Any


def toml_text(document: dict[str, Any]) -> str:
    """TOML of a parsed document, one line a top-level key, tables inline.

    Source: TOML 1.0.0; a JSON string is a basic string of TOML.
    """
    return "".join(f"{_key(key)} = {_value(value)}\n" for key, value in document.items())


def _key(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _key(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(key)} = {_value(item)}" for key, item in value.items()) + "}"
    if isinstance(value, date | time):
        return value.isoformat()
    return repr(value)  # int and float, inf and nan included
