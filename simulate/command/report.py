"""`halfgain report`: the client's page, one self-contained HTML file."""
from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .advise import Children, ClearWall, Dust, Free, Prices, Speakers, Use, wishes_of
from .compare import Fabrics, FinishOption, Hangs
from .files import check_out, write_told
from .options import ErrorAsked, Names, SceneName, Seed, Threads, place_to_write, repeated

if TYPE_CHECKING:
    from ..choices.variants import Document
    from ..choices.wishes import Wishes
    from ..page.pairs import Pair

Compared = Annotated[
    Names, repeated("--compare", "KEY=VALUE[,VALUE...]", "Any other key of the scene file, by its dotted path.")
]
Out = Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for report.html.", parser=place_to_write)]


def report(
    scene: SceneName,
    out: Out,
    fabric: Fabrics = None,
    hang: Hangs = None,
    finish: FinishOption = None,
    compare: Compared = None,
    use: Use = None,
    speakers_behind: Speakers = False,
    free_hanging: Free = None,
    clear_wall: ClearWall = False,
    children: Children = False,
    dust: Dust = False,
    prices: Prices = None,
    seed: Seed = 1,
    error: ErrorAsked = 0.01,
    threads: Threads = None,
) -> None:
    """A page for the client: room, advice, sight lines, seats, pictures before and after, what to repaint, folds, fabric.

    Each --fabric, --hang, --finish or --compare makes one before and after against the scene as it stands; given twice, the
    first is the before. Without any the page shows what matters in this room: its folds against a flat cloth, the surface to
    repaint first, the advised fabric.

    halfgain report light-lounge --fabric silver --finish back="charcoal matt paint" --hang motorised --out page

    halfgain report light-lounge --compare projector.light_output_lm=1500 --out page
    """
    from ..choices.axes import axes_of
    from ..choices.variants import read_document
    from ..page.pairs import pairs_of_axes

    document = read_document(scene)
    axes = axes_of(
        vary=compare or (), fabric=fabric or (), hang=hang or (), finish=finish or (), vary_option="--compare"
    )
    pairs = pairs_of_axes(document, axes)
    wishes = wishes_of(document, use, speakers_behind, free_hanging, clear_wall, children, dust, prices)
    inputs = [*document.scene.files, *([] if prices is None else [prices])]
    check_out(out, ["report.html"], inputs)
    page = _page(document, pairs, wishes, seed, error, threads)
    write_told(out, {"report.html": page.encode()}, inputs)


def _page(document: Document, pairs: list[Pair], wishes: Wishes, seed: int, error: float, threads: int | None) -> str:
    """The page's text; drawing in 3-D stays on the main thread, as some systems want it there."""
    from ..light.workers import default_threads
    from .background import interruptible
    from .progress import stages

    many = threads or default_threads()
    with stages(f"{document.name}, report") as told:
        from ..page.room_picture import room_picture

        told("the room in 3-D")
        room = room_picture(document.scene, seed=seed, threads=many)

        def run() -> str:
            from ..page.evidence import collect
            from ..page.page import page_html

            return page_html(collect(document, pairs, wishes, room, seed=seed, error=error, threads=many, told=told))

        return interruptible(run)
