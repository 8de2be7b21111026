"""Variants that only repaint or dim: answered without loading a scene anew, which would take longer than the answer."""

from __future__ import annotations

from collections.abc import Sequence

from ...materials.finish import Finish
from ...materials.library import load_library
from ...scenes.changes import Change
from ...scenes.model import Scene
from ..answers.answers import Answers, as_finish
from ..measuring.flatten import BORDER

_LUMENS = ("projector", "light_output_lm")
_LEAST_LM, _MOST_LM = 1.0, 100_000.0  # within what the loader takes; beyond, it says what is wrong


def repainted(answers: Answers, changes: Sequence[Change]) -> Answers | None:
    """Answers for the scene with these changes, where all of them are finishes or lumens that are surely allowed; else None.

    Source: `Answers.with_finishes`, `with_light_output`; the loader would give the same finishes and the same lumens.
    """
    paints: dict[str, Finish] = {}
    lumens = None
    for change in changes:
        if change.path == _LUMENS:
            if not _number(change.value) or not _LEAST_LM <= change.value <= _MOST_LM:
                return None
            lumens = float(change.value)
            continue
        surface, finish = _surface(answers.scene, change), _finish(change.value)
        if surface is None or finish is None:
            return None
        paints[surface] = finish
    if paints:
        answers = answers.with_finishes(paints)
    return answers if lumens is None else answers.with_light_output(lumens)


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _surface(scene: Scene, change: Change) -> str | None:
    """The surface whose whole finish a change sets; None for anything else."""
    path = change.path
    if len(path) == 3 and path[:2] == ("room", "finish") and path[2] in scene.room.surfaces:
        return path[2]
    if len(path) == 4 and path[:2] in (("room", "object"), ("room", "part")) and path[3] == "finish":
        return path[2] if path[2] in scene.room.finishes else None
    return BORDER if path == ("screen", "border_finish") else None


def _finish(value: object) -> Finish | None:
    if isinstance(value, Finish):
        return value
    if isinstance(value, str):
        return load_library().finishes.get(value)
    if isinstance(value, int | float) and not isinstance(value, bool) and 0.0 <= value <= 1.0:
        return as_finish(float(value))
    return None
