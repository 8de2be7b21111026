"""Linear algebra in one thread, for the command line: halfgain has threads of its own, and its matrices are small."""

from __future__ import annotations

import os

THREAD_COUNTS = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS", "BLIS_NUM_THREADS")


def one_thread_blas() -> None:
    """Ask the libraries under numpy for one thread, before it is imported; what the user has set stays.

    Their threads wait for each other in loops: a product of (18, 25) by (25, 2320) took up to a hundred times the CPU time of one
    thread while other work ran beside it, a third of a client's page. One thread also gives the same bits on any machine.
    Source: the variables' own documentation (OpenBLAS, oneMKL, Accelerate, BLIS).
    """
    for name in THREAD_COUNTS:
        os.environ.setdefault(name, "1")
