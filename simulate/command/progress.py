"""Progress of long work: one changing line on stderr, and only where stderr is a terminal."""
from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Report = Callable[[int, float], None]
Told = Callable[[str], None]


@contextmanager
def progress(what: str, error_asked: float) -> Iterator[Report | None]:
    """A function of (paths so far, error reached) while the work runs; None where nobody watches.

    error_asked  relative standard error that the work aims at [1]
    """
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.markup import escape

    start = f"{what}: getting ready (the very first run compiles for some seconds)"
    with Console(stderr=True).status(escape(start)) as status:

        def report(paths: int, reached: float) -> None:
            error = f"error {100 * reached:.2g} %, " if math.isfinite(reached) else ""
            status.update(escape(f"{what}: {paths:,} light paths, {error}asked {100 * error_asked:.2g} %"))

        yield report


@contextmanager
def stages(what: str) -> Iterator[Told]:
    """A function that shows what is being done, in words; where nobody watches it says nothing."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.markup import escape

    start = f"{what}: getting ready (the very first run compiles for some seconds)"
    with Console(stderr=True).status(escape(start)) as status:
        yield lambda doing: status.update(escape(f"{what}: {doing}"))
