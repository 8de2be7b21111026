"""--tolerances and --tolerance: how far what a scene states may be off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from .options import Names, repeated

if TYPE_CHECKING:
    from ...scenes.model import Scene
    from ..choices.wishes import Wishes
    from ..studies.tolerances.sureness import Sureness
    from ..studies.tolerances.uncertain import Group, Limits

Tolerances = Annotated[
    bool,
    typer.Option(
        "--tolerances", help="How sure that is: paint ±0.05, gain ±10 %, lumens -30 to 0 %, contrast ±10 %, room ±5 cm."
    ),
]
ToleranceOf = Annotated[
    Names, repeated("--tolerance", "NAME=AMOUNT", "Another tolerance: paint, gain, lumens, contrast or room; 0 for known.")
]


def limits_asked(scene: Scene, asked: bool, given: Names) -> Mapping[Group, Limits] | None:
    """The tolerances where they were asked for, by either option.

    raises  SceneErrors for tolerances that are none, and for a scene that kept paths do not answer for: before anything is measured
    """
    if not asked and not given:
        return None
    from ..answers.through_cloth import refuse_light_through
    from ..studies.tolerances.uncertain import limits_given

    refuse_light_through(scene)
    return limits_given(given or ())


def sureness_of(
    scene: Scene,
    limits: Mapping[Group, Limits] | None,
    *,
    error: float,
    seed: int,
    threads: int | None,
    wishes: Wishes | None = None,
    names: Sequence[str] = (),
) -> Sureness | None:
    """How sure a scene's figures and its best fabric are; None where no tolerances were asked for."""
    if limits is None:
        return None
    from ..light.workers import default_threads
    from ..studies.tolerances.sureness import sureness
    from .background import interruptible
    from .progress import stages

    many = threads or default_threads()
    with stages(scene.title) as tell:
        tell("how sure it is, within the tolerances")
        return interruptible(
            lambda: sureness(scene, limits=limits, error=error, seed=seed, threads=many, wishes=wishes, names=names)
        )
