"""Progress of long work on stderr: one changing line on a terminal, plain lines now and then elsewhere."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from ...materials.kernels.numbas import when_compiling
from ..light.progress import Progress
from .stdout import note
from .talk import Talk, live

Told = Callable[[str], None]
EVERY_S = 5.0
START = "getting ready"
COMPILING = "compiling the light code, once for what is asked here first (about ten seconds)"


class PlainLines:
    """Lines for a log: the first at once or after `EVERY_S`, further ones at least that far apart [s].

    clock  seconds that only grow
    """

    def __init__(self, what: str, *, at_once: bool, clock: Callable[[], float] = time.monotonic) -> None:
        self._what, self._clock = what, clock
        self._last = -math.inf if at_once else clock()

    def tell(self, doing: str, *, at_once: bool = False) -> None:
        """Write a line, unless the last one is too near and it is not to be told at once."""
        now = self._clock()
        if at_once or now - self._last >= EVERY_S:
            self._last = now
            note(f"halfgain: {self._what}: {doing}")


@contextmanager
def progress(what: str, error_asked: float) -> Iterator[Progress | None]:
    """What a solver tells its steps while the work runs; None where nobody watches.

    error_asked  relative standard error that the work aims at [1]
    Without a terminal lines come with --verbose alone.
    """
    if not live() and not Talk.verbose:
        yield None
        return
    with _told(what, long=False) as told:
        yield lambda step: told(f"{step}, asked {100 * error_asked:.2g} %")


@contextmanager
def stages(what: str) -> Iterator[Told]:
    """A function that shows what is being done, in words; without a terminal every few seconds, as such work is long."""
    with _told(what, long=True) as told:
        yield told


@contextmanager
def _told(what: str, *, long: bool) -> Iterator[Told]:
    if not live():
        lines = PlainLines(what, at_once=Talk.verbose)
        if Talk.verbose or not long:
            lines.tell(START)
        with when_compiling(lambda: lines.tell(COMPILING, at_once=Talk.verbose)):
            yield lines.tell
        return
    from rich.console import Console
    from rich.markup import escape

    with Console(stderr=True).status(escape(f"{what}: {START}")) as status:

        def told(doing: str) -> None:
            status.update(escape(f"{what}: {doing}"))

        with when_compiling(lambda: told(COMPILING)):
            yield told
