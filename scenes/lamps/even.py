"""Where light has to be even: a state with lamps or windows in it is refused by name."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ..errors import NOTHING, SceneError, SceneErrors
from .model import Light

if TYPE_CHECKING:
    from ..model import Scene

ALLOWED = "a state with screen_lx alone"


def only_even(scene: Scene, lights: Iterable[Light | None], what: str) -> None:
    """Nothing where all states are even light of so many lux.

    what    who takes even light alone, with its verb: "pictures show"
    raises  SceneErrors naming each state with lamps or windows
    """
    wrong = [
        SceneError(scene.path, 0, f'light "{light.name}"', NOTHING, f"{what} even light alone, not lamps or windows", ALLOWED)
        for light in lights
        if light is not None and light.traced
    ]
    if wrong:
        raise SceneErrors(wrong)
