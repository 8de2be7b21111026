"""The option `--ledger FILE`, shared by the commands that answer from a traced ledger."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .errors import BadInput

if TYPE_CHECKING:
    from ...scenes.model import Scene
    from ..answers.answers import Answers
    from ..measure import Measurement

LedgerFile = Annotated[
    Path | None,
    typer.Option("--ledger", metavar="FILE", help="Answer from this ledger, made by: halfgain trace SCENE --ledger FILE."),
]


def open_answers(scene: Scene, ledger: Path | None, *, error: float, seed: int, threads: int) -> Answers:
    """Answers for a scene from a ledger file, or from a ledger traced now; precise enough for the scene as it is.

    raises  BadInput when the file is no ledger or belongs to another geometry
    Prints on stderr what had to be traced anew.
    """
    from ..answers.answers import Answers
    from ..answers.kept import LedgerError, load
    from ..solver import map_cells

    try:
        kept = None if ledger is None else load(ledger)
        answers = Answers.of(scene, kept, where=str(ledger), seed=seed, paths=32, threads=threads, cells=map_cells(error))
    except LedgerError as fault:
        raise BadInput(str(fault)) from None
    if ledger is not None:
        _, said = answers.precise(error)
        tell(said, ledger)
    return answers


def from_ledger(scene: Scene, ledger: Path, *, error: float, threads: int) -> Measurement:
    """What `measure` gives, from a ledger file. Raises as `open_answers`."""
    return open_answers(scene, ledger, error=error, seed=0, threads=threads).measurement(error)[0]


def tell(said: list[str], ledger: Path) -> None:
    """Sentences on stderr, one a line."""
    for sentence in said:
        print(f"halfgain: {ledger}: {sentence}; the file is as it was", file=sys.stderr)
