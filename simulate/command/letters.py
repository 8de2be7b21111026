"""What a terminal that lacks a letter gets in its place, so that no figure and no unit turns into a question mark."""

from __future__ import annotations

import codecs

NAME = "halfgain.plain"  # as an `errors` of a stream
_PLAIN = {
    "±": "+-", "²": "2", "³": "3", "¹": "1", "°": " deg", "“": '"', "”": '"', "…": "...", "─": "-", "×": "x", "µ": "u",
}  # fmt: skip


def plain_letters(fault: UnicodeError) -> tuple[str, int]:
    """The letters that cannot be written, in those that every terminal has; "?" for others. Source: the codecs' protocol of error handlers."""
    if not isinstance(fault, UnicodeEncodeError):
        raise fault
    lacking = fault.object[fault.start : fault.end]
    return "".join(_PLAIN.get(letter, "?") for letter in lacking), fault.end


codecs.register_error(NAME, plain_letters)
