"""`halfgain finishes`: what each surface costs in contrast, and which allowed finishes reach a target at the least price."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .errors import BadInput
from .ledger_option import LedgerFile, OutPlace, with_answers
from .options import AsJson, ErrorAsked, Folder, SceneName, Seed, Threads, file_to_read, out_to

if TYPE_CHECKING:
    from ...scenes.model import Scene
    from ..answers.answers import Answers
    from ..answers.repaint import Plan, RoomCosts
    from ..answers.strips import Strip
    from ..sound.trade import FinishTrade, Sounding


def _target(value: float | None) -> float | None:
    if value is not None and not 1.0 < value <= 1e6:
        raise typer.BadParameter(f"{value:g} is not allowed; allowed above 1 to 1000000")
    return value


Target = Annotated[
    float, typer.Option("--target", metavar="C", callback=_target, help="Checkerboard contrast to reach at every seat.")
]
_ALLOW = "CSV: surface, finish, price_per_m2 (may be left out). Without it: dark paints on walls and ceiling, dark carpets."
AllowFile = Annotated[Path | None, file_to_read("--allow", _ALLOW)]
_SOUND = "Also list the sets of allowed finishes that none beats in contrast, reverberation and cost together."
Sound = Annotated[bool, typer.Option("--sound", help=_SOUND)]
Out = Annotated[Folder, out_to("finishes.json and pictures")]


def finishes(
    scene: SceneName,
    target: Target = 150.0,
    allow: AllowFile = None,
    sound: Sound = False,
    ledger: LedgerFile = None,
    as_json: AsJson = False,
    out: Out = None,
    seed: Seed = 1,
    error: ErrorAsked = 0.01,
    threads: Threads = None,
) -> None:
    """What each surface costs, and what to repaint first."""
    from .stdout import say

    def work(loaded: Scene, answers: Callable[[], Answers]) -> tuple[RoomCosts, Plan, list[Strip], Sounding, FinishTrade | None]:
        from ..answers.allowed import AllowedErrors, default_allowed, read_allowed
        from ..answers.repaint import cheapest_repaint, room_costs
        from ..answers.strips import strips
        from ..sound.trade import sounding, trade

        try:
            allowed = default_allowed(loaded) if allow is None else read_allowed(allow, loaded)
        except AllowedErrors as fault:
            raise BadInput(*str(fault).splitlines()) from None
        room = answers()
        costs, plan = room_costs(room), cheapest_repaint(room, allowed, target)
        return costs, plan, strips(room, allowed), sounding(loaded, allowed), trade(room, allowed) if sound else None

    names = ("finishes.json", "finishes.png", *(["finishes-sound.png"] if sound else []))
    place = OutPlace(out, "finishes", names, [] if allow is None else [allow])
    loaded, (costs, plan, narrow, heard, traded) = with_answers(
        scene, place, work, ledger=ledger, error=error, seed=seed, threads=threads
    )
    from ..output.finishes.chart import finishes_chart
    from ..output.finishes.document import finishes_document
    from ..output.finishes.sound import sounding_document, sounding_parts, trade_document, trade_parts
    from ..output.finishes.strips import strip_parts, strips_document
    from ..output.finishes.table import finishes_report
    from ..output.measure.document import to_json
    from .talk import console

    found = {
        **finishes_document(loaded, costs, plan),
        "strips": strips_document(narrow),
        "reverberation": sounding_document(heard),
    }
    document = to_json(found if traded is None else {**found, "sound": trade_document(traded)})
    if out is not None:
        files = {"finishes.json": document.encode(), "finishes.png": finishes_chart(costs, plan)}
        if traded is not None:
            from ..output.finishes.trade_chart import trade_chart

            files["finishes-sound.png"] = trade_chart(traded)
        place.write(loaded, ledger, files)
    if as_json:
        say(document)
        return
    parts = [*strip_parts(narrow), *sounding_parts(heard), *([] if traded is None else trade_parts(traded))]
    say(finishes_report(loaded, costs, plan, console(), more=parts))
