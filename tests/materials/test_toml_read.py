"""Text that is not TOML: the line and the parser's words, the same from every file that is read and on every Python."""

from __future__ import annotations

import tomllib

import pytest
from halfgain.materials.text.toml_read import TomlFault, _fault, toml_tables

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


def test_who_reads_a_text_again_finds_nothing_of_what_another_reader_changed() -> None:
    text = 'a = [1, { b = 2 }]\n[[c]]\nd = "e"\n'
    one = toml_tables(text)
    one["a"][1]["b"] = one["c"][0]["d"] = one["f"] = 3
    one["c"].append({})
    assert toml_tables(text) == {"a": [1, {"b": 2}], "c": [{"d": "e"}]}


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


BEYOND_SENSE = [
    ("a = 1\nb" + ".b" * 40 + " = 1\n", 2, "a key of too many parts"),
    ("a = 1\n[b" + ".b" * 100_000 + "]\n", 2, "a key of too many parts"),  # the standard reader takes gigabytes for this one
    ("a = 1\nb = " + "[" * 40 + "]" * 40, 2, "brackets nested too deeply"),
    ("a = 1\nb = " + "{a=" * 400 + "1" + "}" * 400, 2, "brackets nested too deeply"),
    ("a = 1\nb = 0x" + "f" * 3600, 2, "a number has too many digits"),
    ("a = [\n" + "1,\n" * 100_001 + "]", 100_001, "more than 100000 keys and values"),
]


@pytest.mark.parametrize(("text", "line", "words"), BEYOND_SENSE, ids=[words for _, _, words in BEYOND_SENSE])
def test_what_no_file_of_tables_needs_is_refused_before_it_is_parsed(
    text: str, line: int, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tomllib, "loads", lambda _: pytest.fail("parsed"))
    with pytest.raises(TomlFault) as caught:
        toml_tables(text)
    assert (caught.value.line, caught.value.words) == (line, words)


@pytest.mark.parametrize(
    "text", ["a = [}", "a = {]", "a = [1 2}", "[", "[[", "a = '", 'a = "\\', "{", "a = {b = ]", "\x00", "= = ="]
)
def test_the_reader_of_lines_never_stands_still(text: str) -> None:
    with pytest.raises(TomlFault):
        toml_tables(text)
