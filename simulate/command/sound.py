"""`halfgain sound`: absorption, reverberation, room modes, and what the screen takes from a loudspeaker behind it."""

from __future__ import annotations

from typing import Annotated

import typer

from .files import check_out, write_told
from .options import AsJson, Folder, SceneName, out_to

MOST_PEOPLE, FARTHEST_M, LIGHTEST, HEAVIEST = 100, 5.0, 0.02, 5.0
FILES = ("sound.json", "sound-reverberation.png", "sound-screen.png")


def _people(value: int) -> int:
    if not 0 <= value <= MOST_PEOPLE:
        raise typer.BadParameter(f"{value} is not allowed; allowed 0 to {MOST_PEOPLE}")
    return value


def _mass(value: float | None) -> float | None:
    if value is not None and not LIGHTEST <= value <= HEAVIEST:  # false for NaN as well
        raise typer.BadParameter(f"{value:g} is not allowed; allowed {LIGHTEST:g} to {HEAVIEST:g}")
    return value


def _gaps(values: list[float] | None) -> list[float] | None:
    for value in values or []:
        if not 0.01 <= value <= FARTHEST_M:
            raise typer.BadParameter(f"{value:g} is not allowed; allowed 0.01 to {FARTHEST_M:g}")
    return values


People = Annotated[
    int,
    typer.Option(
        "--people", metavar="N", callback=_people, help="People seated in the room, at least those whose seat has a body."
    ),
]
SheetMass = Annotated[
    float | None,
    typer.Option("--sheet-mass", metavar="KG_M2", callback=_mass, help="Mass of the screen's cloth, kg/m2; left out: both ends."),
]
SpeakerGap = Annotated[
    list[float] | None,
    typer.Option(
        "--speaker-gap",
        metavar="M",
        callback=_gaps,
        help="Cloth to loudspeaker, m; may be given several times; left out: 0.1, 0.2, 0.3.",
    ),
]
Out = Annotated[Folder, out_to("sound.json and pictures")]


def sound(
    scene: SceneName,
    people: People = 0,
    sheet_mass: SheetMass = None,
    speaker_gap: SpeakerGap = None,
    as_json: AsJson = False,
    out: Out = None,
) -> None:
    """Reverberation against what is asked of listening rooms, room modes, and a loudspeaker behind the screen."""
    from ...scenes.load import load_scene
    from ..output.measure.document import to_json
    from ..output.sound.document import sound_document
    from ..sound.room import room_sound
    from ..sound.through import GAPS_M
    from .stdout import say

    loaded = load_scene(scene)
    check_out(out, FILES, loaded.files, command="sound")
    gaps = tuple(dict.fromkeys(speaker_gap)) if speaker_gap else GAPS_M
    found = room_sound(loaded, people=people, sheet_mass_kg_m2=sheet_mass, gaps_m=gaps)
    document = to_json(sound_document(found))
    if out is not None:
        from ..output.sound.chart import reverberation_chart, screen_chart

        files = {
            "sound.json": document.encode(),
            "sound-reverberation.png": reverberation_chart(found),
            "sound-screen.png": screen_chart(found),
        }
        write_told(out, files, loaded.files, command="sound")
    if as_json:
        say(document)
        return
    from ..output.sound.table import sound_report
    from .talk import console

    say(sound_report(found, console()))
