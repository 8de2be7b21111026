"""A worker process: pickled jobs on its stdin, pickled outcomes on its stdout, until stdin ends.

Run: python -m halfgain.simulate.studies.engines.worker
Started as a program of its own, it does not run the user's script again, and ends when its parent does.
"""

from __future__ import annotations

import os
import pickle
import struct
import sys
from typing import Any, BinaryIO

HEAD = struct.Struct(">Q")
READY = "ready"  # the first answer


def send(stream: BinaryIO, thing: Any) -> int:
    """Write a thing with its length before it; returns the bytes it took. raises OSError where nobody reads"""
    data = pickle.dumps(thing, pickle.HIGHEST_PROTOCOL)
    stream.write(HEAD.pack(len(data)) + data)
    stream.flush()
    return len(data)


def receive(stream: BinaryIO) -> Any:
    """The next thing. raises EOFError where the stream ends, also in the middle of one"""
    (length,) = HEAD.unpack(_exactly(stream, HEAD.size))
    return pickle.loads(_exactly(stream, length))


def _exactly(stream: BinaryIO, count: int) -> bytes:
    data = stream.read(count)
    if len(data) < count:
        raise EOFError
    return data


def main() -> None:
    """Serve until stdin ends. What libraries print goes to stderr, lest it stand among the answers."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    from ..work import run_job

    answer: Any = READY
    while True:
        try:
            send(answers, answer)
            job = receive(sys.stdin.buffer)
        except (EOFError, OSError):  # nobody asks, or nobody listens any more
            return
        try:
            answer = run_job(job)
        except Exception as fault:  # for the parent to judge
            answer = fault


if __name__ == "__main__":
    main()
