"""`halfgain report`: the client's page, one self-contained HTML file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .advise import Children, ClearWall, Dust, FirstAim, Free, Prices, Speakers, Use, Weights, wishes_of
from .compare import Fabrics, FinishOption, Hangs
from .files import check_out, write_told
from .options import ErrorAsked, Folder, Names, SceneName, Seed, Threads, file_to_read, place_to_write, repeated
from .tolerance_option import ToleranceOf, Tolerances, limits_asked

if TYPE_CHECKING:
    from ..choices.variants import VariantText
    from ..choices.wishes import Wishes
    from ..page.offer import Offer
    from ..page.pairs import BeforeAfter
    from ..studies.tolerances.uncertain import Group, Limits

Compared = Annotated[Names, repeated("--compare", "KEY=VALUE[,VALUE...]", "Any other key of the scene file, by its dotted path.")]
Client = Annotated[str | None, typer.Option("--client", metavar="NAME", help="For whom the page is.")]
Project = Annotated[str | None, typer.Option("--project", metavar="NAME", help="Name of the project.")]
Designer = Annotated[str | None, typer.Option("--designer", metavar="NAME", help="By whom it is.")]
Date = Annotated[str | None, typer.Option("--date", metavar="DATE", help="Its date, as you write dates.")]
Logo = Annotated[
    Folder, file_to_read("--logo", "A logo: PNG, JPEG, or an SVG that asks for nothing outside itself; at most 1 MB.")
]
NotIncluded = Annotated[Names, repeated("--not-included", "TEXT", "A line under 'Not included'; up to six times.")]
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
    first_aim: FirstAim = None,
    weight: Weights = None,
    client: Client = None,
    project: Project = None,
    designer: Designer = None,
    date: Date = None,
    logo: Logo = None,
    not_included: NotIncluded = None,
    tolerances: Tolerances = False,
    tolerance: ToleranceOf = None,
    seed: Seed = 1,
    error: ErrorAsked = 0.01,
    threads: Threads = None,
) -> None:
    """A page for the client: the advice on one sheet, then room, sight lines, seats, pictures, what to repaint, folds, fabric.

    Printed on A4 the first sheet is the offer: advice, three reasons, two pictures, and the prices of --prices; the rest is
    an annex, its numbers stay in the file.

    Each --fabric, --hang, --finish or --compare makes one before and after against the scene as it stands; given twice, the
    first is the before. Without any the page shows what matters in this room: its folds against a flat cloth, the surface to
    repaint first, the advised fabric.

    halfgain report light-lounge --fabric silver --finish back="charcoal matt paint" --hang motorised --out page

    halfgain report light-lounge --compare projector.light_output_lm=1500 --out page

    halfgain report light-lounge --first-aim contrast --weight white=2 --out page

    halfgain report light-lounge --client "A. Client" --date 2026-12-01 --prices prices.csv --not-included "Mains wiring" --out page
    """
    from ..choices.axes import axes_of
    from ..choices.variants import read_document
    from ..page.offer import offer_of
    from ..page.pairs import pairs_of_axes

    document = read_document(scene)
    axes = axes_of(
        vary=compare or (),
        fabric=fabric or (),
        hang=hang or (),
        finish=finish or (),
        vary_option="--compare",
        document=document.table,
    )
    pairs = pairs_of_axes(document, axes)
    wishes = wishes_of(document, use, speakers_behind, free_hanging, clear_wall, children, dust, prices, first_aim, weight)
    offer = offer_of(client=client, project=project, designer=designer, date=date, logo=logo, not_included=not_included or ())
    inputs = [*document.scene.files, *(each for each in (prices, logo) if each is not None)]
    check_out(out, ["report.html"], inputs)
    limits = limits_asked(document.scene, tolerances, tolerance)
    page = _page(document, pairs, wishes, offer, limits, seed, error, threads)
    write_told(out, {"report.html": page.encode()}, inputs)


def _page(
    document: VariantText,
    pairs: list[BeforeAfter],
    wishes: Wishes,
    offer: Offer,
    limits: Mapping[Group, Limits] | None,
    seed: int,
    error: float,
    threads: int | None,
) -> str:
    """The page's text."""
    from ..light.workers import default_threads
    from .background import interruptible
    from .progress import stages

    many = threads or default_threads()
    with stages(f"{document.name}, report") as told:
        from ..page.drawing_process import drawn_beside

        with drawn_beside(document.scene, threads=many) as room:

            def run() -> str:
                from ..page.evidence import collect
                from ..page.page import page_html

                evidence = collect(document, pairs, wishes, room, seed=seed, error=error, threads=many, told=told, limits=limits)
                told("setting the page")
                return page_html(evidence, offer)

            return interruptible(run)
