"""`halfgain fabric`: what a fabric of a library is, in numbers and pictures."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, Any

import typer

from .errors import BadInput
from .files import check_out, write_told
from .options import AsJson, place_to_write

_NAME = typer.Argument(metavar="[NAME]", help="A fabric of the library; left out: all names.")
_LIBRARY = typer.Option("--library", metavar="FILE", help="A library file of your own, beside the built-in one.")
_PICTURES = typer.Option(
    "--pictures", metavar="DIR", help="Folder for pictures: gain, reflectance, lobe, light from above.", parser=place_to_write
)


def fabric(
    name: Annotated[str | None, _NAME] = None,
    library: Annotated[Path | None, _LIBRARY] = None,
    pictures: Annotated[Path | None, _PICTURES] = None,
    as_json: AsJson = False,
) -> None:
    """What a fabric is: gain, half-gain angle, albedo, holes, light from above and below, notes; with pictures."""
    from ...materials.library import LibraryErrors, UnknownName, load_library
    from ..output.fabric.document import fabric_document, fabric_list, fabric_text
    from .stdout import say

    try:
        known = load_library(library)
        if name is None:
            if pictures is not None:
                raise BadInput("fabric --pictures needs the name of a fabric")
            every = [fabric_document(each) for each in known.fabrics.values()]
            say(_json(every) if as_json else fabric_list(known.fabrics.values()))
            return
        found = known.find_fabric(name)
    except LibraryErrors as wrong:
        raise BadInput(*str(wrong).splitlines()) from None
    except UnknownName as unknown:
        raise BadInput(str(unknown)) from None
    if pictures is not None:
        from ..output.fabric.pictures import fabric_pictures

        inputs = [] if library is None else [library]
        light = [] if found.groove is None else ["light-from.png"]
        check_out(pictures, ["gain.png", "reflectance.png", "lobe.png", *light], inputs, command="fabric")
        write_told(pictures, fabric_pictures(found), inputs, command="fabric", what="pictures")
    say(_json(fabric_document(found)) if as_json else fabric_text(found))


def _json(document: Any) -> str:
    return json.dumps(document, indent=2, allow_nan=False) + "\n"
