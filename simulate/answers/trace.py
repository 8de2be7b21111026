"""Light paths traced for later answers: enough for the scene itself, and twice over for what will be asked of them."""

from __future__ import annotations

import numpy as np

from ...scenes.model import Scene
from ..measuring.flatten import flatten
from ..measuring.solver import survival_for
from .answer_error import AnswerError
from .answers import Answers

FIRST_PATHS = 32  # a replication and start


LIGHTEST = 0.97  # of all finishes that paths can be followed for


def traced_answers(scene: Scene, *, seed: int = 1, error: float = 0.01, lightest: float = 0.85, threads: int = 1) -> Answers:
    """Answers on paths that meet an error for this scene, doubled once: repaints away from it then mostly need no new ones.

    error     asked relative standard error [1];  lightest  reflectance of the lightest finish to be tried later [1]
    raises    AnswerError for a reflectance that is none, SceneErrors for a scene that cannot be, FloatingPointError when a sum is not finite
    Source: `Answers.precise`; survival as `survival_for` the lightest finish.
    """
    if not 0.0 < lightest <= LIGHTEST:
        raise AnswerError(f"lightest is {lightest}; allowed above 0 to {LIGHTEST}")
    most = max(lightest, float(flatten(scene).reflectance.max()))
    answers = Answers.of(scene, seed=seed, paths=FIRST_PATHS, survival=survival_for(np.array([most])), threads=threads)
    enough = answers.precise(error).answers
    return enough.with_paths(2 * int(enough.stage.ledger.paths[0]))
