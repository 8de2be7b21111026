"""`order` as a terminal report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...ordering.order import Order
from ..cautions import CAUTIONS
from ..layout import bullet, grid, heading, line, rendered
from ..warned import gathered
from .words import AGEING_NOTE, FOLD_CHECK, FOLD_NOTE, Row, age_rows, projector_rows, screen_rows, trade_words

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

_NAMES = 40  # columns; the name of a seat may take 60, and what is said of it more


def order_report(found: Order, console: Console) -> str:
    """Screen, projector, trades, ageing and cautions as text."""
    parts: list[RenderableType] = [line(found.scene.title, "bold")]
    if found.open:
        parts += [
            heading("To settle before anything is ordered"),
            *(bullet(warning.text) for warning in gathered(found.open, found.scene.seats)),
        ]
    parts += [heading("Screen"), _rows(screen_rows(found)), heading("Projector"), _rows(projector_rows(found))]
    parts += [heading("Who must be present"), *(bullet(trade_words(each)) for each in found.trades)]
    if found.ages is not None:
        parts += [heading("How long the light lasts"), _rows(age_rows(found.ages)), line(AGEING_NOTE, "dim")]
    parts += [heading("Judge the folds again"), *(bullet(FOLD_CHECK[each]) for each in found.fold_checks), line(FOLD_NOTE, "dim")]
    parts += [heading("Cautions"), *(bullet(text) for text in CAUTIONS)]
    return rendered(parts, console)


def _rows(rows: list[Row]) -> RenderableType:
    table = grid(header=False)
    table.add_column(max_width=_NAMES, overflow="fold")
    table.add_column(overflow="fold")
    for name, words in rows:
        table.add_row(line(name), line(words))
    return table
