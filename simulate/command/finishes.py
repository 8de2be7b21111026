"""`halfgain finishes`: what each surface costs in contrast, and which allowed finishes reach a target at the least price."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .errors import BadInput
from .ledger_option import LedgerFile, open_answers
from .options import AsJson, ErrorAsked, SceneName, Seed, Threads

if TYPE_CHECKING:
    from ..answers.repaint import Plan, RoomCosts


def _target(value: float | None) -> float | None:
    if value is not None and not 1.0 < value <= 1e6:
        raise typer.BadParameter(f"{value:g} is not allowed; allowed above 1 to 1000000")
    return value


Target = Annotated[
    float, typer.Option("--target", metavar="C", callback=_target, help="Checkerboard contrast to reach at every seat.")
]
AllowFile = Annotated[
    Path | None,
    typer.Option(
        "--allow",
        metavar="FILE",
        help="CSV: surface, finish, price_per_m2 (may be left out). Without it: dark paints on walls and ceiling, dark carpets.",
    ),
]
Out = Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Also write finishes.json and pictures there.")]


def finishes(
    scene: SceneName,
    target: Target = 150.0,
    allow: AllowFile = None,
    ledger: LedgerFile = None,
    as_json: AsJson = False,
    out: Out = None,
    seed: Seed = 1,
    error: ErrorAsked = 0.01,
    threads: Threads = None,
) -> None:
    """What each surface costs, and what to repaint first."""
    from ...scenes.load import load_scene
    from ..output.writing import check_folder, write_folder
    from .background import interruptible
    from .stdout import say

    loaded = load_scene(scene)
    if out is not None:
        check_folder(out)

    def run() -> tuple[RoomCosts, Plan]:
        from ..answers.allowed import AllowedErrors, default_allowed, read_allowed
        from ..answers.repaint import cheapest_repaint, room_costs
        from ..light.workers import default_threads

        try:
            allowed = default_allowed(loaded) if allow is None else read_allowed(allow, loaded)
        except AllowedErrors as fault:
            raise BadInput(str(fault)) from None
        answers = open_answers(loaded, ledger, error=error, seed=seed, threads=threads or default_threads())
        answers.precise(error)
        return room_costs(answers), cheapest_repaint(answers, allowed, target)

    costs, plan = interruptible(run)
    from rich.console import Console

    from ..output.document import to_json
    from ..output.finishes_chart import finishes_chart
    from ..output.finishes_document import finishes_document
    from ..output.finishes_table import finishes_report

    document = to_json(finishes_document(loaded, costs, plan))
    if out is not None:
        files = {"finishes.json": document.encode(), "finishes.png": finishes_chart(costs, plan)}
        write_folder(out, files)
        print(f"halfgain: wrote {len(files)} files to {out}", file=sys.stderr)
    say(document if as_json else finishes_report(loaded, costs, plan, Console()))
