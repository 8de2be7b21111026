"""Machine code that came with the package: made when its wheel was built, for every processor of one named level.

Under what it is kept stands in its files' names, as in the cache (`cache.py`): what the kernel can read of the project, and the types.
But where the cache names the processor and the software that compiled, here stand the system, the level, and where numpy keeps
an array. Nothing else decides what the code does: a door takes words (`door.py`), and what an object file calls is C's
library alone (`symbols.py`), so it serves every release of Python, numpy, numba and llvmlite.

The files are trusted as the modules beside them are, read and never written. What is damaged, made from other sources or for
another system or processor, is passed over: then the kernel is compiled as if nothing had come with the package.
"""

from __future__ import annotations

import hashlib
import platform
import sys
from collections.abc import Callable
from functools import cache
from typing import Any

from .array_layout import HEADER, arrays_as_known
from .cache import PACKAGED, Versions, compiler_options, opened, tell_once, text_hash
from .machine import MissingSymbol

LEVEL = "x86-64-v3"  # as the compiler names it: AMD's processors since 2015, Intel's since 2013 but for its smallest
_SECOND = ("cx16", "popcnt", "sahf", "sse3", "sse4.1", "sse4.2", "ssse3")
_THIRD = ("avx", "avx2", "bmi", "bmi2", "f16c", "fma", "lzcnt", "movbe", "xsave")
FEATURES = frozenset(_SECOND + _THIRD)
_NO_OPTIONS: tuple[int, list[tuple[str, str]], str] = (0, [], "")


@cache
def fits_here() -> bool:
    """Whether this system and processor run what is made for the level, and nobody asked the compiler for anything else.

    Source: System V ABI for AMD64, table of micro-architecture levels.
    """
    if (sys.platform, platform.machine(), sys.byteorder, sys.maxsize) != ("linux", "x86_64", "little", 2**63 - 1):
        return False
    import llvmlite.binding as llvm

    has = llvm.get_host_cpu_features()
    return all(has.get(each) for each in FEATURES) and arrays_as_known() and compiler_options() == _NO_OPTIONS


@cache
def packaged_source(module: str) -> str | None:
    """Hash of what the kernels of a module can read and of what their machine code is made for, 20 hex digits; None: not known."""
    text = text_hash(module)
    made_for = (sys.platform, LEVEL, HEADER)
    return None if text is None else hashlib.sha256(f"{made_for} {text}".encode()).hexdigest()[:20]


class PackagedVersions(Versions):
    """The versions of one kernel that came with the package."""

    def _read(self, name: str, made_of: Callable[[bytes], Any], nothing: Any) -> Any:
        try:
            return made_of(opened((self.place / name).read_bytes(), name))
        except (FileNotFoundError, MissingSymbol):
            return nothing
        except MemoryError:
            raise
        except Exception:  # of any kind, as in the cache
            tell_once(f"damaged machine code in {self.place} is passed over; pip install --force-reinstall mends it")
            return nothing


def packaged_versions_of(function: Callable[..., Any]) -> PackagedVersions | None:
    """Those of a kernel; None where none came with the package, or none that could run here."""
    if not PACKAGED.is_dir() or function.__closure__ is not None or not fits_here():
        return None
    source = packaged_source(function.__module__)
    return None if source is None else PackagedVersions(function, PACKAGED, source)
