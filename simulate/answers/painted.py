"""A scene with other finishes on its surfaces."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ...materials.finish import Finish
from ...scenes.errors import show
from ...scenes.model import Scene
from ..measuring.flatten import BORDER
from .answer_error import AnswerError

Paint = Finish | float | tuple[float, float, float]


def as_finish(paint: Paint) -> Finish:
    """A finish from a Finish, a grey reflectance or linear RGB [1]; raises AnswerError for anything else, a name among it, and outside 0 .. 1."""
    if isinstance(paint, Finish):
        return paint
    try:
        values = tuple(float(x) for x in (paint if isinstance(paint, tuple | list) else (paint,) * 3))
    except (TypeError, ValueError):
        raise AnswerError(
            f"{show(paint)} is no reflectance; allowed 0 to 1, one number or three, or what finish(NAME) gives"
        ) from None
    if len(values) != 3 or not all(0.0 <= x <= 1.0 for x in values):
        raise AnswerError(f"reflectance {paint} is not allowed; allowed 0 to 1, one number or three")
    name = f"reflectance {values[0]:g}" if len(set(values)) == 1 else f"reflectance [{', '.join(f'{x:g}' for x in values)}]"
    return Finish(name, (values[0], values[1], values[2]))


def painted(scene: Scene, paints: Mapping[str, Paint]) -> Scene:
    """A scene with other finishes on named surfaces: walls, objects, parts, "border".

    paints  by name; Finish, grey reflectance or linear RGB [1]
    raises  AnswerError for a surface the scene does not have, or a reflectance outside 0 .. 1
    """
    known = [*scene.room.finishes, BORDER]
    wrong = [name for name in paints if name not in known]
    if wrong:
        raise AnswerError(f'no surface "{wrong[0]}"; allowed: {", ".join(known)}')
    finishes = {name: as_finish(paint) for name, paint in paints.items()}
    room = scene.room.with_finishes(finishes)
    screen = replace(scene.screen, border_finish=finishes.get(BORDER, scene.screen.border_finish))
    return replace(scene, room=room, screen=screen)
