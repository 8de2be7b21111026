"""How bright the flat white picture is at every seat: what folds are judged against before anything is traced."""

from __future__ import annotations

import numpy as np

from ...scenes.cloth.cloth import Cloth
from ...scenes.model import Scene
from .flatten import flatten
from .solver import measuring_points


def flat_white(scene: Scene) -> list[float]:
    """Mean luminance of the flat white picture at every seat [cd/m2], the projector's own light alone.

    Source: L = gain E / pi, mean over the 25 measuring points.
    """
    points = measuring_points(flatten(scene, Cloth(scene.screen.width_m, scene.screen.height_m)))
    return [float(value) for value in (points.gain * points.direct_lx[:, None]).mean(axis=0) / np.pi]
