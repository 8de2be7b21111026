"""How much a command tells beside its answer: -v and --quiet at every command, and consoles that keep to NO_COLOR and TERM=dumb."""

from __future__ import annotations

import functools
import inspect
import os
import sys
import typing
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated, Any

import typer

from .options import Verbose

if TYPE_CHECKING:
    from rich.console import Console

NARROWEST, USUAL = 20, 80  # letters of a line
Quiet = Annotated[bool, typer.Option("-q", "--quiet", help="Nothing on stderr but what went wrong.")]


class Talk:
    """What the running command was asked to tell: `verbose` and `quiet`, both False until a command says otherwise."""

    verbose = False
    quiet = False

    @classmethod
    def set(cls, *, verbose: bool = False, quiet: bool = False) -> None:
        """For the command that begins. raises typer.BadParameter where both are asked for"""
        if verbose and quiet:
            raise typer.BadParameter("--verbose and --quiet at once; allowed one of them")
        cls.verbose, cls.quiet = verbose, quiet


def with_talk(command: Callable[..., None]) -> Callable[..., None]:
    """The command with -v and --quiet added to its options; one that has a `verbose` of its own gets it handed on."""
    hints = typing.get_type_hints(command, include_extras=True)
    signature = inspect.signature(command)
    own = "verbose" in signature.parameters

    @functools.wraps(command)
    def run(*, verbose: bool = False, quiet: bool = False, **given: Any) -> None:
        Talk.set(verbose=verbose, quiet=quiet)
        command(**given, **({"verbose": verbose} if own else {}))

    kept = [
        each.replace(annotation=hints[name], kind=each.KEYWORD_ONLY)
        for name, each in signature.parameters.items()
        if name != "verbose"
    ]
    added = [
        inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=False, annotation=option)
        for name, option in (("verbose", Verbose), ("quiet", Quiet))
    ]
    run.__signature__ = inspect.Signature([*kept, *added])  # type: ignore[attr-defined]
    run.__annotations__ = {each.name: each.annotation for each in (*kept, *added)}
    del run.__wrapped__
    return run


def unstyled() -> bool:
    """True where nothing but letters may reach a terminal: NO_COLOR is set to anything, or the terminal is dumb.

    Source: no-color.org asks for no colour; bold and dim are left out as well, as most who set it want plain text.
    """
    return bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM", "") in ("dumb", "unknown")


def console() -> Console:
    """A console on stdout for tables, without any escapes where `unstyled`."""
    from rich.console import Console

    made = Console(color_system=None, emoji=False) if unstyled() else Console(emoji=False)
    if made.width < NARROWEST:  # none at all is what some pretend terminals say
        made.width = NARROWEST if made.width > 0 else USUAL
    return made


def live() -> bool:
    """True where a line on stderr may be written over: a terminal that does, and no wish for quiet."""
    return sys.stderr.isatty() and not unstyled() and not Talk.quiet
