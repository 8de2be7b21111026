"""`halfgain scenes`: the library of scenes, listed, shown, or copied out to edit."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .options import AsJson, place_to_write
from .stdout import note


def scenes(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="Show this scene's file.")] = None,
    copy: Annotated[
        Path | None, typer.Option("--copy", metavar="FILE", help="Copy the scene to a new file, to edit.", parser=place_to_write)
    ] = None,
    as_json: AsJson = False,
) -> None:
    """The library of scenes; with a name its file, with --copy a copy to edit."""
    from ...scenes.library import copy_scene, describe, scene_names, scene_path
    from .errors import BadInput
    from .stdout import say

    if name is None:
        if copy is not None:
            raise BadInput("scenes --copy needs the name of a scene: halfgain scenes NAME --copy FILE")
        if as_json:
            say(_json())
            return
        width = max(len(each) for each in scene_names()) + 2
        known = ((each, describe(each)) for each in scene_names())
        say("".join(f"{each:{width}}{about.title}\n{'':{width}}{about.line}\n" for each, about in known))
    elif as_json:
        raise BadInput("scenes --json lists the library; with a name the file itself is shown, which is TOML")
    elif copy is None:
        say(scene_path(name).read_text(encoding="utf-8"))
    else:
        note(f"halfgain: {name} copied to {copy_scene(name, copy)}")


def _json() -> str:
    """The library as a document: name, title and what each scene shows."""
    from ...scenes.library import describe, scene_names
    from ..output.measure.document import to_json

    known = ((name, describe(name)) for name in scene_names())
    return to_json(
        {
            "format": "halfgain.scenes/1",
            "scenes": [{"name": name, "title": about.title, "shows": about.line} for name, about in known],
        }
    )
