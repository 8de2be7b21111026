"""The commands of `halfgain`: picks one, turns what goes wrong into clear lines and an exit status.

Commands import what is heavy inside themselves, so that help and typing errors answer at once.
"""

from __future__ import annotations

import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress
from difflib import get_close_matches
from functools import cache
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperGroup
from typer.main import get_command

from ...materials.text.plain import plain
from .app import STOPPED
from .errors import INTERRUPTED, BadInput, told
from .stdout import complain, drop_stdout, say
from .talk import Talk, with_talk

# In the order of the help. Each is the function of its name in the file of its name, which is imported when it is asked for.
COMMANDS = (
    "measure",
    "compare",
    "study",
    "study-plot",
    "advise",
    "place",
    "order",
    "trace",
    "finishes",
    "flatness",
    "levels",
    "sound",
    "picture",
    "view",
    "serve",
    "report",
    "check",
    "explain",
    "fit",
    "fabric",
    "materials",
    "new",
    "scenes",
    "schema",
)


STYLE: Any = {"rich_markup_mode": None, "pretty_exceptions_enable": False}


class _Commands(TyperGroup):
    """Commands in the order of the help, each put together when it is asked for; an unknown one is answered with the nearest spelling."""

    def list_commands(self, ctx: Any) -> list[str]:
        return [*COMMANDS, *super().list_commands(ctx)]

    def get_command(self, ctx: Any, name: str) -> Any:
        return _command(name) if name in COMMANDS else super().get_command(ctx, name)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        name = args[0]
        if self.get_command(ctx, name) is None:
            known = self.list_commands(ctx)
            near = get_close_matches(name, known, n=1)
            hint = f', did you mean "{near[0]}"?' if near else ""
            if not near and _is_scene(name):
                hint = f", did you mean: halfgain measure {plain(name)}"
            raise BadInput(f'no command "{plain(name)}"{hint} (commands: {", ".join(known)})')
        return super().resolve_command(ctx, args)


@cache
def _command(name: str) -> Any:
    """One of COMMANDS as the parser wants it, with its options and their help."""
    module = name.replace("-", "_")
    alone = typer.Typer(add_completion=False, **STYLE)
    alone.command(name)(with_talk(getattr(import_module(f".{module}", __package__), module)))
    return get_command(alone)


def _is_scene(name: str) -> bool:
    from ...scenes.library import scene_names

    return name in scene_names() or name.endswith(".toml")


END_OF_HELP = """\b
Exit status:
  0    done
  1    a fault of the program or of the machine
  2    what was given cannot be: one line each says what and where
  130  interrupted

\b
Environment:
  HALFGAIN_CACHE   folder to keep compiled code in, instead of the user's cache
  XDG_CACHE_HOME   where the user's cache is (LOCALAPPDATA on Windows)
  NO_COLOR         anything: plain text, no bold, no changing lines; so does TERM=dumb
  COLUMNS          width of tables where no terminal tells

\b
Completion: halfgain --install-completion, or --show-completion to read it first.
"""

app = typer.Typer(
    name="halfgain",
    cls=_Commands,
    help="Luminance at every seat, and the contrast a room leaves: projection screens judged by light simulation.",
    epilog=END_OF_HELP,
    context_settings={"help_option_names": ["-h", "--help"]},
    **STYLE,
)


@app.command("help")
def help_of(
    command: Annotated[
        str | None, typer.Argument(metavar="[COMMAND]", help="One of the commands; left out: all of them.")
    ] = None,
) -> None:
    """What a command does and takes: the same as COMMAND --help."""
    _parser()(args=[*([] if command is None else [command]), "--help"], prog_name="halfgain", standalone_mode=False)


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        say(f"halfgain {version('halfgain')}\n")
        raise typer.Exit()


@app.callback(invoke_without_command=True)
def _first(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Say the version.")] = False,
) -> None:
    if context.invoked_subcommand is None:
        say(context.get_help() + "\n")


@cache
def _parser() -> Any:
    """All commands with their options, as the parser wants them: put together once a process."""
    return get_command(app)


def run_command(arguments: Sequence[str]) -> int:
    """Run one command; returns 0 good, 2 bad input, 1 a fault of ours or of the machine, 130 Ctrl-C."""
    Talk.set()
    try:
        status = _parser()(args=list(arguments), prog_name="halfgain", standalone_mode=False)
        sys.stdout.flush()
    except (KeyboardInterrupt, typer.Abort):
        status = INTERRUPTED
    except (BrokenPipeError, SystemExit):  # by the second typer leaves when the reader of its help has gone, and after completion
        with suppress(OSError, ValueError):
            sys.stdout.flush()
        drop_stdout()
        return 0
    except Exception as fault:
        if "-v" in arguments or "--verbose" in arguments:
            traceback.print_exc()
        status, lines = told(fault)
        complain(*lines)
        if isinstance(fault, OSError):
            drop_stdout()  # it may be stdout itself that is full: no second complaint at exit
    if status == INTERRUPTED:  # newer releases of typer turn Ctrl-C into this status themselves
        complain(STOPPED)
    return status if isinstance(status, int) else 0
