"""`halfgain order`: what has to be ordered and mounted, as one A4 sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from .files import check_out, write_told
from .options import AsJson, Folder, SceneName, out_to
from .place import White
from .report import Client, Date, Designer, Project

if TYPE_CHECKING:
    from ..page.offer import Offer

LEAST_STANDING_M, MOST_STANDING_M = 1.0, 2.5
FILES = ("order.html", "order.json")


def _standing(value: float | None) -> float | None:
    if value is not None and not LEAST_STANDING_M <= value <= MOST_STANDING_M:  # false for NaN as well
        raise typer.BadParameter(f"{value:g} is not allowed; allowed {LEAST_STANDING_M:g} to {MOST_STANDING_M:g}")
    return value


Standing = Annotated[
    float | None,
    typer.Option(
        "--standing", metavar="M", callback=_standing, help="How high a standing head reaches, m; left out: 1.86, a tall man."
    ),
]
Out = Annotated[Folder, out_to("order.html (one A4 page) and order.json")]


def order(
    scene: SceneName,
    standing: Standing = None,
    white: White = None,
    client: Client = None,
    project: Project = None,
    designer: Designer = None,
    date: Date = None,
    as_json: AsJson = False,
    out: Out = None,
) -> None:
    """Sizes, drop, case, fixings, lens, beam over a standing head, trades, how long the light lasts: one A4 sheet.

    What is not settled (throw, shift, casing, a head in the beam) stands first. [screen.mount], [projector.casing] and
    [projector.ageing] of the scene add case, loads, casing and hours; --white adds a minimum of your own to the published
    ones. Nothing is traced.

    halfgain order light-lounge --project "Lounge" --date 2026-12-01 --out ordered
    """
    from ...scenes.load import load_scene
    from ..ordering.clearance import STATURE_M
    from ..ordering.order import order as answer
    from ..output.measure.document import to_json
    from ..output.order.document import order_document
    from .stdout import say

    offer = _offer(client, project, designer, date)
    loaded = load_scene(scene)
    check_out(out, FILES, loaded.files, command="order")
    found = answer(loaded, standing_m=standing or STATURE_M, white_cd_m2=white)
    document = to_json(order_document(found))
    if out is not None:
        from ..page.order_sheet import order_sheet

        page = order_sheet(found, offer)
        write_told(out, {"order.html": page.encode(), "order.json": document.encode()}, loaded.files, command="order")
    if as_json:
        say(document)
        return
    from ..output.order.table import order_report
    from .talk import console

    say(order_report(found, console()))


def _offer(client: str | None, project: str | None, designer: str | None, date: str | None) -> Offer | None:
    """Fields of the sheet's head, checked; None where none is given."""
    if (client, project, designer, date) == (None, None, None, None):
        return None
    from ..page.offer import offer_of

    return offer_of(client=client, project=project, designer=designer, date=date)
