"""How the light of a state with lamps lies over the screen, of which site readings then tell the level."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

import numpy as np

from ..answers.answers import Answers


class StatePattern(NamedTuple):
    """Light of a state with lamps: its mean at the 25 points [lx], and what each point has per lx of that.

    each_lx  (R + 2, 25, T + 1) towards each seat [cd/m2 per lx], then the illuminance itself [1]
    """

    lux: float
    each_lx: np.ndarray


def state_patterns(answers: Answers, used: Collection[str]) -> dict[str, StatePattern]:
    """Patterns of those light states in use that have lamps or windows, with the finishes as they are stated.

    What comes back from the room keeps its shape here: a state's level is one parameter, and other finishes than stated change the
    lamps' own bounces little beside it.  Source: `Seats.lit`, the same light as `measure` reads.
    """
    traced = [light for light in answers.scene.lights if light.name in used and light.traced]
    if not traced:
        return {}
    seats, found = answers.seats(whole=False), {}
    for light in traced:
        lux = seats.lit_lux_points(0, light)
        seen = np.stack([np.broadcast_to(seats.lit(t, light), lux.shape) for t in range(len(answers.scene.seats))], axis=-1)
        mean = float(lux[0].mean())
        found[light.name] = StatePattern(mean, np.concatenate([seen, lux[..., None]], axis=-1) / mean)
    return found
