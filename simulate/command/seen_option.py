"""The options `--seat NAME` and `--show PICTURE` of `compare`: the room as one seat sees it, before and after."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from ..choices.variants import Variant
    from ..output.compare.views import SeenVariants

SeenFrom = Annotated[
    str | None, typer.Option("--seat", metavar="NAME", help="With --out: the room as this seat sees it, before and after.")
]
Show = Annotated[str, typer.Option("--show", metavar="PICTURE", help="What the screen shows then, as in halfgain picture.")]


def seat_to_draw(found: list[Variant], seat: str | None, show: str, out: Path | None) -> str | None:
    """The seat to draw from. raises BadInput for an unknown seat or picture, or without a folder to write to"""
    if seat is None:
        return None
    from .errors import BadInput
    from .picture import content_of
    from .seats import seat_index

    if out is None:
        raise BadInput("--seat draws pictures: give --out DIR for them")
    for variant in found:
        content_of(variant.scene, show)
        seat_index(variant.scene, seat)
    scene = found[0].scene
    return scene.seats[seat_index(scene, seat)].name


def seen_from(found: list[Variant], seat: str, show: str, *, seed: int, threads: int | None) -> SeenVariants:
    """What the seat sees of every variant; worked out in the background, so that Ctrl-C is heard."""
    from .background import interruptible
    from .picture import content_of

    def run() -> SeenVariants:
        from ..light.workers import default_threads
        from ..output.compare.views import see_variants

        return see_variants(
            found, seat, lambda variant: content_of(variant.scene, show), seed=seed, threads=threads or default_threads()
        )

    return interruptible(run)
