"""Functions in whose place a kernel stands that is chosen by the types of the arguments, when what calls it is compiled.

Serves what a type tells: a flat screen has an empty tuple where a folded one has its mesh, and its kernels hold no code for folds.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property, update_wrapper
from typing import Any


class ByType:
    """A function that kernels call; outside of kernels it is itself.

    function  as Python runs it
    choose    gives for the arguments' numba types the kernel that is called in its place, with the same arguments
    """

    def __init__(self, function: Callable[..., Any], choose: Callable[..., Any]) -> None:
        self._function, self.choose = function, choose
        update_wrapper(self, function)

    def __call__(self, *args: Any) -> Any:
        return self._function(*args)

    def __repr__(self) -> str:
        return f"by_type({self._function.__module__}.{self._function.__qualname__} at {id(self)})"

    @cached_property
    def _numba_type_(self) -> Any:
        from .choice import Choice  # numba, where something is compiled

        return Choice(self)


def by_type(choose: Callable[..., Any]) -> Callable[[Callable[..., Any]], ByType]:
    """Mark a function in whose place kernels call the kernel that `choose` gives for the numba types of its arguments."""
    return lambda function: ByType(function, choose)


def holds(kind: Any, *names: str) -> bool:
    """Whether a named tuple of a numba type, or what stands in it under these names, one in the other, is other than an empty tuple."""
    for name in names:
        kind = kind[kind.fields.index(name)]
    return bool(kind.count)
