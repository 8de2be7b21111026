"""Lengths as people say them, exactly, and what is no length."""

from __future__ import annotations

from fractions import Fraction

import pytest
from halfgain.scenes.survey.lengths import NoLength, length_words, parse_length
from hypothesis import given
from hypothesis import strategies as st

SAID = [  # Expected: 1 in = 25.4 mm and 1 ft = 304.8 mm exactly (NIST SP 811, appendix B.8), by hand
    ("4.2", "4.2", "_m"),
    ("4,2 m", "4.2", "_m"),
    ("420 cm", "4.2", "_cm"),
    ("4200mm", "4.2", "_mm"),
    ("4 m 20", "4.2", "_m"),
    ("4 m 20 cm", "4.2", "_m"),
    ("165 in", "4.191", "_in"),
    ("165\"", "4.191", "_in"),
    ("13 ft", "3.9624", "_in"),
    ("13 ft 6 in", "4.1148", "_in"),
    ("13 ft 6", "4.1148", "_in"),
    ("13' 6\"", "4.1148", "_in"),
    ("13'6\"", "4.1148", "_in"),
    ("13\u2032 6\u2033", "4.1148", "_in"),
    ("13 feet 6 1/2 inches", "4.1275", "_in"),
    ("1/2 in", "0.0127", "_in"),
    ("6 3/4\"", "0.17145", "_in"),
    ("13.5 ft", "4.1148", "_in"),
    (".5 m", "0.5", "_m"),
    ("2 Metres", "2", "_m"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "metres", "suffix"), SAID, ids=[text for text, *_ in SAID])
def test_a_length_is_read_exactly(text: str, metres: str, suffix: str) -> None:
    found = parse_length(text)
    assert found.metres == Fraction(metres)
    assert found.suffix == suffix
    assert found.said == text


@pytest.mark.parametrize(
    ("unit", "metres"), [("_m", "162"), ("_cm", "1.62"), ("_mm", "0.162"), ("_in", "4.1148"), ("_ft", "49.3776")]
)
def test_a_bare_number_is_in_the_unit_of_the_survey(unit: str, metres: str) -> None:
    assert parse_length("162", unit).metres == Fraction(metres)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "four",
        "4 miles",
        "4 ft 2 m",
        "6 in 13 ft",
        "4.2.1",
        "-4",
        "4 m 5 m",
        "1/0 in",
        "1,234",
        "4'' 2'",
        "nan",
        "inf",
        "1e3 m",
        "4m" * 30,
    ],
)
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(NoLength):
        parse_length(text)


@given(st.integers(1, 8000))
def test_a_length_in_eighths_of_an_inch_is_said_and_read_back(eighths: int) -> None:
    metres = Fraction(eighths, 8) * Fraction(254, 10_000)
    assert parse_length(length_words(metres, "_in")).metres == metres


@given(st.integers(1, 100_000), st.sampled_from(["_m", "_cm", "_mm"]))
def test_a_length_in_millimetres_is_said_and_read_back(millimetres: int, suffix: str) -> None:
    metres = Fraction(millimetres, 1000)
    assert parse_length(length_words(metres, suffix)).metres == metres
