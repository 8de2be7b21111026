"""Runs that add to one file take turns, so that none writes over what another has just added."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


@contextmanager
def in_turn(folder: Path) -> Iterator[None]:
    """Waits until no other run holds the folder (or what stands of it), and holds it while the block runs.

    Where the system has no such locks, or the place none, it is as if nobody else were there. A run that is killed lets go.
    Source: flock(2), on the folder itself, so that nothing is left behind.
    """
    there = folder.absolute()
    while not there.exists() and there != there.parent:
        there = there.parent
    handle = None
    with suppress(ImportError, OSError):
        import fcntl

        handle = os.open(there, os.O_RDONLY)
        fcntl.flock(handle, fcntl.LOCK_EX)
    try:
        yield
    finally:
        if handle is not None:
            os.close(handle)
