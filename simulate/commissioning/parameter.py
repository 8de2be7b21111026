"""One thing that may differ from the design: how it enters a prediction, and what is held of it before any reading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from .predictor import Knobs


class Kind(StrEnum):
    """What a parameter is of."""

    LUMENS = "lumens"
    GAIN = "gain"
    REFLECTANCE = "reflectance"
    EVENNESS = "evenness"
    NATIVE = "native contrast"
    LENS = "lens contrast"
    AMBIENT = "ambient"
    METER = "meter"


@dataclass(frozen=True)
class Parameter:
    """One thing that may differ from the design, as a number t that is held to be normal before any reading.

    key         its name in tables and JSON;  kind;  what  of which surface, state or meter, else ""
    title       in words;  unit of its value, "" for plain numbers
    mean, deviation   of t beforehand;  source  of those, in words;  stated  value in the scene, None where it states none
    value       of t, in `unit`;  put  knobs with this t
    by          d reading / d t from the predictor's slopes at knobs
    paint       finish that it shares with other surfaces, else ""
    """

    key: str
    kind: Kind
    what: str
    title: str
    unit: str
    mean: float
    deviation: float
    source: str
    stated: float | None
    value: Callable[[float], float]
    put: Callable[[Knobs, float], Knobs]
    by: Callable[[dict[str, np.ndarray], float], np.ndarray]
    paint: str = ""

    def wider(self, deviation: float) -> Parameter:
        """The same with another standard deviation beforehand, shared with nothing."""
        return replace(self, deviation=deviation, paint="")
