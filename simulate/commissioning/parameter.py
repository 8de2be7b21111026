"""One thing that may differ from the design: how it enters a prediction, and what is held of it before any reading."""

from __future__ import annotations

import math
from dataclasses import replace
from enum import StrEnum

import numpy as np

from ...materials.dataclass import dataclass
from .predictor import Knobs


class ParameterKind(StrEnum):
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
    place       of the surface, state or meter in the predictor's knobs
    reference   of a ratio: lumens, gain or luminous reflectance as stated
    lightest    of a reflectance: its lightest channel as stated, of which t is the logit
    film        of contrasts: share of the raster that a film's own picture takes, which is the share of the lens's straying light
    plain       of ambient light: True where t is the lx, not their logarithm
    paint       finish that a surface shares with others, else ""
    """

    key: str
    kind: ParameterKind
    what: str
    title: str
    unit: str
    mean: float
    deviation: float
    source: str
    stated: float | None
    place: int = 0
    reference: float = 1.0
    lightest: float = 1.0
    film: float = 1.0
    plain: bool = False
    paint: str = ""

    def wider(self, deviation: float) -> Parameter:
        """The same with another standard deviation beforehand, shared with nothing."""
        return replace(self, deviation=deviation, paint="")

    def value(self, t: float) -> float:
        """Of t, in `unit`."""
        if self.kind is ParameterKind.REFLECTANCE:
            return self.reference * self._ratio(t)
        if self.plain:
            return max(0.0, t)  # there is no light below none, though noise may say so
        return t if self.kind is ParameterKind.EVENNESS else self.reference * math.exp(t)

    def put(self, knobs: Knobs, t: float) -> Knobs:
        """The knobs with this t."""
        if self.kind is ParameterKind.REFLECTANCE:
            return knobs._replace(reflectance=self._at_place(knobs.reflectance, self._ratio(t)))
        if self.kind is ParameterKind.AMBIENT:
            return knobs._replace(ambient=self._at_place(knobs.ambient, t if self.plain else math.exp(t)))
        if self.kind is ParameterKind.METER:
            return knobs._replace(meters=self._at_place(knobs.meters, self.value(t)))
        if self.kind is ParameterKind.EVENNESS:
            return knobs._replace(fall=1.0 - t)
        if self.kind is ParameterKind.NATIVE:  # the lens's checkerboard contrast stays, where there is one
            black = math.exp(-t)
            return knobs._replace(black=black, veil=knobs.veil + self.film * (knobs.black - black) if knobs.veil else 0.0)
        if self.kind is ParameterKind.LENS:
            return knobs._replace(veil=self.film * (math.exp(-t) - knobs.black))
        return knobs._replace(lumens=math.exp(t)) if self.kind is ParameterKind.LUMENS else knobs._replace(gain=math.exp(t))

    def by(self, slopes: dict[str, np.ndarray], t: float, knobs: Knobs) -> np.ndarray:
        """d reading / d t (n,) from the predictor's slopes at knobs, which hold this t. Source: chain rule."""
        if self.kind is ParameterKind.REFLECTANCE:
            return np.asarray(slopes["reflectance"][self.place] * (1.0 - self._ratio(t) * self.lightest))  # d ln logistic(t) / dt
        if self.kind is ParameterKind.AMBIENT:
            return np.asarray(slopes["ambient"][self.place] * (1.0 if self.plain else math.exp(t)))
        if self.kind is ParameterKind.METER:
            return np.asarray(slopes["meters"][self.place])
        if self.kind is ParameterKind.EVENNESS:
            return -slopes["fall"]
        if self.kind is ParameterKind.NATIVE:
            return -math.exp(-t) * (slopes["black"] - (self.film * slopes["veil"] if knobs.veil else 0.0))
        if self.kind is ParameterKind.LENS:
            return -self.film * math.exp(-t) * slopes["veil"]
        return slopes["lumens"] if self.kind is ParameterKind.LUMENS else slopes["gain"]

    def _ratio(self, t: float) -> float:
        """Reflectance over that stated [1]."""
        return 1.0 / (1.0 + math.exp(-t)) / self.lightest

    def _at_place(self, values: np.ndarray, value: float) -> np.ndarray:
        new = values.copy()
        new[self.place] = value
        return new
