"""`halfgain advise`: which hang and which fabrics serve in this room, by measured evidence, trade rules apart."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ...materials.text.plain import plain
from .files import check_out, write_told
from .options import AsJson, ErrorAsked, Folder, Names, SceneName, Seed, Threads, file_to_read, out_to, repeated
from .tolerance_option import ToleranceOf, Tolerances, limits_asked, sureness_of

if TYPE_CHECKING:
    from ..choices.advice import Advice
    from ..choices.variants import VariantText
    from ..choices.wishes import Wishes
    from ..studies.tolerances.sureness import Sureness

Use = Annotated[str | None, typer.Option("--use", metavar="USE", help="dedicated, living-room or bedroom.")]
Speakers = Annotated[bool, typer.Option("--speakers-behind", help="Sound has to pass through the fabric.")]
Free = Annotated[bool | None, typer.Option("--free-hanging/--touches-wall", help="Hangs free of any wall, or touches one.")]
ClearWall = Annotated[bool, typer.Option("--clear-wall", help="The wall must be clear after use.")]
Children = Annotated[bool, typer.Option("--children", help="Small children about.")]
Dust = Annotated[bool, typer.Option("--dust", help="A dusty room.")]
Fabrics = Annotated[Names, repeated("--fabric", "NAME", "Choose among these; left out: the whole library.")]
FirstAim = Annotated[
    str | None,
    typer.Option("--first-aim", metavar="AIM", help="What counts before all else: white, evenness, contrast or lights-on."),
]
Weights = Annotated[Names, repeated("--weight", "AIM=NUMBER", "How much an aim counts beside the others, 1 where left out.")]
Full = Annotated[bool, typer.Option("--full", help="All fabrics, the rules of the trade and the cautions too.")]
Prices = Annotated[Path | None, file_to_read("--prices", "CSV with header name,price: hangs, fabrics, and finishes by m2.")]
Out = Annotated[Folder, out_to("advise.json, advise.csv and advice.png")]


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
    first_aim: FirstAim = None,
    weight: Weights = None,
    full: Full = False,
    tolerances: Tolerances = False,
    tolerance: ToleranceOf = None,
    as_json: AsJson = False,
    out: Out = None,
    seed: Seed = 1,
    error: ErrorAsked = 0.02,
    threads: Threads = None,
) -> None:
    """Which hang and which fabrics serve in a room, and what would change that.

    Every fabric of the library (or of --fabric NAME, given several times) is measured in the room, flat; every hang's
    folds are judged from every seat. What falls below a floor (published white, a hot spot, louvres lit from the wrong
    side, a stiff sheet without its hang) does not serve and says why. The first and the last line say what to take.

    halfgain advise light-lounge --use living-room --clear-wall
    """
    from ..choices.variants import read_document

    names = list(dict.fromkeys(fabric or ()))
    document = read_document(scene)
    wishes = wishes_of(document, use, speakers_behind, free_hanging, clear_wall, children, dust, prices, first_aim, weight)
    inputs = [*document.scene.files, *([] if prices is None else [prices])]
    check_out(out, ("advise.json", "advise.csv", "advice.png"), inputs, command="advise")
    limits = limits_asked(document.scene, tolerances, tolerance)
    advice = _advised(document, wishes, names, seed, error, threads)
    sure = sureness_of(document.scene, limits, error=error, seed=seed, threads=threads, wishes=wishes, names=names)
    _tell(advice, sure, as_json, out, inputs, full)


def wishes_of(
    document: VariantText,
    use: str | None,
    speakers_behind: bool,
    free_hanging: bool | None,
    clear_wall: bool,
    children: bool,
    dust: bool,
    prices: Path | None,
    first_aim: str | None,
    weight: Sequence[str] | None,
) -> Wishes:
    """The options that say what a scene does not; raises BadInput for a use or an aim that is none, SceneErrors for bad prices."""
    from ..choices.wishes import USES, Wishes
    from .errors import BadInput

    if use is not None and use not in USES:
        raise BadInput(f'--use: "{plain(use)}" is not allowed; allowed {", ".join(USES)}')
    first, weights = _aim(first_aim, "--first-aim"), _weights(weight or ())
    return Wishes(use, speakers_behind, free_hanging, clear_wall, children, dust, _prices(prices, document), first, weights)


def _aim(name: str | None, option: str) -> str | None:
    from ..choices.wishes import AIM_WORDS
    from .errors import BadInput

    if name is not None and name not in AIM_WORDS:
        raise BadInput(f'{option}: "{plain(name)}" is no aim; allowed {", ".join(AIM_WORDS)}')
    return name


def _weights(given: Sequence[str]) -> dict[str, float]:
    """AIM=NUMBER, each aim once. raises BadInput for anything else"""
    from ..choices.wishes import HIGHEST_WEIGHT
    from .errors import BadInput

    found: dict[str, float] = {}
    for text in given:
        name, _, number = text.partition("=")
        aim = _aim(name, "--weight") or ""
        try:
            value = float(number)
        except ValueError:
            value = -1.0
        if not 0.0 <= value <= HIGHEST_WEIGHT:
            raise BadInput(f'--weight {aim}: "{plain(number)}" is no weight; allowed a number from 0 to {HIGHEST_WEIGHT:g}')
        if aim in found:
            raise BadInput(f"--weight {aim}: has a weight already; allowed each aim once")
        found[aim] = value
    return found


def _prices(file: Path | None, document: VariantText) -> dict[str, float]:
    if file is None:
        return {}
    from ..choices.advice import known_fabrics
    from ..choices.wishes import read_prices

    return read_prices(file, known_fabrics(document))


def _advised(document: VariantText, wishes: Wishes, names: list[str], seed: int, error: float, threads: int | None) -> Advice:
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


def _tell(advice: Advice, sure: Sureness | None, as_json: bool, out: Path | None, inputs: list[Path], full: bool) -> None:
    """Print, and write the files."""
    from ..output.advise.document import advise_csv, advise_document
    from ..output.measure.document import to_json
    from .stdout import say

    document = advise_document(advice) if as_json or out is not None else {}
    if sure is not None:
        from ..output.measure.tolerances import odds_words, tolerances_document

        document["tolerances"] = tolerances_document(sure)
    json_text = to_json(document)
    if as_json:
        text = json_text
    else:
        from ..output.advise.table import advise_report
        from .talk import console

        text = advise_report(advice, console(), full=full)
        if sure is not None and sure.odds is not None:
            text += f"\nWithin the tolerances: {odds_words(sure.odds)}\n"
    if out is not None:
        from ..output.advise.chart import advise_chart

        files = {"advise.json": json_text.encode(), "advise.csv": advise_csv(advice).encode(), "advice.png": advise_chart(advice)}
        write_told(out, files, inputs, command="advise")
    say(text)
