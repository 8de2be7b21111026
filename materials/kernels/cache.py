"""Compiled kernels on disk, one file each, which can neither be stale, nor damaged, nor another user's.

numba's own cache looks for edits in one file only, takes whatever bytes it finds for a pickle, and runs it. Here a file's name
holds the hash of all sources that its kernel can read (`kernel_sources`) and of the types it is compiled for, so nothing is ever
overwritten with something else and two processes may fill one folder; where both need the same kernel, one compiles it and the
other waits. The file begins with the digest of the rest, and is only
looked at where nobody but its owner can have written it. What is wrong is dropped and compiled again; where nothing can be
written, kernels are compiled without a cache. Either is said once, in one line, by the logger "halfgain".
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
import pickle
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import numba
import numpy as np
from numba import types
from numba.core.caching import _Cache
from numba.core.compiler import CompileResult
from numba.core.serialize import dumps

from .folder import Refused, drop, end_turn, kernel_folder, read_own, store, sweep, take_turn
from .sources import Edited, Sources

ENDING = ".kernel"
_MAGIC = b"halfgain kernel 1\n"
_IMPORTS = "imports"
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
    """All that compiled code depends on besides sources, types and processor."""
    options = sorted(item for item in os.environ.items() if item[0].startswith("NUMBA_") and "CACHE" not in item[0])
    return repr((numba.__version__, np.__version__, sys.version, sys.flags.optimize, options))


@cache
def source_hash(module: str) -> str | None:
    """Hash of what the kernels of a module can read and of the software that compiles them, 20 hex digits.

    None where that is not known (a module from elsewhere, a file edited while this process runs): such kernels are not kept.
    """
    place = folder()
    if place is not None and not _SOURCES.remembered:
        _SOURCES.remembered = _kept_imports(place)
    try:
        return hashlib.sha256(f"{_machine()} {_SOURCES.hash_of(module)}".encode()).hexdigest()[:20]
    except (OSError, SyntaxError, Edited):
        return None


def _kept_imports(place: Path) -> dict[str, Any]:
    try:
        kept = json.loads(_opened(read_own(place / _IMPORTS), _IMPORTS))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError):
        drop(place / _IMPORTS)
        return {}
    return {text: [(dots, module, tuple(names)) for dots, module, names in found] for text, found in kept.items()}


def _keep_imports(place: Path) -> None:
    """Write what texts import where this process has learnt of new ones; forgotten ones are parsed again, so the rest is free."""
    if _SOURCES.parsed:
        _SOURCES.parsed = False
        newest = dict(list(_SOURCES.remembered.items())[-_MOST_TEXTS:])
        store(place / _IMPORTS, _sealed(json.dumps(newest).encode(), _IMPORTS))


def _sealed(content: bytes, name: str) -> bytes:
    """Content under its digest; the name is part of it, so that no file passes for another."""
    return _MAGIC + hashlib.sha256(name.encode() + content).digest() + content


def _opened(data: bytes, name: str) -> bytes:
    """What `_sealed` closed.

    raises  ValueError where one bit is another
    """
    head = len(_MAGIC) + 32
    if data[:head] != _sealed(data[head:], name)[:head]:
        raise ValueError("damaged")
    return data[head:]


def described(kind: Any) -> str:
    """A type, or several, in words that differ where the compiled code does: a named tuple's fields belong to it.

    Source: numba's names of types, which leave out the names of fields.
    """
    if isinstance(kind, tuple | list):
        return f"({', '.join(described(each) for each in kind)})"
    if isinstance(kind, types.BaseTuple):
        owner, fields, members = getattr(kind, "instance_class", tuple), getattr(kind, "fields", ()), tuple(iter(kind))  # type: ignore[call-overload]
        return f"{owner.__module__}.{owner.__qualname__}{tuple(fields)}{described(members)}"
    return str(kind)


class KernelCache(_Cache):
    """The versions of one kernel, as numba's dispatchers ask for them."""

    def __init__(self, function: Callable[..., Any], place: Path, source: str) -> None:
        self._function, self._place = function, place
        self._stem = f"{function.__module__.rpartition('.')[2]}.{function.__qualname__}-{source}"
        self._enabled = True
        self._takes_turns = False
        self._turn: tuple[Path, int] | None = None  # the lock under which this process compiles

    @property
    def cache_path(self) -> str:
        return os.fspath(self._place)

    def enable(self) -> None:
        self._enabled = True

    def disable(self) -> None:
        self._enabled = False

    def flush(self) -> None:
        for path in self._place.glob(f"{self._stem}-*{ENDING}"):
            drop(path)

    def holds_any(self) -> bool:
        """Whether some version made from today's sources is kept."""
        return next(self._place.glob(f"{self._stem}-*{ENDING}"), None) is not None

    def _name(self, sig: Any, codegen: Any) -> str:
        kinds = sig.args if hasattr(sig, "args") else sig
        asked = repr((described(kinds), codegen.magic_tuple(), self._function.__code__.co_firstlineno))
        return f"{self._stem}-{hashlib.sha256(asked.encode()).hexdigest()[:20]}{ENDING}"

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The kept version for these types, or None: then the caller compiles it."""
        if not self._enabled:
            return None
        target_context.refresh()
        name = self._name(sig, target_context.codegen())
        found = self._read(name, target_context)
        if found is None and self._takes_turns and self._turn is None:
            lock = self._place / f".{name}.part"  # what is left of it is swept with what interrupted writes left
            number = take_turn(lock, LONGEST_WAIT_S)
            if number is not None:
                self._turn = lock, number
                found = self._read(name, target_context)  # compiled by another process while this one waited
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

    def _read(self, name: str, target_context: Any) -> Any:
        """A kept version by its file's name, or None."""
        try:
            content = _opened(read_own(self._place / name), name)
            return CompileResult._rebuild(target_context, *pickle.loads(content))
        except FileNotFoundError:
            return None
        except MemoryError:
            raise
        except Exception:  # of any kind: what a file says of code decides no more than whether it is used
            drop(self._place / name)
            tell_once(f"damaged files in the kernel cache {self._place} are dropped and compiled again")
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep a compiled version; where that fails the run goes on without."""
        if not self._enabled or data.lifted or data.library.has_dynamic_globals:
            return
        name = self._name(sig, data.codegen)
        try:
            store(self._place / name, _sealed(dumps(data._reduce()), name))
            _keep_imports(self._place)
        except OSError as fault:
            self._enabled = False
            tell_once(f"kernels are compiled without a cache: {self._place}: {fault.strerror or fault}")
            return
        _sweep_once(self._place)


@cache
def _sweep_once(place: Path) -> None:
    sweep(place, ENDING)


def keep(dispatcher: Any) -> None:
    """Let a dispatcher of numba look on disk before it compiles, and leave there what it compiled."""
    function = dispatcher.py_func
    source = source_hash(function.__module__) if function.__closure__ is None else None  # values in a closure are no source
    place = folder() if source is not None else None
    if place is not None and source is not None:
        dispatcher._cache = KernelCache(function, place, source)


def not_kept_yet(dispatcher: Any) -> bool:
    """Whether a kernel could be kept on disk but no version of it, made from today's sources, is."""
    kept = getattr(dispatcher, "_cache", None)
    return isinstance(kept, KernelCache) and not kept.holds_any()
