"""Each factor tried alone before a study runs: a key that no scene takes is a mistake of the study, not of a variant."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...materials.text.problem import Problem, dotted
from ...materials.text.toml_lines import Path as Place
from ...materials.text.toml_lines import line_of
from ...scenes.errors import NOTHING, SceneError, SceneErrors
from ...scenes.model import Scene
from .factors import Factor, LevelFactor
from .nominal import NOMINAL
from .study import Base, Study

MOST_TRIED = 8  # levels of a factor, or places of a spread, spread evenly over them


def trial_problems(study: Study, first: int, lines: Mapping[Place, int]) -> list[Problem]:
    """What makes a factor fail at every level in every base scene.

    first  the first factor that stands in the file;  lines  of the file
    A level that fails in some scene alone is a failed variant, told by the run.
    """
    found = []
    for i, factor in enumerate(study.factors[first:]):
        faults: list[SceneError | str] = []
        for base in study.bases:
            for number in tried(factor):
                fault = _fault(factor, number, base)
                if fault is None:
                    break
                faults.append(fault)
            else:
                continue
            break
        else:
            found.append(_problem(study.name, faults[0], ("factor", i), lines))
    return found


def tried(factor: Factor) -> list[float]:
    """Levels, or shares of a spread, that stand for all of a factor: its ends, and some between."""
    if isinstance(factor, LevelFactor):
        step = max(1, -(-factor.count // MOST_TRIED))
        return [float(level) for level in dict.fromkeys([*range(0, factor.count, step), factor.count - 1])]
    return [0.5, 0.02, 0.98]


def tried_scene(factor: Factor, number: float, base: Base) -> Scene:
    """The base scene with one factor at a level or share. raises SceneErrors, NoNumber, ValueError"""
    made = factor.made(number, base.document.scene, base.library, ())
    return base.document.with_changes(made.changes, factor.name)


def _fault(factor: Factor, number: float, base: Base) -> SceneError | str | None:
    try:
        tried_scene(factor, number, base)
    except SceneErrors as fault:
        return fault.errors[0]
    except ValueError as fault:
        return str(fault)
    return None


def _problem(file: str, fault: SceneError | str, at: Place, lines: Mapping[Place, int]) -> Problem:
    if isinstance(fault, str):
        path = next((place for place in ((*at, "key"), (*at, "keys")) if place in lines), at)
        return Problem(file, line_of(path, lines), dotted(path), None, fault, NOMINAL)
    value: Any = None if fault.value is NOTHING else fault.value
    named = f"{fault.key}: " if fault.key else ""
    return Problem(file, line_of(at, lines), dotted(at), value, f"{named}{fault.message}", fault.allowed)
