"""A fabric as TOML text, and a library file with one fabric more."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from .fabric_table import FabricTable
from .library import LARGEST_FILE_BYTES, LibraryErrors, load_library
from .text.error import Error
from .text.reading import Unreadable, read_text
from .text.toml_read import toml_tables
from .text.toml_text import toml_value


class FabricFileError(Error, ValueError):
    """A fabric file that cannot take the fabric; one line each."""


def fabric_toml(table: Mapping[str, Any]) -> str:
    """One [[fabric]] table; keys without a value are left out.

    raises  FabricError, pydantic.ValidationError where the table is no fabric: nothing is written that cannot be read
    """
    known = {key: value for key, value in table.items() if value is not None}
    text = "[[fabric]]\n" + "".join(f"{key} = {toml_value(_plain(value))}\n" for key, value in known.items())
    read = toml_tables(text)["fabric"][0]
    FabricTable.model_validate(read).to_fabric()
    return text


def _plain(value: Any) -> Any:
    """Numbers as floats, in lists too: a gain of 1 and one of 1.0 are written alike."""
    if isinstance(value, str):
        return value
    return [_plain(item) for item in value] if isinstance(value, list | tuple) else float(value)


def library_with(path: Path, table: Mapping[str, Any]) -> bytes:
    """The content of a library file after the fabric is added at its end; a new file where there is none.

    raises  FabricFileError where the file is not a library, or holds a fabric of this name; what `fabric_toml` raises
    """
    text = fabric_toml(table)
    if not path.exists():
        return text.encode()
    try:
        load_library(path)
    except LibraryErrors as wrong:
        raise FabricFileError("\n".join(f"{line}: nothing is added to it" for line in str(wrong).splitlines())) from None
    try:
        before = read_text(path, LARGEST_FILE_BYTES, "a library")
    except Unreadable as fault:  # it was there a moment ago
        raise FabricFileError(f"{path}: {fault}: nothing is added to it") from None
    if any(fabric.get("name") == table["name"] for fabric in toml_tables(before).get("fabric", [])):
        raise FabricFileError(f'{path}: a fabric called "{table["name"]}" stands there already: choose another --name')
    return (before.rstrip("\n") + "\n\n" + text).encode()
