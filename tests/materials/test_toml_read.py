"""Text that is not TOML: the line and the parser's words, the same from every file that is read and on every Python."""
from __future__ import annotations

import tomllib

import pytest
from halfgain.materials.toml_read import TomlFault, _fault, toml_tables

BROKEN = [
    ("a = 1\nb = tru\n", 2),
    ("a = 1\nb = [1,\n", 2),  # the end of the text: its last line
    ('a = "x\n', 1),
    ("a = 1\na = 2\nb = 3", 2),
    ('# (at line 7, column 1)\na = "\x01"', 2),
]


@pytest.mark.parametrize(("text", "line"), BROKEN)
def test_a_fault_has_the_line_and_no_place_in_its_words(text: str, line: int) -> None:
    with pytest.raises(TomlFault) as caught:
        toml_tables(text)
    assert (caught.value.line, "(at " in caught.value.words) == (line, False)
    assert caught.value.words[:1].islower()


@pytest.mark.parametrize("text", ["a = " + "9" * 5000, "a = " + "[" * 100_000], ids=["digits", "brackets"])
def test_what_the_parser_itself_cannot_take_is_a_fault_too(text: str) -> None:
    with pytest.raises(TomlFault):
        toml_tables(text)


def test_the_place_comes_from_the_exceptions_attributes_where_it_has_them() -> None:
    # Source: Python 3.14's documentation of tomllib.TOMLDecodeError: msg, doc, pos, lineno, colno.
    fault = tomllib.TOMLDecodeError("any other wording of the place")
    fault.msg, fault.lineno = "Invalid value", 3  # type: ignore[attr-defined]
    told = _fault(fault, "\n\na = x\n")
    assert (told.words, told.line) == ("invalid value", 3)
