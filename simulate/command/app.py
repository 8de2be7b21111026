"""The console command `halfgain`: what must stand before anything heavy is imported, so that Ctrl-C is heard from the first moment.

What the commands are is in commands.py.
"""

from __future__ import annotations

import atexit
import gc
import os
import signal
import sys
from collections.abc import Sequence
from contextlib import suppress
from types import FrameType

from .letters import NAME as PLAIN

SELDOM = 200_000  # objects made between two rounds of the collector: twice what a measurement keeps; a round over it takes 25 ms
BAD_INPUT, INTERRUPTED = 2, 130  # as in errors.py, which is not imported yet
STOPPED = "halfgain: interrupted; nothing half-written is left"
NO_STDOUT = "halfgain: stdout is closed: nobody would see the answer (allowed: an open one; > /dev/null drops the answer)"


def run(arguments: Sequence[str]) -> int:
    """Run one command; returns 0 good, 2 bad input, 1 a fault of ours or of the machine, 130 Ctrl-C."""
    from .commands import run_command

    return run_command(arguments)


def main() -> None:
    """Entry point of the console command."""
    gc.set_threshold(SELDOM)
    known: list[int] = []
    atexit.register(_end, known)  # registered first, so called last
    try:
        status = _started(sys.argv[1:])
    except KeyboardInterrupt:
        _leave()
    if status == INTERRUPTED:
        sys.stderr.flush()
        os._exit(status)  # a kernel may still be running in its thread: do not wait for it
    known.append(status)
    sys.exit(status)


def _end(known: list[int]) -> None:
    """End with the known status when all else that waits for the end is done: what is left is memory, which ends with the process.

    The interpreter would take a hundred thousand objects down one by one, 15 ms, after rounds of the collector, 100 ms.
    """
    if known:
        with suppress(OSError, ValueError):  # else the interpreter tells of it
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(known[0])


def _started(arguments: Sequence[str]) -> int:
    interrupt = signal.getsignal(signal.SIGINT)
    if interrupt is signal.default_int_handler:  # not where the parent wants it ignored
        signal.signal(signal.SIGINT, _leave)  # importing swallows exceptions here and there; nothing is written yet
    answerless = _open_streams()
    from .one_thread_blas import one_thread_blas

    one_thread_blas()  # before anything imports numpy
    os.environ.setdefault(
        "PYDANTIC_DISABLE_PLUGINS", "__all__"
    )  # no table of ours asks for one, and looking for them takes 10 ms

    from ...materials.kernels.numbas import before_numba
    from .commands import run_command
    from .lean_numba import lean_numba
    from .lean_scipy import lean_scipy

    before_numba(lean_numba)  # this process is ours; one that imports halfgain keeps its numba whole
    lean_scipy()
    if interrupt is signal.default_int_handler:
        signal.signal(signal.SIGINT, interrupt)
    if answerless:
        print(NO_STDOUT, file=sys.stderr)
        return BAD_INPUT
    return run_command(arguments)


def _leave(number: int = 0, frame: FrameType | None = None) -> None:
    """End at once, with the line and the status of Ctrl-C."""
    try:
        os.write(2, f"{STOPPED}\n".encode())
    finally:
        os._exit(INTERRUPTED)


def _open_streams() -> bool:
    """Put the null device in place of standard streams that the parent closed; returns True where stdout was one of them.

    Without it the next file that is opened takes the number of the closed stream, and what is printed there ends in the file.
    A terminal that lacks a letter gets plain ones, or "?", not a traceback.
    """
    closed = [stream is None for stream in (sys.stdin, sys.stdout, sys.stderr)]
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free: this one
    sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=PLAIN)
    return closed[1]
