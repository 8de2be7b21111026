"""Compiled kernels on disk, one file each, which can neither be stale, nor damaged, nor another user's.

A file's name holds the hash of all sources that its kernel can read (`kernel_sources`), of the software and processor and of the
types it is compiled for, so nothing is ever
overwritten with something else and two processes may fill one folder; where both need the same kernel, one compiles it and the
other waits. The file begins with the digest of the rest, and is only
looked at where nobody but its owner can have written it. What is wrong is dropped and compiled again; where nothing can be
written, kernels are compiled without a cache. Either is said once, in one line, by the logger "halfgain".

Nothing here imports numba: most processes find all they run on disk (`machine.py`); `numbas_cache.py` is what numba sees of it.
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from .folder import Refused, drop, end_turn, kernel_folder, read_own, store, sweep, take_turn
from .sources import Edited, Sources

ENDING = ".kernel"
_MAGIC = b"halfgain kernel 1\n"
IMPORTS = "imports"
PACKAGED = Path(__file__).with_name("machine_code")  # what came with the package, see `packaged.py`
_MOST_TEXTS = 2000  # whose imports are kept
LONGEST_WAIT_S = 60.0  # for another process to compile one kernel: ten times what the longest takes

_PROJECT = (__package__ or "").split(".")[0]
_SOURCES = Sources(Path(__file__).resolve().parents[2], _PROJECT)


@cache
def tell_once(text: str) -> None:
    """One line for the user; what was said before is not said again."""
    logging.getLogger("halfgain").warning("halfgain: %s", text)


@cache
def folder() -> Path | None:
    """Folder of the compiled kernels; None where there is none to trust, which is then said."""
    try:
        return kernel_folder()
    except Refused as fault:
        tell_once(f"kernels are compiled without a cache: {fault}")
        return None


@cache
def _machine() -> str:
    """All that compiled code depends on besides sources and types."""
    optimize, *options = compiler_options()
    return repr((_release("numba"), _release("llvmlite"), np.__version__, sys.version, optimize, *options))


def compiler_options() -> tuple[int, list[tuple[str, str]], str]:
    """What was asked of the compiler from outside: Python's own level, numba's variables, and its file of options in this folder."""
    options = sorted(item for item in os.environ.items() if item[0].startswith("NUMBA_") and "CACHE" not in item[0])
    return sys.flags.optimize, options, _text(Path(".numba_config.yaml"))


def _release(package: str) -> str:
    """Version of an installed package, without importing it where it keeps a file of it."""
    found = find_spec(package)
    kept = _text(Path(found.origin).with_name("_version.py")) if found is not None and found.origin else ""
    return kept or str(__import__(package).__version__)


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


@cache
def source_hash(module: str) -> str | None:
    """Hash of what the kernels of a module can read and of the software that compiles them, 20 hex digits.

    None where that is not known (a module from elsewhere, a file edited while this process runs): such kernels are not kept.
    """
    text = text_hash(module)
    return None if text is None else hashlib.sha256(f"{_machine()} {text}".encode()).hexdigest()[:20]


@cache
def text_hash(module: str) -> str | None:
    """Hash of what the kernels of a module can read, 64 hex digits; None where that is not known."""
    try:
        return _sources().hash_of(module)
    except (OSError, SyntaxError, Edited):
        return None


@cache
def _sources() -> Sources:
    """The project's files, with what their texts import as far as the package or the cache says it."""
    with suppress(OSError, ValueError):
        remember((PACKAGED / IMPORTS).read_bytes())
    place = folder()
    if place is not None:
        try:
            remember(read_own(place / IMPORTS))
        except FileNotFoundError:
            pass
        except (OSError, ValueError):
            drop(place / IMPORTS)
    return _SOURCES


def remember(data: bytes) -> None:
    """Take what texts import from a file's content. raises ValueError where it is damaged"""
    _SOURCES.remembered.update(json.loads(opened(data, IMPORTS)))


def _keep_imports(place: Path) -> None:
    """Write what texts import where this process has learnt of new ones."""
    if _SOURCES.parsed:
        _SOURCES.parsed = False
        write_imports(place)


def write_imports(place: Path) -> None:
    """Write what the newest texts import; forgotten ones are parsed again, so the rest is free. raises OSError"""
    newest = dict(list(_SOURCES.remembered.items())[-_MOST_TEXTS:])
    store(place / IMPORTS, _sealed(json.dumps(newest, sort_keys=True).encode(), IMPORTS))


def _sealed(content: bytes, name: str) -> bytes:
    """Content under its digest; the name is part of it, so that no file passes for another."""
    return _MAGIC + hashlib.sha256(name.encode() + content).digest() + content


def opened(data: bytes, name: str) -> bytes:
    """What `_sealed` closed.

    raises  ValueError where one bit is another
    """
    head = len(_MAGIC) + 32
    if data[:head] != _sealed(data[head:], name)[:head]:
        raise ValueError("damaged")
    return data[head:]


class Versions:
    """The kept versions of one kernel: a file each, found by what the version is compiled for."""

    def __init__(self, function: Callable[..., Any], place: Path, source: str) -> None:
        self.place = place
        self._stem = f"{function.__module__.rpartition('.')[2]}.{function.__qualname__}-{source}"
        self._line = function.__code__.co_firstlineno  # two kernels of one name are told apart by it
        self._full = False
        self._takes_turns = False
        self._turn: tuple[Path, int] | None = None  # the lock under which this process compiles

    def flush(self) -> None:
        """Remove all versions made from today's sources."""
        for path in self.place.glob(f"{self._stem}-*{ENDING}"):
            drop(path)

    def name(self, *asked: Any) -> str:
        """Name of the file of a version; `asked` is all that it is compiled for, as values whose repr says them whole."""
        return f"{self._stem}-{hashlib.sha256(repr((*asked, self._line)).encode()).hexdigest()[:20]}{ENDING}"

    def found(self, name: str, made_of: Callable[[bytes], Any], nothing: Any = None) -> Any:
        """What `made_of` makes of a file's content; `nothing` where there is none, then the caller compiles it.

        Within `taking_turns` another process that compiles it is waited for.
        """
        found = self._read(name, made_of, nothing)
        if found is nothing and self._takes_turns and self._turn is None:
            lock = self.place / f".{name}.part"  # what is left of it is swept with what interrupted writes left
            number = take_turn(lock, LONGEST_WAIT_S)
            if number is not None:
                self._turn = lock, number
                found = self._read(name, made_of, nothing)  # compiled by another process while this one waited
        return found

    @contextmanager
    def taking_turns(self) -> Iterator[None]:
        """What is looked for herein and not there is compiled by this process alone: others that need it wait for the end."""
        self._takes_turns = True
        try:
            yield
        finally:
            self._takes_turns = False
            if self._turn is not None:
                turn, self._turn = self._turn, None
                end_turn(*turn)

    def _read(self, name: str, made_of: Callable[[bytes], Any], nothing: Any) -> Any:
        try:
            return made_of(opened(read_own(self.place / name), name))
        except FileNotFoundError:
            return nothing
        except MemoryError:
            raise
        except Exception:  # of any kind: what a file says of code decides no more than whether it is used
            drop(self.place / name)
            tell_once(f"damaged files in the kernel cache {self.place} are dropped and compiled again")
            return nothing

    def keep(self, name: str, content: bytes) -> None:
        """Keep a version; where that fails the run goes on without."""
        if self._full:
            return
        try:
            store(self.place / name, _sealed(content, name))
            _keep_imports(self.place)
        except OSError as fault:
            self._full = True
            tell_once(f"kernels are compiled without a cache: {self.place}: {fault.strerror or fault}")
            return
        _sweep_once(self.place)


@cache
def _sweep_once(place: Path) -> None:
    sweep(place, ENDING)


def versions_of(function: Callable[..., Any]) -> Versions | None:
    """The kept versions of a kernel; None where it cannot be kept."""
    source = source_hash(function.__module__) if function.__closure__ is None else None  # values in a closure are no source
    place = folder() if source is not None else None
    return Versions(function, place, source) if place is not None and source is not None else None
