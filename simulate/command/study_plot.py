"""`halfgain study-plot`: pictures of a study that has run, without running anything."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .files import check_out, write_told
from .options import Folder, Names, out_to, repeated

StudyFolder = Annotated[Path, typer.Argument(metavar="DIR", help="The folder of a study.")]
FigureKey = Annotated[
    str | None, typer.Option("--figure", metavar="KEY", help="The figure to draw; left out: the first that was read.")
]
Against = Annotated[
    str | None, typer.Option("--against", metavar="KEY", help="The figure to set against it; left out: the next one.")
]
State = Annotated[str, typer.Option("--state", metavar="NAME", help="The light state; left out: dark.")]
SeatName = Annotated[str, typer.Option("--seat", metavar="NAME", help="The seat; left out: the worst seat of each variant.")]
Over = Annotated[Names, repeated("--over", "FACTOR", "A factor of the map; give two. Left out: the two that tell most.")]
Out = Annotated[Folder, out_to("the pictures; left out: the study's folder")]


def study_plot(
    folder: StudyFolder,
    figure: FigureKey = None,
    against: Against = None,
    state: State = "dark",
    seat: SeatName = "",
    over: Over = None,
    out: Out = None,
) -> None:
    """Main effects, ranking with errors, the front of two figures and a map over two factors, of a study that has run.

    effects.png: a panel a factor, the one that explains most first. ranking.png: the best variants, and which are surely behind.
    front.png: those that no other beats in both figures. map.png: the figure over two factors.
    """
    from ..output.study.kept import kept_study
    from ..output.study.pictures import EFFECTS, FRONT, MAP, RANKING, study_pictures, wanted_of

    found = kept_study(folder)
    wanted = wanted_of(found.outputs, figure, against)._replace(state=state, seat=seat, over=tuple(over or ()))
    target = folder if out is None else out
    inputs = [folder / "study.json", folder / "variants.csv"]
    check_out(target, [EFFECTS, RANKING, FRONT, MAP], inputs)
    pictures = study_pictures(found, wanted)
    write_told(target, pictures, inputs, what="pictures")
