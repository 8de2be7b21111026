"""`place` as a terminal report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....scenes.inches import length_words
from ....scenes.model import Scene
from ....scenes.remedy import length_text
from ...placing.bounds import Bound, Range
from ...placing.placement import Placement
from ...placing.published import REVIEW_HEIGHTS
from ..cautions import CAUTIONS
from ..layout import bullet, grid, heading, line, rendered
from .words import LENGTH, LIGHT_NOTE, NOTE, ROLE, cause_words, demand_words, lens_words, named_ranges, range_words

if TYPE_CHECKING:
    from rich.console import Console, RenderableType


def place_report(found: Placement, console: Console, *, full: bool = False) -> str:
    """The answers first, then with `full` what each cause allows, as text."""
    scene = found.scene
    parts = [line(scene.title, "bold"), *_answers(found)]
    if full:
        parts += _details(found)
    else:
        parts.append(line("--full shows every cause with its ends and sources."))
    parts += [line(""), line(NOTE, "dim"), line(LIGHT_NOTE, "dim")]
    if scene.projector.in_use is None:
        parts.append(line("in_use is left out: white is that of the rated output.", "dim"))
    parts.append(line(CAUTIONS[1], "dim"))
    return rendered(parts, console)


def _answers(found: Placement) -> list[RenderableType]:
    scene, lens = found.scene, found.lens
    said = lens_words(lens, scene)
    parts: list[RenderableType] = [heading("Projector"), line(said[:1].upper() + said[1:] + ".")]
    if lens.conflict is None:
        parts += [bullet(f"{LENGTH[each.axis]}: {range_words(each, scene)}") for each in lens.ranges]
    for name, value in (("throw_ratio", scene.projector.throw_ratio), ("lens_shift", scene.projector.lens_shift)):
        if value is None:
            parts.append(bullet(f"{name} is left out, so it holds the lens nowhere"))
    parts += [heading("Screen")]
    for title, held, free in (
        ("Width", found.width, found.width_lens_free),
        ("Lower edge", found.bottom, found.bottom_lens_free),
    ):
        parts.append(bullet(f"{title}: {range_words(held, scene)}"))
        if (held.low_m, held.high_m) != (free.low_m, free.high_m):
            parts.append(bullet(f"with the lens moved too: {range_words(free, scene)}", indent=2))
    near, far = min(found.heights_away.values()), max(found.heights_away.values())
    least, most = REVIEW_HEIGHTS
    parts.append(
        bullet(
            f"Seats are {near:.1f} to {far:.1f} picture heights away; a review room's {least:g} to {most:g} (SMPTE ST 196M-2003, second-hand)"
        )
    )
    parts += [heading("Rows, from the front")]
    parts += [bullet(f"{', '.join(row.seats)}: {_row_words(row.lift, scene)}") for row in found.rows]
    return parts


def _row_words(lift: Range, scene: Scene) -> str:
    if lift.low_m is None or lift.nearest_m is None:
        return range_words(lift, scene)
    setter = "" if lift.low_by is None else f" ({cause_words(lift.low_by, lift.low_by.low_thing, scene)})"
    if lift.nearest_m > 0.0:
        return f"has to sit {length_words(lift.nearest_m, scene, 1)} higher{setter}"
    if lift.nearest_m < 0.0:
        said = "" if lift.high_by is None else f" ({cause_words(lift.high_by, lift.high_by.high_thing, scene)})"
        return f"has to sit {length_words(-lift.nearest_m, scene, 1)} lower{said}"
    if lift.low_m < 0.0:
        return f"sees over what is before it, and would {length_words(-lift.low_m, scene, -1)} lower too{setter}"
    return f"just sees over what is before it{setter}"


def _details(found: Placement) -> list[RenderableType]:
    parts: list[RenderableType] = []
    for title, each in named_ranges(found):
        parts += [heading(f"{title}, m (now {_number(each.now_m)})"), _table(each, found.scene)]
    return parts


def _table(found: Range, scene: Scene) -> RenderableType:
    table = grid()
    table.add_column("set by", overflow="fold", ratio=1)
    table.add_column("kind", no_wrap=True)
    for title in ("least", "most", "now"):
        table.add_column(title, justify="right", no_wrap=True)
    for bound in found.bounds:
        table.add_row(line(_cause(bound, scene)), ROLE[bound.role], *_ends(bound), "fits" if bound.fits_now else "no")
    serves = ("none", "none") if found.low_m is None else (_number(found.low_m), _number(found.high_m))
    table.add_row(line("all that must be and is asked for", "bold"), "", *serves, "fits" if found.fits_now else "no")
    return table


def _cause(bound: Bound, scene: Scene) -> str:
    named = bound.things or (bound.low_thing, bound.high_thing)
    ends = [cause_words(bound, thing, scene) for thing in dict.fromkeys(each for each in named if each)]
    words = "; ".join(ends) if ends else cause_words(bound, "", scene)
    demand = demand_words(bound.published)
    return f"{words} ({demand})" if demand else words


def _ends(bound: Bound) -> tuple[str, str]:
    return ("none", "none") if bound.empty else (_number(bound.low_m), _number(bound.high_m))


def _number(value: float | None) -> str:
    return "" if value is None else length_text(value) if value >= 0.0 else f"-{length_text(-value)}"
