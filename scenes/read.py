"""From a path to TOML: everything that can be wrong with a file before its keys are looked at."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ..materials.toml_read import TomlFault, toml_tables
from .errors import NOTHING, SceneError, SceneErrors

LARGEST_BYTES = 2_000_000  # a scene is a few kB; 2 MB is a wrong file
_UTF16 = (b"\xff\xfe", b"\xfe\xff")


def _refuse(file: str, message: str, *, allowed: str = "", line: int = 0) -> SceneErrors:
    return SceneErrors([SceneError(file, line, "", NOTHING, message, allowed)])


def read_bytes(path: Path, name: str) -> bytes:
    """The bytes of the scene file `path`, which the user calls `name`.  raises SceneErrors"""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except IsADirectoryError:
        raise _refuse(name, "is a directory, not a scene file", allowed="a TOML file") from None
    except FileNotFoundError:
        raise _refuse(name, "no such file") from None
    except PermissionError:
        if path.is_dir():  # some systems say this of a directory
            raise _refuse(name, "is a directory, not a scene file", allowed="a TOML file") from None
        raise _refuse(name, "cannot be read: no permission") from None
    except (OSError, ValueError) as fault:  # ValueError: a null character in the path
        raise _refuse(name, f"cannot be read: {getattr(fault, 'strerror', None) or fault}") from None
    if len(data) > LARGEST_BYTES:
        raise _refuse(
            name, "is too large for a scene file", allowed=f"at most {LARGEST_BYTES:,} bytes".replace(",", " ")
        )
    return data


def decode(data: bytes, name: str) -> str:
    """Text of a scene file's bytes: UTF-8, with or without a byte order mark.  raises SceneErrors"""
    if data.startswith(_UTF16):
        raise _refuse(name, "is UTF-16 text: save it as UTF-8", allowed="UTF-8", line=1)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise _refuse(name, f"is not UTF-8 text (byte 0x{data[fault.start]:02x})", allowed="UTF-8", line=line) from None
    if not text.strip():
        raise _refuse(
            name, "is empty", allowed="a scene, such as `halfgain scenes long-lounge --copy FILE` gives", line=1
        )
    return text


def parse(text: str, name: str) -> dict[str, Any]:
    """TOML of a scene's text.  raises SceneErrors with the line of the first fault: a parser cannot see beyond it"""
    try:
        return toml_tables(text)
    except TomlFault as fault:
        raise _refuse(name, f"is not TOML: {fault.words}", line=fault.line) from None
