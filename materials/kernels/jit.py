"""The mark of a kernel: a function of numbers and arrays that is compiled for one thread, and kept compiled on disk.

What a kernel reads of other modules (constants, other kernels) may stand anywhere in the project: the hash under which compiled
code is kept covers all that its file imports, see `kernel_sources`.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import Any, overload

from .kernel import Kernel

Function = Callable[..., Any]


@overload
def kernel(function: Function) -> Any: ...
@overload
def kernel(*, allocates: bool = ..., within: bool = ...) -> Callable[[Function], Any]: ...
def kernel(function: Function | None = None, *, allocates: bool = False, within: bool = False) -> Any:
    """Compile `function` without Python objects, releasing the interpreter lock, cached on disk.

    Kernels are written for one thread; `simulate.light.workers` runs disjoint index ranges of them in several threads,
    so the bits do not depend on the thread count and no threading layer of numba is needed.

    allocates  the kernel makes arrays, so their references are counted. Counting those of a NamedTuple at every call of a helper
               took more time than the tracing itself (measured, factor 2 to 3): hot kernels get scratch arrays as arguments
    within     put its code into its callers whatever its length: handing on a hundred arrays costs more than a short loop
    raises     at the first call TypeError where a kernel makes an array and does not say so
    """
    if function is None:
        return lambda marked: _made(marked, allocates=allocates, within=within)
    return _made(function, allocates=allocates, within=within)


def _made(function: Function, *, allocates: bool, within: bool) -> Any:
    if _all_in_python():
        return function
    return Kernel(function, {"nogil": True, "error_model": "numpy", "_nrt": allocates, "forceinline": within})


def _all_in_python() -> bool:
    """numba's own switch for debugging: kernels stay Python."""
    config = sys.modules.get("numba.core.config")
    return bool(config.DISABLE_JIT if config is not None else int(os.environ.get("NUMBA_DISABLE_JIT") or 0))


def can_be_kept(kernel: Any) -> bool:
    """Whether other processes find what is compiled of a kernel."""
    return isinstance(kernel, Kernel) and kernel.kept is not None


def within_callers(function: Function) -> Any:
    """A kernel whose code is put into its callers; see `kernel`."""
    return kernel(within=True)(function)


__all__ = ["can_be_kept", "kernel", "within_callers"]
