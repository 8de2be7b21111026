"""Foreign readers kept quiet: what they think of a file is said by the refusal, or by nobody."""

from __future__ import annotations

import logging
import os
import warnings
from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np


@contextmanager
def quiet_in_c() -> Iterator[None]:
    """Nothing on stderr from libraries in C either: for its time the stream leads nowhere, for the whole process."""
    try:
        kept = os.dup(2)
    except OSError:  # closed: nothing can be heard
        yield
        return
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 2)
        os.close(nowhere)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


@contextmanager
def quiet(logger: str = "") -> Iterator[None]:
    """No warnings of Python or numpy, and none of the library that logs under this name."""
    log = logging.getLogger(logger) if logger else None
    before = log.disabled if log else False
    try:
        if log:
            log.disabled = True
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            yield
    finally:
        if log:
            log.disabled = before


def quiet_drawing() -> None:
    """From now on nothing but errors from matplotlib, before it is imported: its one-time notes and a home without room for its cache
    are not the user's business."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
