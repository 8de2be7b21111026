"""`halfgain levels`: contrast at each seat against the average level of the picture, and for frames of a film."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .errors import BadInput
from .files import image_files
from .ledger_option import LedgerFile, OutPlace, with_answers
from .options import AsJson, ErrorAsked, Folder, SceneName, Seed, Threads, out_to

if TYPE_CHECKING:
    from ...scenes.model import Scene
    from ..answers.answers import Answers
    from ..answers.level_curve import LevelCurve

Frames = Annotated[
    Path | None, typer.Option("--frames", metavar="PATH", help="An image, or a folder of images in the order of their names.")
]
Out = Annotated[Folder, out_to("levels.json and pictures")]


def levels(
    scene: SceneName,
    frames: Frames = None,
    ledger: LedgerFile = None,
    as_json: AsJson = False,
    out: Out = None,
    seed: Seed = 1,
    error: ErrorAsked = 0.01,
    threads: Threads = None,
) -> None:
    """Contrast at each seat against the picture's average level, 0.5 to 100 %: dark scenes suffer less than a checkerboard."""
    from .stdout import say

    def work(loaded: Scene, answers: Callable[[], Answers]) -> LevelCurve:
        from ..answers.frames import ImageError, frames_of
        from ..answers.level_curve import level_curve

        try:
            pictures = [] if frames is None else frames_of(frames)
        except ImageError as fault:
            raise BadInput(*str(fault).splitlines()) from None
        return level_curve(answers(), pictures)

    _not_among_frames(out, frames)
    place = OutPlace(out, "levels", ("levels.json", "levels.png"), image_files(frames))
    loaded, curve = with_answers(scene, place, work, ledger=ledger, error=error, seed=seed, threads=threads)
    from ..output.levels.chart import levels_chart
    from ..output.levels.table import levels_document, levels_report
    from ..output.measure.document import to_json
    from .talk import console

    document = to_json(levels_document(loaded, curve))
    if out is not None:
        place.write(loaded, ledger, {"levels.json": document.encode(), "levels.png": levels_chart(curve)})
    say(document if as_json else levels_report(loaded, curve, console()))


def _not_among_frames(out: Path | None, frames: Path | None) -> None:
    """raises  BadInput where the pictures would lie among the frames, and be read as frames by the next run"""
    if out is None or frames is None or not (out.is_dir() and frames.is_dir()):
        return
    if out.samefile(frames):
        raise BadInput(
            f"--out {out}: is the folder of the frames, whose next run would read levels.png as a frame: choose another"
        )
