"""`halfgain advise`: which hang and which fabrics serve in this room, by measured evidence, trade rules apart."""
from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .options import AsJson, ErrorAsked, SceneName, Seed, Threads

if TYPE_CHECKING:
    from ..choices.advice import Advice
    from ..choices.variants import Document
    from ..choices.wishes import Wishes

Use = Annotated[str | None, typer.Option("--use", metavar="USE", help="dedicated, living-room or bedroom.")]
Speakers = Annotated[bool, typer.Option("--speakers-behind", help="Sound has to pass through the fabric.")]
Free = Annotated[
    bool | None, typer.Option("--free-hanging/--touches-wall", help="Hangs free of any wall, or touches one.")
]
ClearWall = Annotated[bool, typer.Option("--clear-wall", help="The wall must be clear after use.")]
Children = Annotated[bool, typer.Option("--children", help="Small children about.")]
Dust = Annotated[bool, typer.Option("--dust", help="A dusty room.")]
Fabrics = Annotated[
    list[str] | None, typer.Option("--fabric", metavar="NAME", help="Choose among these; left out: the whole library.")
]
Prices = Annotated[
    Path | None, typer.Option("--prices", metavar="FILE", help="CSV with header name,price: hangs and fabrics.")
]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="DIR", help="Also write advise.json, advise.csv and advice.png there.")
]


def advise(
    scene: SceneName,
    use: Use = None,
    speakers_behind: Speakers = False,
    free_hanging: Free = None,
    clear_wall: ClearWall = False,
    children: Children = False,
    dust: Dust = False,
    fabric: Fabrics = None,
    prices: Prices = None,
    as_json: AsJson = False,
    out: Out = None,
    seed: Seed = 1,
    error: ErrorAsked = 0.02,
    threads: Threads = None,
) -> None:
    """Which hang and which fabrics serve in a room, and what would change that.

    Every fabric of the library (or of --fabric NAME, given several times) is measured in the room, flat; every hang's
    folds are judged from every seat. Rules of the trade stand apart, marked as such.

    halfgain advise light-lounge --use living-room --clear-wall
    """
    from ..choices.variants import read_document
    from ..choices.wishes import USES, Wishes
    from ..output.writing import check_folder
    from .errors import BadInput

    if use is not None and use not in USES:
        raise BadInput(f'--use: "{use}" is not allowed; allowed {", ".join(USES)}')
    names = list(dict.fromkeys(fabric or ()))
    document = read_document(scene)
    listed = _prices(prices, document)
    wishes = Wishes(use, speakers_behind, free_hanging, clear_wall, children, dust, listed)
    if out is not None:
        check_folder(out)
    _tell(_advised(document, wishes, names, seed, error, threads), as_json, out)


def _prices(file: Path | None, document: Document) -> dict[str, float]:
    if file is None:
        return {}
    from ..choices.advice import known_fabrics
    from ..choices.wishes import read_prices

    return read_prices(file, known_fabrics(document))


def _advised(
    document: Document, wishes: Wishes, names: list[str], seed: int, error: float, threads: int | None
) -> Advice:
    from .background import interruptible
    from .progress import progress

    with progress(f"{document.name}, advice", error) as report:

        def run() -> Advice:
            from ..choices.advice import advise as run_advise
            from ..light.workers import default_threads

            return run_advise(
                document, wishes, fabrics=names, seed=seed, error=error, threads=threads or default_threads(), progress=report
            )

        return interruptible(run)


def _tell(advice: Advice, as_json: bool, out: Path | None) -> None:
    """Print, and write the files."""
    from ..output.advise_document import advise_csv, advise_document
    from ..output.document import to_json
    from .stdout import say

    json_text = to_json(advise_document(advice)) if as_json or out is not None else ""
    if as_json:
        text = json_text
    else:
        from rich.console import Console

        from ..output.advise_table import advise_report

        text = advise_report(advice, Console())
    if out is not None:
        from ..output.advise_chart import advise_chart
        from ..output.writing import write_folder

        files = {"advise.json": json_text.encode(), "advise.csv": advise_csv(advice).encode(), "advice.png": advise_chart(advice)}
        write_folder(out, files)
        print(f"halfgain: wrote {len(files)} files to {out}", file=sys.stderr)
    say(text)
