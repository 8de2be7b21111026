"""Long work in a thread of its own, so that Ctrl-C is heard at once and not after the running kernel."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from typing import TypeVar

Result = TypeVar("Result")


def imported_beside(imports: Callable[[], None]) -> None:
    """Call what only imports in a thread of its own, while kernels run; whoever imports the same next waits for what is left of it.

    What goes wrong is left to that next import, which meets it again.
    """

    def run() -> None:
        with suppress(Exception):
            imports()

    threading.Thread(target=run, daemon=True).start()


def interruptible(work: Callable[[], Result]) -> Result:
    """work() from a daemon thread while this one waits; its result or its exception.

    raises  KeyboardInterrupt at once on Ctrl-C; the work is then left to die with the process
    """
    results: list[Result] = []
    faults: list[BaseException] = []

    def run() -> None:
        try:
            results.append(work())
        except BaseException as fault:
            faults.append(fault)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(0.2)  # with a time limit, since some systems do not interrupt an endless wait
    if faults:
        raise faults[0]
    return results[0]
