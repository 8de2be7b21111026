"""`halfgain levels`: contrast at each seat against the average level of the picture, and for frames of a film."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .errors import BadInput
from .ledger_option import LedgerFile, open_answers
from .options import AsJson, ErrorAsked, SceneName, Seed, Threads

if TYPE_CHECKING:
    from ..answers.level_curve import LevelCurve

Frames = Annotated[
    Path | None, typer.Option("--frames", metavar="PATH", help="An image, or a folder of images in the order of their names.")
]
Out = Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Also write levels.json and pictures there.")]


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
    from ...scenes.load import load_scene
    from ..output.writing import check_folder, write_folder
    from .background import interruptible
    from .stdout import say

    loaded = load_scene(scene)
    if out is not None:
        check_folder(out)

    def run() -> LevelCurve:
        from ..answers.frames import ImageError, frames_of
        from ..answers.level_curve import level_curve
        from ..light.workers import default_threads

        try:
            pictures = [] if frames is None else frames_of(frames)
        except ImageError as fault:
            raise BadInput(str(fault)) from None
        answers = open_answers(loaded, ledger, error=error, seed=seed, threads=threads or default_threads())
        answers.precise(error)
        return level_curve(answers, pictures)

    curve = interruptible(run)
    from rich.console import Console

    from ..output.document import to_json
    from ..output.levels_chart import levels_chart
    from ..output.levels_table import levels_document, levels_report

    document = to_json(levels_document(loaded, curve))
    if out is not None:
        files = {"levels.json": document.encode(), "levels.png": levels_chart(curve)}
        write_folder(out, files)
        print(f"halfgain: wrote {len(files)} files to {out}", file=sys.stderr)
    say(document if as_json else levels_report(loaded, curve, Console()))
