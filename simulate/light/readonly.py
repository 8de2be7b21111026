"""One type for what a kernel only reads: writable or not is part of an array's type, and every type compiles a kernel again."""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np

Value = TypeVar("Value")


def read_only(value: Value) -> Value:
    """The same arrays, in whatever tuples they stand, as views that nobody can write through; other values as they are.

    Nothing is copied. Source: numba's types; seconds of compiling for each kernel that is asked with both kinds.
    """
    closed: Any = value
    if isinstance(value, np.ndarray) and value.flags.writeable:
        closed = value.view()
        closed.flags.writeable = False
    elif isinstance(value, tuple):
        made: Any = getattr(type(value), "_make", tuple)  # named tuples by their fields
        closed = made(read_only(each) for each in value)
    return closed
