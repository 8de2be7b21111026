"""What goes wrong, as exit status and lines for the user: 2 bad input, 1 a fault of ours or of the machine."""

from __future__ import annotations

import os

import typer

from ...materials.text.error import Error
from ...materials.text.plain import plain, plain_path
from .stdout import LONGEST_LINE

BAD_INPUT, FAULT, INTERRUPTED = 2, 1, 130

# typer's own usage errors share a base class that typer does not export, and that moved between its releases
_UsageError = next(base for base in typer.BadParameter.__mro__ if base.__name__ == "UsageError")


class BadInput(Error):
    """The user asked for what cannot be; each argument is one clear line."""


def told(fault: BaseException) -> tuple[int, list[str]]:
    """Exit status and lines for stderr of an exception that ended a command."""
    from ...scenes.errors import SceneErrors
    from ..output.own_kind import NotReplaced

    if isinstance(fault, SceneErrors):
        return BAD_INPUT, str(fault).splitlines()
    if isinstance(fault, BadInput):
        return BAD_INPUT, [f"halfgain: {line}" for line in fault.args]
    if isinstance(fault, NotReplaced):
        return BAD_INPUT, [f"halfgain: {_one_line(str(fault))}"]
    if isinstance(fault, _UsageError):
        message = getattr(fault, "format_message", lambda: str(fault))()
        return BAD_INPUT, [f"halfgain: {_shortened(message)}"]
    if isinstance(fault, OSError):
        where = plain_path(os.fspath(fault.filename)) if isinstance(fault.filename, str | os.PathLike) else ""
        status = BAD_INPUT if isinstance(fault, NotADirectoryError | IsADirectoryError) else FAULT
        return status, [f"halfgain: {where + ': ' if where else ''}{fault.strerror or _one_line(str(fault))}"]
    if isinstance(fault, MemoryError):
        return FAULT, ["halfgain: not enough memory for this scene and error"]
    if isinstance(fault, ImportError):
        return FAULT, [f"halfgain: the installation is incomplete: {_one_line(str(fault))}"]
    said = f"{type(fault).__name__}: {_one_line(str(fault))}"
    return FAULT, [f"halfgain: a fault of the program: {said} (-v shows where)"]


def _one_line(text: str) -> str:
    return plain(" ".join(text.split()), LONGEST_LINE)


def _shortened(message: str) -> str:
    """A usage error with the long words in it, which the user typed, cut."""
    return _one_line(" ".join(plain(word) for word in message.split(" ")))
