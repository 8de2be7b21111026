"""Writing to stdout when the reader may have left (`| head`), or the disk behind it is full."""

from __future__ import annotations

import os
import sys
from contextlib import suppress

from ...materials.text.plain import plain

LONGEST_LINE = 2000


def say(text: str) -> None:
    """Write text to stdout and flush it.

    A reader that closed the pipe has what it wanted: not an error.
    raises  OSError when the place behind stdout cannot take it (a full disk)
    """
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        drop_stdout()


def note(*lines: str) -> None:
    """Lines to stderr beside an answer, whatever file names stand in them; none with --quiet."""
    from .talk import Talk

    if not Talk.quiet:
        complain(*lines)


def complain(*lines: str) -> None:
    """Lines to stderr about what went wrong. Where nobody can hear them (a full disk behind it) they are lost: no more is."""
    with suppress(OSError, ValueError):
        print("\n".join(plain(line, LONGEST_LINE) for line in lines), file=sys.stderr, flush=True)


def drop_stdout() -> None:
    """Send what is left in stdout's buffer nowhere, so that the interpreter's last flush stays silent."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
    except (OSError, ValueError):  # no real file behind it (a test's capture)
        pass
