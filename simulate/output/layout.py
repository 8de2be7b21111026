"""Headings and tables of the terminal report."""
from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console, RenderableType
    from rich.table import Table


def heading(text: str) -> RenderableType:
    """A section's heading with an empty line above."""
    from rich.text import Text

    return Text(f"\n{text}", style="bold")


def line(text: str, style: str = "") -> RenderableType:
    """A user's words as they are: brackets start no markup."""
    from rich.text import Text

    return Text(text, style=style)


def bullet(text: str, style: str = "", indent: int = 0, mark: str = "-") -> RenderableType:
    """A line with a dash or another mark, its further lines hanging under its first letter."""
    table = grid(header=False)
    table.add_column(no_wrap=True)
    table.add_column(style=style)
    table.add_row(" " * indent + mark, line(text))
    return table


def rendered(parts: Iterable[RenderableType], console: Console) -> str:
    """Parts as text for a console of its width: no blanks at line ends, no letters the terminal lacks."""
    with console.capture() as captured:
        console.print(*parts, sep="\n")
    text = captured.get()
    if not console.encoding.lower().startswith("utf"):
        text = text.replace("±", "+-")
    return "\n".join(part.rstrip() for part in text.splitlines()).strip("\n") + "\n"


def grid(*, header: bool = True) -> Table:
    """An unboxed table: one space between columns, so that ten of them fit 80 columns."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    return Table(
        box=SIMPLE_HEAD if header else None, padding=(0, 1, 0, 0), pad_edge=False, show_edge=False, show_header=header
    )
