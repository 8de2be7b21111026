"""What is wrong in a table is told in words that need no Python."""

from __future__ import annotations

import pytest
from halfgain.materials.text.problem import problems_of
from pydantic import BaseModel, Field, ValidationError


class _Curve(BaseModel, extra="forbid"):
    points: list[float] = Field(min_length=2, max_length=3)
    gain: float = Field(default=1.0, gt=0.0, json_schema_extra={"allowed": "above 0"})


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"points": [1.0]}, "fabric.toml:7: points: should have at least 2 entries (got [1.0])"),
        ({"points": [1.0] * 4}, "fabric.toml:7: points: should have at most 3 entries (got [1.0, 1.0, 1.0, 1.0])"),
        ({"points": [1.0, 2.0], "gain": 0}, "fabric.toml:7: gain: should be greater than 0 (got 0; allowed: above 0)"),
        (
            {"points": [1.0, 2.0], "gian": 1},
            'fabric.toml:7: gian: unknown key, did you mean "gain"? (got 1; allowed: points, gain)',
        ),
        ({}, "fabric.toml:7: points: missing key"),
    ],
)
def test_a_fault_is_one_line_in_plain_words(table: dict[str, object], said: str) -> None:
    lines = {("points",): 7, ("gain",): 7, ("gian",): 7, (): 7}
    with pytest.raises(ValidationError) as fault:
        _Curve.model_validate(table)
    assert [str(each) for each in problems_of(fault.value, model=_Curve, file="fabric.toml", lines=lines)] == [said]
