"""Headings and tables of the terminal report."""

from __future__ import annotations

from typing import TYPE_CHECKING

_UNBOUND = 1000  # wider than any table would like to be
_MOST_LINES = 3  # a name in more lines than these makes its row hard to follow

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
    from rich.table import Table

    parts = list(parts)
    for part in parts:
        if isinstance(part, Table) and part.show_header:
            _make_room(part, console)
    with console.capture() as captured:
        console.print(*parts, sep="\n")
    text = captured.get()
    if not console.encoding.lower().startswith("utf"):
        text = text.replace("±", "+-")
    return "\n".join(part.rstrip() for part in text.splitlines()).strip("\n") + "\n"


def _make_room(table: Table, console: Console) -> None:
    """Draw columns of figures closer where names in the first column would break inside a word or take many lines."""
    from rich.cells import cell_len
    from rich.text import Text

    first, *others = table.columns
    if not others or not all(column.no_wrap for column in others):
        return
    names = [str(cell) for cell in first.cells]
    whole = console.measure(table, options=console.options.update(width=_UNBOUND)).maximum
    longest = max(cell_len(line) for name in (str(first.header), *names) for line in name.split("\n"))
    free = max(1, console.width - (whole - longest))
    words = [cell_len(word) for name in names for word in name.split()]
    lines = [len(Text(name).wrap(console, free, overflow="fold")) for name in names]
    if free < max(words, default=0) or max(lines, default=0) > _MOST_LINES:
        table.padding = 0


def grid(*, header: bool = True) -> Table:
    """An unboxed table: one space between columns, so that ten of them fit 80 columns."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    return Table(box=SIMPLE_HEAD if header else None, padding=(0, 1, 0, 0), pad_edge=False, show_edge=False, show_header=header)
