"""Headings and tables of the terminal report."""
from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table


def heading(text: str) -> RenderableType:
    """A section's heading with an empty line above."""
    from rich.text import Text

    return Text(f"\n{text}", style="bold")


def grid(*, header: bool = True) -> Table:
    """An unboxed table: one space between columns, so that ten of them fit 80 columns."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    return Table(
        box=SIMPLE_HEAD if header else None, padding=(0, 1, 0, 0), pad_edge=False, show_edge=False, show_header=header
    )
