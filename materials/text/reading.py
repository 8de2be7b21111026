"""The one way from a path to bytes: regular files only, none too large, nothing that can hang."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from .error import Error

_FLAGS = os.O_RDONLY | sum(getattr(os, name, 0) for name in ("O_NONBLOCK", "O_NOCTTY", "O_CLOEXEC", "O_BINARY"))


class Unreadable(Error):
    """A file that cannot be read; str() says what is wrong with it, `allowed` what would do; line 0: of no one line."""

    def __init__(self, message: str, allowed: str = "", line: int = 0) -> None:
        super().__init__(message)
        self.allowed, self.line = allowed, line


class Missing(Unreadable):
    """A file that is not there."""


def read_bytes(path: Path, most: int, what: str, allowed: str = "") -> bytes:
    """The bytes of a regular file of at most `most` bytes.

    what, allowed  what the file should be, in the user's words: "a scene file", "a TOML file"
    Opened without waiting, so that a pipe cannot hang; judged by what was opened, so that it cannot change in between.
    raises  Unreadable: not there, no regular file, no permission, too large, a fault of the disk
    """
    try:
        handle = os.open(path, _FLAGS)
    except IsADirectoryError:
        raise Unreadable(f"is a directory, not {what}", allowed) from None
    except FileNotFoundError:
        raise Missing("no such file") from None
    except PermissionError:
        if os.path.isdir(path):  # some systems say this of a directory
            raise Unreadable(f"is a directory, not {what}", allowed) from None
        raise Unreadable("cannot be read: no permission") from None
    except OSError as fault:
        raise Unreadable(f"cannot be read: {fault.strerror}") from None
    except ValueError:  # a null character, or letters that the file system has no bytes for
        raise Unreadable("cannot be read: no file can have such a name", "a name without null characters") from None
    try:
        status = os.fstat(handle)
        if stat.S_ISDIR(status.st_mode):
            raise Unreadable(f"is a directory, not {what}", allowed)
        if not stat.S_ISREG(status.st_mode):
            raise Unreadable(f"is a device or a pipe, not {what}", allowed or "a regular file")
        data = _read(handle, most + 1) if status.st_size <= most else b""
    except OSError as fault:
        raise Unreadable(f"cannot be read: {fault.strerror}") from None
    finally:
        os.close(handle)
    if status.st_size > most or len(data) > most:
        raise Unreadable(f"is too large for {what}", f"at most {_size(most)}")
    return data


def read_text(path: Path, most: int, what: str, allowed: str = "") -> str:
    """The same as text: UTF-8, with or without a byte order mark.  raises  Unreadable, also for another coding"""
    data = read_bytes(path, most, what, allowed)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise Unreadable(f"is not a UTF-8 text (byte 0x{data[fault.start]:02x})", "UTF-8", line) from None


def _read(handle: int, most: int) -> bytes:
    parts, left = [], most
    while left > 0 and (part := os.read(handle, min(left, 1 << 24))):
        parts.append(part)
        left -= len(part)
    return b"".join(parts)


def _size(count: int) -> str:
    return f"{count // 1_000_000} MB" if count >= 10_000_000 else f"{count:,} bytes".replace(",", " ")
