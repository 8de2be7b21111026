"""scipy without what it only touches, for the command line: more than half of its start-up."""

from __future__ import annotations

import sys
from collections import defaultdict
from contextlib import suppress
from types import ModuleType
from typing import Any

TOUCHED = ("f2py", "testing")  # read, and so loaded, when scipy's array layer copies all names of numpy


class _Unread(defaultdict[str, list[Any]]):
    """Stands for a parsed documentation: whatever section is asked for is empty, and so is the whole."""

    def __init__(self, *_: object, **__: object) -> None:
        super().__init__(list)

    def __str__(self) -> str:
        return "\n"


class _BeforeScipy:
    """The first to be asked where a module is: makes scipy lean before the first of its packages, then steps aside."""

    def find_spec(self, name: str, path: object = None, target: object = None) -> None:
        top, _, part = name.partition(".")
        if top == "scipy" and part and part != "version" and not part.startswith("_"):
            with suppress(ValueError):  # another thread was here first
                sys.meta_path.remove(self)
                _make_lean()


def lean_scipy() -> None:
    """Make scipy lean as soon as one of its packages is imported, and only then: most commands need none."""
    sys.meta_path.insert(0, _BeforeScipy())


def _make_lean() -> None:
    """Let scipy copy empty modules in place of numpy's compiler of Fortran and its tools for tests, and add no notes to its help texts.

    In this process `numpy.f2py` and `numpy.testing` are then empty until somebody imports them by those names, and many functions of
    scipy have no help text. What is loaded stays.
    Source: scipy._lib.array_api_compat copies every attribute of numpy once, at its import; scipy._lib._array_api and _util parse the
    help text of each function that they decorate, a third of the time that an import of scipy.fft and scipy.ndimage takes.
    """
    import numpy

    for name in TOUCHED:
        if name not in vars(numpy):
            setattr(numpy, name, ModuleType(f"numpy.{name}"))
    try:
        import scipy._lib._docscrape as parser
    except ImportError:  # another release
        return
    if hasattr(parser, "FunctionDoc"):
        parser.FunctionDoc = _Unread
