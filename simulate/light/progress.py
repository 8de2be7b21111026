"""How long work tells where it is: one callable for all of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple


class Step(NamedTuple):
    """What a run is doing.

    stage  in words: "light paths", "seat pictures, 3 of 16"
    paths  light paths so far, 0 where none are traced;  error  worst relative standard error reached so far [1], None: not known
    """

    stage: str
    paths: int = 0
    error: float | None = None

    def __str__(self) -> str:
        counted = f", {self.paths:,} so far" if self.paths else ""
        reached = f", error {100 * self.error:.2g} %" if self.error is not None else ""
        return f"{self.stage}{counted}{reached}"


Progress = Callable[[Step], None]


def light_paths(paths: int, error: float) -> Step:
    """A round of light paths is done: all so far, and the worst relative standard error reached [1], infinite: not known."""
    return Step("light paths", paths, error if math.isfinite(error) else None)


def say(progress: Progress | None, stage: str) -> None:
    """A stage without figures."""
    if progress is not None:
        progress(Step(stage))
