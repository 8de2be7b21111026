"""numba without its linear algebra, for the command line: a quarter of a second of start-up that no kernel of ours needs."""

from __future__ import annotations

import sys


def without_linear_algebra() -> None:
    """Let numba set up its array functions without scipy.linalg, which it would import only to ask for BLAS.

    In this process kernels then cannot call np.dot; ours never do, and the library, used from Python, leaves numba as it is.
    Does nothing where either is loaded already. Source: numba.np.arraymath asks for scipy.linalg.cython_blas once, at its import.
    """
    if "scipy.linalg" in sys.modules or "numba.np.arraymath" in sys.modules:
        return
    sys.modules["scipy.linalg"] = None  # type: ignore[assignment]
    try:
        import numba.np.arraymath  # noqa: F401
    finally:
        del sys.modules["scipy.linalg"]
