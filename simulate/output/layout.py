"""Headings and tables of the terminal report."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

_HELD = "\ue000"  # stands for a blank at which no line may end, of the private use area: nobody's letter
_NAME = re.compile(r'"[^"\n]{1,30}"')  # longer ones may break
_PLAIN_HEAD = "    \n    \n -- \n" + 5 * "    \n"  # as grid's, where the terminal has no rule to draw
_UNBOUND = 1000  # wider than any table would like to be
_MOST_LETTERS = 12  # of a name's word that a narrow terminal has to show in one line
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
    """A user's words as they are: brackets start no markup, and a short name in quotes stays on one line."""
    from rich.text import Text

    return Text(_NAME.sub(lambda name: name.group().replace(" ", _HELD), text), style=style)


def bullet(text: str, style: str = "", indent: int = 0, mark: str = "-") -> RenderableType:
    """A line with a dash or another mark, its further lines hanging under its first letter."""
    table = grid(header=False)
    table.add_column(no_wrap=True)
    table.add_column(style=style)
    table.add_row(" " * indent + mark, line(text))
    return table


def rendered(parts: Iterable[RenderableType], console: Console) -> str:
    """Parts as text for a console of its width: no blanks at line ends, no letters the terminal lacks."""
    from rich.box import Box
    from rich.table import Table

    usual = console.width
    with console.capture() as captured:
        for part in parts:
            if isinstance(part, Table) and part.show_header:
                if console.options.ascii_only:
                    part.box = Box(_PLAIN_HEAD, ascii=True)
                _draw_closer(part, console)
                console.width = max(usual, _share_out(part, console))
            console.print(part, crop=False)
            console.width = usual
    text = captured.get().replace(_HELD, " ")
    if not console.encoding.lower().startswith("utf"):
        text = text.replace("±", "+-")
    return "\n".join(part.rstrip() for part in text.splitlines()).strip("\n") + "\n"


def _draw_closer(table: Table, console: Console) -> None:
    """Draw columns of figures closer where names in the first column would break inside a word or take many lines."""
    from rich.cells import cell_len
    from rich.text import Text

    first, *others = table.columns
    if others and all(column.no_wrap for column in others):
        names = [str(cell) for cell in first.cells]
        whole = console.measure(table, options=console.options.update(width=_UNBOUND)).maximum
        longest = max(cell_len(line) for name in (str(first.header), *names) for line in name.split("\n"))
        free = max(1, console.width - (whole - longest))
        words = [cell_len(word) for name in names for word in name.split()]
        lines = [len(Text(name).wrap(console, free, overflow="fold")) for name in names]
        if free < max(words, default=0) or max(lines, default=0) > _MOST_LINES:
            table.padding = 0


def _share_out(table: Table, console: Console) -> int:
    """Give columns that do not fit their widths, and say that of the table [letters]: wider than the console where a figure would be cut.

    The widest column gives way first, down to its longest word, or to _MOST_LETTERS where names may break.
    """
    from rich.cells import cell_len

    wide, least = [], []
    for column in table.columns:
        texts = [str(column.header), *map(str, column.cells)]
        whole_lines = max(cell_len(line) for text in texts for line in text.split("\n"))
        longest_word = max((cell_len(word) for text in texts for word in text.split()), default=0)
        breaks = column.overflow == "fold" and not column.no_wrap
        least.append(whole_lines if column.no_wrap else min(longest_word, _MOST_LETTERS) if breaks else longest_word)
        wide.append(max(least[-1], min(max(whole_lines, column.min_width or 0), column.max_width or _UNBOUND)))
    gaps = len(wide) - 1 + table.padding[1] * len(table.columns)
    if sum(least) + gaps > console.width:
        table.padding, gaps = 0, len(wide) - 1
    if sum(wide) + gaps > console.width:
        while sum(wide) > max(console.width - gaps, sum(least)):
            widest = max(range(len(wide)), key=lambda i: (wide[i] > least[i], wide[i]))
            wide[widest] -= 1
        for column, width in zip(table.columns, wide, strict=True):
            column.width, column.min_width, column.max_width = width, None, None
    return sum(wide) + gaps


def grid(*, header: bool = True) -> Table:
    """An unboxed table: one space between columns, so that ten of them fit 80 columns."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    return Table(box=SIMPLE_HEAD if header else None, padding=(0, 1, 0, 0), pad_edge=False, show_edge=False, show_header=header)
