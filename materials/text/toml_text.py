"""A parsed document back to TOML: on one line a key, to hash and load a changed scene, and as a file a person can edit."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import date, time
from typing import Any


def toml_text(document: Mapping[str, Any]) -> str:
    """TOML of a parsed document, one line a top-level key, tables inline.

    Source: TOML 1.0.0; a JSON string is a basic string of TOML.
    """
    return "".join(f"{toml_key(key)} = {toml_value(value)}\n" for key, value in document.items())


def toml_document(document: Mapping[str, Any]) -> str:
    """TOML of a parsed document with tables and lists of tables under headings of their own, as a person writes it."""
    return "\n".join(_blocks(document, ())).strip() + "\n"


def toml_key(text: str) -> str:
    """A key or a text, quoted. Source: TOML 1.0.0, basic strings."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _blocks(table: Mapping[str, Any], way: tuple[str, ...]) -> list[str]:
    """Lines of a table's own values, then its tables: TOML wants them in that order."""
    lines = [f"{_bare(key)} = {toml_value(value, _bare)}" for key, value in table.items() if not _is_block(value)]
    for key, value in table.items():
        name = ".".join(_bare(part) for part in (*way, key))
        if isinstance(value, Mapping) and _is_block(value):
            lines += ["", f"[{name}]", *_blocks(value, (*way, key))]
        elif _is_block(value):
            for item in value:
                lines += ["", f"[[{name}]]", *_blocks(item, (*way, key))]
    return lines


def _is_block(value: Any) -> bool:
    """True for what gets a heading: tables with more than two values or with tables in them, and lists of tables."""
    if isinstance(value, Mapping):
        return len(value) > 2 or any(isinstance(item, Mapping) or _is_block(item) for item in value.values())
    return isinstance(value, list | tuple) and len(value) > 0 and all(isinstance(item, Mapping) for item in value)


def _bare(key: str) -> str:
    plain = key.isascii() and key.replace("-", "").replace("_", "").isalnum()
    return key if plain else toml_key(key)


def toml_value(value: Any, key_text: Callable[[str], str] = toml_key) -> str:
    """A value on one line. `key_text` writes the keys of tables in it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return toml_key(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml_value(item, key_text) for item in value) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key_text(key)} = {toml_value(item, key_text)}" for key, item in value.items()) + "}"
    if isinstance(value, date | time):
        return value.isoformat()
    return repr(value)  # int and float, inf and nan included
