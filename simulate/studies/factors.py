"""What a study varies: levels that stand in its file, or values drawn from a spread; each turns a design's number into changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from ...materials.dataclass import dataclass
from ...materials.library import Library
from ...materials.tint import luminance
from ...scenes.changes import Change, Path
from ...scenes.model import Scene
from ..choices.axes import Setting
from .amounts import PER_CENT, Amount
from .nominal import Nominal, nominal_of
from .spreads import SpreadKind, quantile

Shown = float | str


@dataclass(frozen=True)
class Made:
    """What a factor does to one variant: changes of the scene file, and what stands in its column of the results."""

    changes: tuple[Change, ...]
    shown: Shown


@dataclass(frozen=True)
class LevelFactor:
    """A factor with levels; a design gives the level's place, from 0.

    name   its column;  place  in the study file, for messages
    shown  one a level, numbers where the values are numbers
    """

    name: str
    place: str
    choices: tuple[Setting, ...]
    shown: tuple[Shown, ...]

    @property
    def count(self) -> int:
        """How many levels there are."""
        return len(self.choices)

    def made(self, level: float, scene: Scene, library: Library, before: Sequence[Change]) -> Made:
        """What the level of this place (from 0) does; the rest is not asked."""
        choice = self.choices[int(level)]
        return Made(choice.changes, self.shown[int(level)])


@dataclass(frozen=True)
class SpreadFactor:
    """A factor drawn from a spread; a design gives a share between 0 and 1.

    paths   keys that are moved together, each from its own value, by the same share
    axis    of a place: 0 right, 1 out, 2 up; None where the key holds one number
    kind    of spread;  low, high  ends as amounts off the value, or the standard deviation in `high` of a normal one
    value   in place of what the scene has, in the key's unit; None: that
    range   ends in the key's own unit: where they stand, `low` and `high` are not used, nor is the scene's value
    """

    name: str
    place: str
    paths: tuple[Path, ...]
    axis: int | None
    kind: SpreadKind
    low: Amount
    high: Amount
    value: float | None = None
    range: tuple[float, float] | None = None

    def made(self, share: float, scene: Scene, library: Library, before: Sequence[Change]) -> Made:
        """The values at this share of the spread [1] in a variant with these changes before; shown is that of the first key.

        raises  NoNumber where a key holds none, ValueError for a length of what is none
        """
        changes: list[Change] = []
        shown: Shown = ""
        for path in self.paths:
            if self.range is not None and self.axis is None:
                middle = 0.5 * sum(self.range)
                value: Any = float(quantile(self.kind, share, self.range[0], middle, self.range[1]))
                changes.append(Change(path, value, self.place))
            else:
                nominal = nominal_of(scene, library, [*before, *changes], path, self.axis)
                value = self._moved(nominal, share)
                changes += [replace(each, option=self.place) for each in nominal.before]
                changes.append(Change(path, _written(nominal, value, self.axis), self.place))
                value = luminance(value) if len(value) == 3 else value[0]
            shown = value if shown == "" else shown
        return Made(tuple(changes), shown)

    def _moved(self, nominal: Nominal, share: float) -> tuple[float, ...]:
        if self.range is not None:
            return (float(quantile(self.kind, share, self.range[0], 0.5 * sum(self.range), self.range[1])),)
        parts = nominal.parts if self.value is None else (self.value,)
        found = []
        for part in parts:
            low, high = (part + amount.of(part, nominal.metres_a_unit) for amount in (self.low, self.high))
            moved = float(quantile(self.kind, share, low, part, high))
            found.append(min(max(moved, 0.0), 1.0) if nominal.finish else moved)
        return tuple(found)

    @property
    def in_per_cent(self) -> bool:
        """True where both ends are given in per cent of the value."""
        return self.range is None and self.low.unit == self.high.unit == PER_CENT


Factor = LevelFactor | SpreadFactor


def _written(nominal: Nominal, value: tuple[float, ...], axis: int | None) -> Any:
    """A moved value as the scene file would hold it."""
    if nominal.finish and len(value) == 3:
        return {"reflectance": list(value)}
    if nominal.whole and axis is not None:
        return [value[0] if i == axis else part for i, part in enumerate(nominal.whole)]
    return value[0]
