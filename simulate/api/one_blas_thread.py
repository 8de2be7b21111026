"""Linear algebra in one thread while a run goes on, whatever it was set to before; the command line asks for it at its start."""

from __future__ import annotations

import functools
import os
from collections.abc import Callable
from typing import ParamSpec, TypeVar

from halfgain.simulate.command.one_thread_blas import THREAD_COUNTS

P = ParamSpec("P")
T = TypeVar("T")


def in_one_blas_thread(run: Callable[P, T]) -> Callable[P, T]:
    """A run of the front door that has the libraries under numpy work in one thread, and gives them theirs back at its end.

    They count threads for the whole process; where runs overlap, the thread of the first decides. A number that the user has set
    in the environment stays.
    Source: `simulate.command.one_thread_blas` tells what their threads cost.
    """

    @functools.wraps(run)
    def alone(*args: P.args, **kwargs: P.kwargs) -> T:
        if any(name in os.environ for name in THREAD_COUNTS):
            return run(*args, **kwargs)
        import scipy.linalg  # noqa: F401  # has a library of its own beside numpy's; only what is loaded can be asked
        from threadpoolctl import threadpool_limits

        with threadpool_limits(limits=1, user_api="blas"):
            return run(*args, **kwargs)

    return alone
