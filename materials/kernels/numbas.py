"""numba, imported when the first kernel needs it: most processes find all machine code that they run on disk (`machine.py`)."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any

_first: list[Callable[[], None]] = []
_watching: list[Callable[[], None]] = []
_lock = threading.RLock()


def before_numba(do: Callable[[], None]) -> None:
    """Let do() run before this process imports numba for its kernels: for what the console command alone may change in it."""
    _first.append(do)


def ready() -> None:
    """Import numba, after all that was to stand before."""
    with _lock:
        while _first:
            _first.pop(0)()
        import numba  # noqa: F401


@contextmanager
def when_compiling(do: Callable[[], None]) -> Iterator[None]:
    """do() is called once, before the first kernel that is compiled while this lasts; never where all machine code is found."""
    _watching.append(do)
    try:
        yield
    finally:
        with _lock, suppress(ValueError):
            _watching.remove(do)


def tell_of_compiling() -> None:
    """Call what waits in `when_compiling`."""
    with _lock:
        while _watching:
            _watching.pop(0)()


def dispatcher(function: Callable[..., Any], options: dict[str, Any]) -> Any:
    """numba's dispatcher of a kernel, which compiles it when it is called and keeps what it compiled.

    options  as numba.njit takes them
    """
    ready()
    try:
        from .compiling import compiled
        from .numbas_cache import keep
    except ImportError:  # a numba whose inner modules lie elsewhere: its own way, and nothing is kept
        import numba

        return numba.njit(**options)(function)
    made = compiled(function, options)
    keep(made)
    return made


def compiled_with_door(function: Callable[..., Any], options: dict[str, Any], arguments: tuple[Any, ...]) -> bytes | None:
    """Machine code of a kernel for such arguments, as content of a file; empty where only numba can call it.

    returns  None where it is not known; then numba's dispatcher compiles it, or tells what is wrong with the kernel
    """
    tell_of_compiling()
    ready()
    from numba import typeof
    from numba.core.errors import NumbaError

    try:
        from .door import NoDoor, with_door
    except ImportError:  # a numba whose inner modules lie elsewhere
        return None
    try:
        return with_door(function, options, tuple(typeof(each) for each in arguments))
    except NoDoor:
        return b""
    except NumbaError:
        return None
    except Exception as fault:  # whatever fails in the machinery: numba's dispatcher compiles too
        left_to_numba(fault)
        return None


def left_to_numba(fault: Exception) -> None:
    """Tells once that a fault of the machinery only costs time."""
    from .cache import tell_once

    tell_once(f"kernels are run by numba, which takes longer ({type(fault).__name__}: {' '.join(str(fault).split())[:200]})")
