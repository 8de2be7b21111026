"""Where numpy keeps an array's data, shape and strides, which doors of machine code read (`door.py`)."""

from __future__ import annotations

import ctypes
from functools import cache

import numpy as np

HEADER = object.__basicsize__  # of a Python object; then, of an array, its data, number of dimensions, shape and strides
DATA, SHAPE, STRIDES = HEADER, HEADER + 16, HEADER + 24  # Source: PyArrayObject_fields in numpy's ndarraytypes.h


@cache
def arrays_as_known() -> bool:
    """Whether this numpy keeps an array's data, shape and strides where doors look for them."""
    array = np.arange(24, dtype=np.int16).reshape(2, 3, 4)[:, ::2]
    data, _, shape, strides = (ctypes.c_void_p * 4).from_address(id(array) + HEADER)
    rows = [tuple((ctypes.c_ssize_t * array.ndim).from_address(place or 0)) for place in (shape, strides)]
    return data == array.ctypes.data and rows == [array.shape, array.strides]
