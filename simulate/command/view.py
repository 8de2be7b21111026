"""`halfgain view`: the room in 3-D, in a window or as a PNG."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Annotated

import typer

from ...materials.plain import plain, plain_path
from .errors import FAULT
from .options import SceneName, Seed, Threads, place_to_write
from .stdout import note

LEVELS = ("low", "typical", "high")


def view(
    scene: SceneName,
    screenshot: Annotated[
        Path | None,
        typer.Option(
            "--screenshot", metavar="FILE", help="Write a PNG instead of opening a window; needs no display.", parser=place_to_write
        ),
    ] = None,
    show: Annotated[str, typer.Option("--show", metavar="PICTURE", help="What the screen shows, as for picture.")] = "gradient",
    folds: Annotated[
        str, typer.Option("--folds", metavar="LEVEL", help="Estimated folds of the hang: low, typical, high.")
    ] = "typical",
    seed: Seed = 1,
    threads: Threads = None,
) -> None:
    """The room in 3-D: walls coloured by illuminance, screen with its folds, beam, seats."""
    from ...scenes.load import load_scene
    from ..output.own_kind import PNG
    from ..output.writing import write_file
    from ..views.graphics import NoGraphics, check_graphics
    from .errors import BadInput
    from .files import check_file, image_files
    from .picture import content_of

    if folds not in LEVELS:
        raise BadInput(f'--folds: "{plain(folds)}" is not allowed; allowed {", ".join(LEVELS)}')
    if screenshot is not None and screenshot.suffix.lower() != ".png":
        raise BadInput(f'--screenshot: "{plain_path(screenshot)}" is not allowed; allowed a file name that ends in .png')
    loaded = load_scene(scene)
    content = content_of(loaded, show)
    if screenshot is not None:
        check_file(screenshot, PNG, [*loaded.files, *image_files(None, show)])
    try:
        check_graphics()
    except NoGraphics as fault:
        note(f"halfgain: {fault}")
        raise typer.Exit(FAULT) from fault
    from ..light.workers import default_threads
    from ..views.room3d import show_room

    shown = show_room(
        loaded, content, seed=seed, threads=threads or default_threads(), off_screen=screenshot is not None, level=folds
    )
    if screenshot is None:
        shown.plotter.show(title=f"halfgain: {loaded.title}")
        return
    data = io.BytesIO()
    shown.plotter.screenshot(data)
    shown.plotter.close()
    write_file(screenshot, data.getvalue(), inputs=[*loaded.files, *image_files(None, show)])
    note(f"halfgain: wrote {screenshot}")
