"""`halfgain check`: readings of a finished room against its scene, and what explains where they differ."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .errors import BadInput
from .ledger_option import LedgerFile, OutPlace, with_answers
from .options import AsJson, ErrorAsked, Folder, Full, SceneName, Seed, Threads, out_to, place_to_write
from .progress import Told, stages
from .report import Client, Date, Designer, Logo, Project
from .stdout import note

if TYPE_CHECKING:
    from ...scenes.model import Scene
    from ..answers.answers import Answers
    from ..commissioning.check import Check

FILES = ("check.json", "check.csv", "check.html", "as-built.toml")
Readings = Annotated[
    Path | None, typer.Argument(metavar="[READINGS.csv]", help="What the meters read: picture, place, seat, light, value, unit.")
]
Form = Annotated[
    Path | None,
    typer.Option(
        "--form", metavar="FILE.csv", help="Write an empty file of readings for this scene instead.", parser=place_to_write
    ),
]
Out = Annotated[Folder, out_to("check.json, check.csv, the corrected scene as-built.toml and the hand-over sheet check.html")]


def check(
    scene: SceneName,
    readings: Readings = None,
    form: Form = None,
    out: Out = None,
    ledger: LedgerFile = None,
    client: Client = None,
    project: Project = None,
    designer: Designer = None,
    date: Date = None,
    logo: Logo = None,
    full: Full = False,
    as_json: AsJson = False,
    seed: Seed = 1,
    error: ErrorAsked = 0.005,
    threads: Threads = None,
) -> None:
    """Readings of the finished room against its scene: what agrees, what explains the rest, and the scene as built.

    A row a reading. Unit lx or fc: the lux meter flat on the screen, facing the seats; place 1 to 9, row by row from the top
    left as seen from the seats (middles of a 3 x 3 grid). Unit cd/m2 or fL: a luminance meter at the seat's eye; place as
    before, of a checkerboard (4 x 4, top left white; complement: the other way round) r1c1 to r4c4, or white patches, black
    patches for the mean of all eight. Picture off with lx is the light of the room alone. calibration_percent and
    repeat_percent are +- at 95 %; write every digit that the meter shows, for the last one tells how finely it reads.

    halfgain check my-room.toml --form readings.csv

    halfgain check my-room.toml readings.csv --out built --client "A. Client" --date 2026-12-01
    """
    if form is not None:
        _write_form(scene, form, readings)
        return
    if readings is None:
        raise BadInput("check needs a file of readings; halfgain check SCENE --form FILE.csv writes an empty one")
    from ..output.check.document import check_document
    from ..output.measure.document import to_json
    from ..page.offer import offer_of
    from .stdout import say

    offer = offer_of(client=client, project=project, designer=designer, date=date, logo=logo)
    place = OutPlace(out, "check", FILES, [readings, *([] if logo is None else [logo])])
    with stages(f"{scene}, check") as told:
        loaded, found = with_answers(scene, place, _work(readings, told), ledger=ledger, error=error, seed=seed, threads=threads)
    document = to_json(check_document(found))
    if out is not None:
        from ..output.check.csv import check_csv
        from ..output.check.scene_text import corrected_text
        from ..page.hand_over import hand_over_html

        texts = (document, check_csv(found), hand_over_html(found, offer), corrected_text(found, out))
        place.write(loaded, ledger, {name: text.encode() for name, text in zip(FILES, texts, strict=True)})
    if as_json:
        say(document)
        return
    from ..output.check.table import check_report
    from .talk import console

    say(check_report(found, console(), full=full))


def _work(readings: Path, told: Told) -> Callable[[Scene, Callable[[], Answers]], Check]:
    """Readings are judged before any path is traced."""

    def run(scene: Scene, answers: Callable[[], Answers]) -> Check:
        from ..commissioning.check import check as run_check
        from ..commissioning.readings_csv import ReadingsErrors, read_site_csv

        try:
            site = read_site_csv(readings, scene)
        except ReadingsErrors as fault:
            raise BadInput(*str(fault).splitlines()) from None
        told("light paths")
        ready = answers()
        told("what explains the readings")
        return run_check(ready, site)

    return run


def _write_form(scene: str, form: Path, readings: Path | None) -> None:
    from ...materials.text.plain import plain_path
    from ...scenes.load import load_scene
    from ...scenes.new_file import write_new
    from ..output.check.form import readings_form

    if readings is not None:
        raise BadInput("--form writes an empty file of readings and reads none: leave the readings out")
    write_new(form, readings_form(load_scene(scene)).encode())
    note(f"halfgain: wrote {plain_path(form)}: fill the column value, leave rows empty that are not measured")
