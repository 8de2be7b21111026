"""One type for what a kernel only reads: writable or not is part of an array's type, and every type compiles a kernel again."""

from __future__ import annotations

import operator
from typing import Any, TypeVar

import numpy as np

from ...materials.kernels.arguments import is_known

Value = TypeVar("Value")


def read_only(value: Value) -> Value:
    """The same arrays, in whatever tuples they stand, as views that nobody can write through; other values as they are.

    Nothing is copied, and a tuple that holds none but such arrays is given back itself.
    Source: numba's types; seconds of compiling for each kernel that is asked with both kinds.
    """
    closed: Any = value
    if isinstance(value, np.ndarray):
        if value.flags.writeable:
            closed = value.view()
            closed.flags.writeable = False
    elif isinstance(value, tuple) and not is_known(value):
        members = [read_only(each) for each in value]
        if any(map(operator.is_not, members, value)):
            made: Any = getattr(type(value), "_make", tuple)  # named tuples by their fields
            closed = made(members)
    return closed
