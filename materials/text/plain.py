"""Text of files and of users as it may stand in a message: on one line, nothing that steers a terminal, not too long."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

LONGEST = 200  # characters of one value in a message
LIKE = 10  # lines for faults of one kind in one place
MOST_LINES = 50


def plain(text: str, longest: int = LONGEST) -> str:
    """Text with whatever does not print as an escape such as \\n or \\x1b, at most `longest` characters.

    Source: Unicode's classes of characters as `str.isprintable` knows them; escapes as in Python and TOML.
    """
    safe = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text[: longest + 1])
    return safe if len(safe) <= longest else safe[: longest - 3] + "..."


def plain_path(path: object, longest: int = LONGEST) -> str:
    """The same for the name of a file: of a long one the end stays."""
    name = str(path)
    return plain(name) if len(name) <= longest else "..." + plain(name[3 - longest :])


def told(faults: Sequence[tuple[tuple[str, str, str], str]]) -> list[str]:
    """Lines of faults: of more than LIKE alike ones, and of more than MOST_LINES, the rest is counted.

    faults  (file, key, message) as far as they are alike, and the line, for each
    """
    seen: dict[tuple[str, str, str], int] = {}
    for kind, _ in faults:
        seen[kind] = seen.get(kind, 0) + 1
    lines: list[str] = []
    shown: dict[tuple[str, str, str], int] = {}
    for i, (kind, line) in enumerate(faults):
        shown[kind] = shown.get(kind, 0) + 1
        if shown[kind] > LIKE:
            continue
        if len(lines) == MOST_LINES:
            return [*lines, f"{plain_path(kind[0])}: and {len(faults) - i} more"]
        rest = seen[kind] - LIKE if shown[kind] == LIKE else 0
        lines.append(line + (f", and {rest} more like it" if rest > 0 else ""))
    return lines


def first_names(names: Iterable[str], most: int = 12) -> str:
    """Names with commas between them; of a long list the first ones and how many more there are."""
    known = [plain(name, 60) for name in names]
    more = f" and {len(known) - most} more" if len(known) > most else ""
    return ", ".join(known[:most]) + more
