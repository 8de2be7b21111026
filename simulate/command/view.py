"""`halfgain view`: the room in 3-D, in a window or as a PNG."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Annotated

import typer

from ...materials.text.plain import plain, plain_path
from ..output.own_kind import GLB, PNG
from .errors import FAULT
from .options import SceneName, Seed, Threads, place_to_write
from .stdout import note

KINDS = {".png": PNG, ".glb": GLB}


def view(
    scene: SceneName,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "--screenshot",
            metavar="FILE",
            parser=place_to_write,
            help="Write a PNG, or the room itself as GLB, instead of opening a window; needs no display.",
        ),
    ] = None,
    show: Annotated[str, typer.Option("--show", metavar="PICTURE", help="What the screen shows, as for picture.")] = "gradient",
    folds: Annotated[
        str, typer.Option("--folds", metavar="LEVEL", help="Estimated folds of the hang: low, typical, high.")
    ] = "typical",
    seed: Seed = 1,
    threads: Threads = None,
) -> None:
    """The room in 3-D: walls coloured by illuminance, screen with its folds, beam, seats. GLB: metres, y up, a named mesh a thing."""
    from ...scenes.cloth.level import LEVELS
    from ...scenes.load import load_scene
    from ..output.writing import write_file
    from ..views.graphics import NoGraphics, check_graphics
    from .errors import BadInput
    from .files import check_file, image_files
    from .picture import content_of

    level = next((each for each in LEVELS if each == folds), None)
    if level is None:
        raise BadInput(f'--folds: "{plain(folds)}" is not allowed; allowed {", ".join(LEVELS)}')
    kind = None if out is None else KINDS.get(out.suffix.lower())
    if out is not None and kind is None:
        raise BadInput(f'--out: "{plain_path(out)}" is not allowed; allowed a file name that ends in {" or ".join(KINDS)}')
    loaded = load_scene(scene)
    content = content_of(loaded, show)
    inputs = [*loaded.files, *image_files(None, show)]
    if out is not None and kind is not None:
        check_file(out, kind, inputs)
    if out is not None and kind == GLB:
        from ..views.room_glb import room_glb

        write_file(out, room_glb(loaded, level=level), inputs=inputs)
        note(f"halfgain: wrote {out}")
        return
    try:
        check_graphics()
    except NoGraphics as fault:
        note(f"halfgain: {fault}")
        raise typer.Exit(FAULT) from fault
    from ..light.workers import default_threads
    from ..views.room3d import show_room

    shown = show_room(loaded, content, seed=seed, threads=threads or default_threads(), off_screen=out is not None, level=level)
    if out is None:
        shown.plotter.show(title=f"halfgain: {loaded.title}")
        return
    data = io.BytesIO()
    shown.plotter.screenshot(data)
    shown.plotter.close()
    write_file(out, data.getvalue(), inputs=inputs)
    note(f"halfgain: wrote {out}")
