"""`halfgain place`: where projector, screen and rows may be, and what sets each bound."""

from __future__ import annotations

from typing import Annotated

import typer

from .files import check_out, write_told
from .options import AsJson, Folder, Full, SceneName, out_to

LEAST_WHITE, MOST_WHITE = 1.0, 10_000.0
FILES = ("place.json", "place.csv", "place.png")


def _white(value: float | None) -> float | None:
    if value is not None and not LEAST_WHITE <= value <= MOST_WHITE:  # false for NaN as well
        raise typer.BadParameter(f"{value:g} is not allowed; allowed {LEAST_WHITE:g} to {MOST_WHITE:g}")
    return value


White = Annotated[
    float | None,
    typer.Option(
        "--white",
        metavar="CD_M2",
        callback=_white,
        help="White that every seat must have, cd/m2; left out: the least that a standard asks of a theatre.",
    ),
]
Out = Annotated[Folder, out_to("place.json, place.csv and place.png")]


def place(scene: SceneName, white: White = None, full: Full = False, as_json: AsJson = False, out: Out = None) -> None:
    """Where the lens may stand, which screen sizes serve, where the lower edge may lie, how high each row must sit.

    Every bound is named by what sets it: zoom, lens shift, walls, casing, a head in the beam, sight lines, published viewing
    angles, white. Lengths are in steps of a tape measure and rounded to the side that fits. Nothing is traced.

    halfgain place long-lounge --out placed
    """
    from ...scenes.load import load_scene
    from ..output.measure.document import to_json
    from ..output.place.document import place_csv, place_document
    from ..placing.placement import place as answer
    from .stdout import say

    loaded = load_scene(scene)
    check_out(out, FILES, loaded.files, command="place")
    found = answer(loaded, white_cd_m2=white)
    document = to_json(place_document(found)) if as_json or out is not None else ""  # its maps take as long as the rest
    if out is not None:
        from ..output.place.chart import place_chart

        files = {"place.json": document.encode(), "place.csv": place_csv(found).encode(), "place.png": place_chart(found)}
        write_told(out, files, loaded.files, command="place")
    if as_json:
        say(document)
        return
    from ..output.place.table import place_report
    from .talk import console

    say(place_report(found, console(), full=full))
