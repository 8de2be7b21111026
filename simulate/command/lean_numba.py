"""numba without what no kernel of ours calls, for the command line: a quarter of its start-up."""

from __future__ import annotations

import sys
from types import ModuleType

NOT_CALLED = (
    "numba.np.random.legacy",
    "numba.np.random.generator_methods",
    "numba.np.polynomial.polynomial_core",
    "numba.np.polynomial.polynomial_functions",
)


def lean_numba() -> None:
    """Let numba set itself up without random numbers, polynomials and linear algebra.

    numba imports them before it runs its first kernel. In this process kernels then cannot call np.random nor np.dot; ours never
    do, and the library, used from Python, leaves numba as it is. What is loaded already stays.
    Source: numba.np.arraymath asks for scipy.linalg.cython_blas once, at its import; the rest in numba.core.cpu.
    """
    for name in NOT_CALLED:
        sys.modules.setdefault(name, ModuleType(name))
    if "scipy.linalg" in sys.modules or "numba.np.arraymath" in sys.modules:
        return
    sys.modules["scipy.linalg"] = None  # type: ignore[assignment]
    try:
        import numba.np.arraymath  # noqa: F401
    finally:
        del sys.modules["scipy.linalg"]
