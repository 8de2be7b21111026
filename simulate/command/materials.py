"""`halfgain materials`: the finishes and fabrics that a scene may name, searched by any word."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from .errors import BadInput
from .options import AsJson

_WORDS = typer.Argument(metavar="WORDS", help="Show only what these words name or describe; left out: everything.")
_LIBRARY = typer.Option("--library", metavar="FILE", help="A library file of your own, beside the built-in one.")


def materials(
    words: Annotated[list[str] | None, _WORDS] = None, library: Annotated[Path | None, _LIBRARY] = None, as_json: AsJson = False
) -> None:
    """Finishes and fabrics by name: reflectance, colour, which surfaces they are for, sound absorption, source.

    halfgain materials parquet

    halfgain materials dark carpet
    """
    from ...materials.library import LibraryErrors, load_library
    from ..output.fabric.materials_list import found_materials, materials_document, materials_text
    from .stdout import say

    try:
        known = load_library(library)
        found = found_materials(known, words or [])
    except LibraryErrors as wrong:
        raise BadInput(*str(wrong).splitlines()) from None
    if not found.finishes and not found.fabrics:
        raise BadInput(f'no finish and no fabric answers to "{" ".join(words or [])}" (halfgain materials lists all)')
    say(json.dumps(materials_document(found), indent=2, allow_nan=False) + "\n" if as_json else materials_text(found))
