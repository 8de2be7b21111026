"""Strips and rugs as `finishes` tells them: a table, and their part of the document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ...answers.strips import MOST_OF_IT, Strip
from ..layout import grid, heading
from ..units import figure, spread

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType


def strip_parts(found: Sequence[Strip]) -> list[RenderableType]:
    """One row a strip, the best first; nothing where there is none."""
    from rich.text import Text

    if not found:
        return []
    priced = any(strip.price is not None for strip in found)
    table = grid()
    for name in ("surface", "from the screen wall to", "m²", *(["price"] if priced else []), "finish", "contrast", "all of it"):
        table.add_column(name, justify="left" if name in ("surface", "finish") else "right", overflow="fold")
    for strip in found:
        price = ["" if strip.price is None else f"{strip.price:.2f}"] if priced else []
        table.add_row(
            Text(strip.surface),
            f"{strip.out_m:.2f} m",
            f"{strip.area_m2:.1f} of {strip.whole_m2:.1f}",
            *price,
            Text(strip.finish.name),
            f"{figure(strip.contrast.value)} ± {spread(strip.contrast.standard_error) or '0'}",
            figure(strip.whole.value),
        )
    note = (
        f"Strips, rugs and curtains: the least of a surface that gives {100 * MOST_OF_IT:.0f} % of what all of it would, each alone; "
        "[[room.part]] states one in a scene."
    )
    return [heading("Less than a whole surface"), table, Text(note, style="dim")]


def strips_document(found: Sequence[Strip]) -> list[dict[str, Any]]:
    """The strips for the document; lengths [m], areas [m2], contrast at the worst seat [1]."""

    def both(value: Any) -> dict[str, float]:
        return {"value": value.value, "standard_error": value.standard_error}

    return [
        {
            "surface": strip.surface,
            "finish": strip.finish.name,
            "out_m": [0.0, strip.out_m],
            "area_m2": strip.area_m2,
            "surface_area_m2": strip.whole_m2,
            "price": strip.price,
            "contrast": both(strip.contrast),
            "contrast_whole_surface": both(strip.whole),
        }
        for strip in found
    ]
