"""The tables of a study file as pydantic models: keys, types and ranges. What two keys must agree on is in read.py."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, Strict

from .designs import METHODS
from .spreads import KINDS

MOST_FACTORS, MOST_LEVELS, MOST_SCENES = 50, 10_000, 50
MOST_VARIANTS = 1_000_000
LARGEST = 1e15  # of a number that is varied; what is larger is a slip of the keys
LEAST_ERROR, LARGEST_ERROR = 0.0005, 0.2
COMBINE = ("all", "rows", "sampled")
AXES = ("right", "out", "up")
_AMOUNT = 'a number in the key\'s own unit, or a text such as "5 cm" or "10 %"'


class _StudyTable(BaseModel):
    """Common rules: strict types, no unknown keys, no NaN or infinity."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False, arbitrary_types_allowed=True)


def _said(words: str, **limits: Any) -> Any:
    return Field(None, json_schema_extra={"allowed": words}, **limits)


class DesignTable(_StudyTable):
    """How factors make variants."""

    combine: Literal["all", "rows", "sampled"] = Field("all", json_schema_extra={"allowed": ", ".join(COMBINE)})
    method: Literal["latin hypercube", "sobol", "sobol indices", "random"] = Field(
        "latin hypercube", json_schema_extra={"allowed": ", ".join(METHODS)}
    )
    samples: int | None = _said("a whole number from 1", ge=1, le=MOST_VARIANTS)
    seed: int | None = _said("a whole number, not negative", ge=0, le=2**63 - 1)


class LevelTable(_StudyTable):
    """A named level of a factor that sets several keys."""

    name: str = Field(min_length=1, max_length=100, json_schema_extra={"allowed": "a text"})
    set: dict[str, Any] = Field(json_schema_extra={"allowed": "keys of the scene and their values; may be empty"})


class FactorTable(_StudyTable):
    """One thing that is varied."""

    name: str | None = _said("a text, the column's name", min_length=1, max_length=100)
    key: str | None = _said("a key of the scene by its dotted path")
    keys: Annotated[list[str] | None, Strict(False)] = _said("keys of the scene that take the value together", min_length=1)
    axis: Literal["right", "out", "up"] | None = _said(", ".join(AXES))
    values: list[Any] | None = _said("a list of values", min_length=1, max_length=MOST_LEVELS)
    level: list[Any] | None = _said("[[factor.level]] tables", min_length=1, max_length=MOST_LEVELS)
    first: float | None = _said("a number", ge=-LARGEST, le=LARGEST)
    last: float | None = _said("a number", ge=-LARGEST, le=LARGEST)
    steps: int | None = _said(f"a whole number from 2 to {MOST_LEVELS}", ge=2, le=MOST_LEVELS)
    spacing: Literal["even", "ratio"] | None = _said("even, ratio")
    low: float | None = _said("a number", ge=-LARGEST, le=LARGEST)
    high: float | None = _said("a number", ge=-LARGEST, le=LARGEST)
    distribution: Literal["uniform", "triangular", "normal"] | None = _said(", ".join(KINDS))
    plus_minus: Any = _said(_AMOUNT)
    plus: Any = _said(_AMOUNT)
    minus: Any = _said(_AMOUNT)
    sd: Any = _said(_AMOUNT)
    value: float | None = _said("a number, in place of what the scene has", ge=-LARGEST, le=LARGEST)


class StudyTable(_StudyTable):
    """A study: base scenes, factors, outputs."""

    format: Literal[1] = Field(1, json_schema_extra={"allowed": "1"})
    title: str | None = _said("a text", max_length=200)
    scene: Any = _said("a scene file beside this one, or a name of the library")
    scenes: list[Any] | None = _said("a list of scene files or names of the library", min_length=1, max_length=MOST_SCENES)
    outputs: list[str] | None = _said("keys of figures", min_length=1)
    states: list[str] | None = _said('"dark" and names of light states', min_length=1)
    error: float = Field(
        0.01, ge=LEAST_ERROR, le=LARGEST_ERROR, json_schema_extra={"allowed": f"{LEAST_ERROR:g} to {LARGEST_ERROR:g}"}
    )
    seed: int = Field(1, ge=0, le=2**63 - 1, json_schema_extra={"allowed": "a whole number, not negative"})
    design: Any = _said("a table [design]")
    factor: list[Any] | None = _said("[[factor]] tables", min_length=1, max_length=MOST_FACTORS)
