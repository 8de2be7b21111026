"""From a path to TOML: everything that can be wrong with a file before its keys are looked at."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ..materials.text.reading import Unreadable
from ..materials.text.reading import read_bytes as read_regular
from ..materials.text.toml_read import TomlFault, toml_tables
from .errors import NOTHING, SceneError, SceneErrors, key_text

LARGEST_BYTES = 2_000_000  # a scene is a few kB; 2 MB is a wrong file
EXAMPLE = "a scene, such as `halfgain scenes long-lounge --copy FILE` gives"
_UTF16 = (b"\xff\xfe", b"\xfe\xff")


def _refuse(file: str, message: str, *, allowed: str = "", line: int = 0) -> SceneErrors:
    return SceneErrors([SceneError(file, line, "", NOTHING, message, allowed)])


def read_bytes(path: Path, name: str, what: str = "a scene file", allowed: str = "a TOML file") -> bytes:
    """The bytes of the file `path`, which the user calls `name`; what it should be, in words.  raises SceneErrors"""
    try:
        return read_regular(path, LARGEST_BYTES, what, allowed)
    except Unreadable as fault:
        raise _refuse(name, str(fault), allowed=fault.allowed) from None


def decode(data: bytes, name: str, allowed: str = EXAMPLE) -> str:
    """Text of a file's bytes: UTF-8, with or without a byte order mark; allowed: in place of an empty one.  raises SceneErrors"""
    if data.startswith(_UTF16):
        raise _refuse(name, "is UTF-16 text: save it as UTF-8", allowed="UTF-8", line=1)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise _refuse(name, f"is not UTF-8 text (byte 0x{data[fault.start]:02x})", allowed="UTF-8", line=line) from None
    if not text.strip():
        raise _refuse(name, "is empty", allowed=allowed, line=1)
    return text


def parse(text: str, name: str) -> dict[str, Any]:
    """TOML of a scene's text.  raises SceneErrors with the line of the first fault: a parser cannot see beyond it"""
    try:
        return toml_tables(text)
    except TomlFault as fault:
        key = key_text(fault.path)
        raise SceneErrors([SceneError(name, fault.line, key, NOTHING, f"is not TOML: {fault.words}", fault.allowed)]) from None
