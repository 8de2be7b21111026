"""Compiling of kernels, with a disk cache that can never serve stale code.

numba's own cache key covers one file only: a kernel that calls a kernel in another file keeps running the old callee
after that file is edited. So the cache lives in a folder named by the hash of every source file that holds kernels (it
imports `kernel` from here). Constants that kernels use live in such files too, and nowhere else.
"""
from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numba
from numba.core import config as numba_config

from .compiling import compiled

_HERE = Path(__file__).resolve().parent
_COMPILERS = (Path(__file__).resolve(), _HERE / "compiling.py")
config: Any = numba_config  # its options are set as attributes at run time, which no type checker sees


@cache
def source_hash() -> str:
    """Hash of all sources that hold kernels, of Python's and of numba's version, 20 hex digits.

    Any edit of any kernel source changes it, and with it the cache folder.
    """
    digest = hashlib.sha256(f"{numba.__version__} {sys.version}".encode())
    for package in ("materials", "scenes", "simulate"):
        folder = _HERE.parent / package
        for path in sorted(folder.rglob("*.py")):
            text = path.read_bytes()
            if b"jit import" in text or path in _COMPILERS:
                digest.update(f"{package}/{path.relative_to(folder).as_posix()}".encode())
                digest.update(text)
    return digest.hexdigest()[:20]


@cache
def cache_folder() -> str:
    """Folder of the compiled kernels; HALFGAIN_CACHE names another parent.

    Where nothing can be written there, it lies in the system's folder for temporary files.
    """
    parent = os.environ.get("HALFGAIN_CACHE")
    if parent is None:
        home = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
        parent = os.path.join(home, "halfgain")
    try:
        os.makedirs(parent, exist_ok=True)
        with tempfile.TemporaryFile(dir=parent):
            pass
    except OSError:
        parent = os.path.join(tempfile.gettempdir(), f"halfgain-{os.getuid() if hasattr(os, 'getuid') else 'user'}")
    return os.path.join(parent, source_hash())


# Names of what makes arrays inside a kernel and so needs numba's reference counts.
_MAKERS = {
    "empty", "zeros", "ones", "full", "array", "arange", "linspace", "copy", "empty_like", "zeros_like", "concatenate",
    "append",
}  # fmt: skip


def kernel(function: Callable[..., Any], *, within: bool = False) -> Callable[..., Any]:
    """Compile `function` without Python objects, releasing the interpreter lock, cached on disk.

    Kernels are written for one thread; `simulate.light.workers` runs disjoint index ranges of them in several threads,
    so the bits do not depend on the thread count and no threading layer of numba is needed.

    A kernel that makes no array is compiled without reference counting: counting the arrays of a NamedTuple at every call
    of a helper took more time than the tracing itself (measured, factor 2 to 3). So hot kernels get their scratch arrays
    as arguments.

    within  put the kernel's code into its callers whatever its length: handing on a hundred arrays costs more than a short loop
    """
    counts = bool(_MAKERS & set(function.__code__.co_names))
    before = config.CACHE_DIR
    config.CACHE_DIR = cache_folder()
    try:
        return compiled(function, {"nogil": True, "error_model": "numpy", "_nrt": counts, "forceinline": within})
    finally:
        config.CACHE_DIR = before


def within_callers(function: Callable[..., Any]) -> Callable[..., Any]:
    """A kernel whose code is put into its callers; see `kernel`."""
    return kernel(function, within=True)
