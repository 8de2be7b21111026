"""numpy without what scipy touches and nobody uses, for the command line: a quarter of scipy's start-up."""

from __future__ import annotations

from types import ModuleType

TOUCHED = ("f2py", "testing")  # read, and so loaded, when scipy's array layer copies all names of numpy


def lean_scipy() -> None:
    """Let scipy copy empty modules in place of numpy's compiler of Fortran and its tools for tests.

    In this process `numpy.f2py` and `numpy.testing` are then empty until somebody imports them by those names. What is loaded stays.
    Source: scipy._lib.array_api_compat copies every attribute of numpy once, at its import.
    """
    import numpy

    for name in TOUCHED:
        if name not in vars(numpy):
            setattr(numpy, name, ModuleType(f"numpy.{name}"))
