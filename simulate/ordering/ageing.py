"""How long the light lasts: hours until the dimmest seat's white falls to a published minimum, and when to judge the folds again."""

from __future__ import annotations

import math
from enum import StrEnum

from ...materials.dataclass import dataclass
from ...materials.hangs import Hang
from ...scenes.model import Scene
from ..placing.published import WHITES, Published, asked_white
from ..placing.seen import direct_white_cd_m2

WEEKS_A_YEAR = 365.25 / 7.0


@dataclass(frozen=True)
class Lasts:
    """Until when a minimum is kept.

    asked   the minimum [cd/m2], with its source
    hours   from now until the white falls to it [h]; 0 where it is below it already
    years   the same at the hours of use a week; None where these are not stated
    """

    asked: Published
    hours: float
    years: float | None


@dataclass(frozen=True)
class LightAges:
    """The decline of the light.

    half_light_h, run_h   as the scene states them [h]
    seat, white_cd_m2     the dimmest seat and its white now, of the projector's own light alone [cd/m2]
    left                  share of the light of a new projector that is there now [1]
    lasts                 one for each minimum, the least first
    """

    half_light_h: float
    run_h: float
    seat: str
    white_cd_m2: float
    left: float
    lasts: tuple[Lasts, ...]


def light_left(hours: float, half_light_h: float) -> float:
    """Share of the light that is left after some hours [h] [1].

    raises  ValueError where half_light_h is not above 0
    Source: exponential decline to one half at half_light_h; a model: real sources fall faster at first.
    """
    if not half_light_h > 0.0:
        raise ValueError(f"half_light_h = {half_light_h:g} is no time; allowed above 0")
    return math.exp(-math.log(2.0) * hours / half_light_h)


def hours_until(now: float, least: float, half_light_h: float) -> float:
    """Hours until a light falls from one value to another, same unit; 0 where it is there already [h]. Source: `light_left`, turned round."""
    if now <= least:
        return 0.0
    return half_light_h * math.log2(now / least)


def light_ages(scene: Scene, white_cd_m2: float | None = None) -> LightAges | None:
    """How a scene's light ages; None where it states no decline.

    white_cd_m2  a minimum of the user's own beside the published ones [cd/m2]
    Source: `hours_until`; white of the projector's own light, so what the room sends back is a reserve.
    """
    ageing = scene.projector.ageing
    if ageing is None:
        return None
    white, seat = min(zip(direct_white_cd_m2(scene, scene.seats), (seat.name for seat in scene.seats), strict=True))
    asked = sorted((*WHITES, *(() if white_cd_m2 is None else (asked_white(white_cd_m2),))), key=lambda each: each.value)
    lasts = []
    for each in asked:
        hours = hours_until(white, each.value, ageing.half_light_h)
        years = None if ageing.week_h is None else hours / (ageing.week_h * WEEKS_A_YEAR)
        lasts.append(Lasts(each, hours, years))
    left = light_left(ageing.run_h, ageing.half_light_h)
    return LightAges(ageing.half_light_h, ageing.run_h, seat, white, left, tuple(lasts))


class FoldCheck(StrEnum):
    """When to judge the folds of a cloth again; common practice, no source."""

    AFTER_DAYS = "after-it-has-hung-some-days"
    RETENSION = "after-each-retensioning"
    EACH_YEAR = "each-year"
    MOVED = "whenever-case-or-ceiling-was-moved"
    FRAME = "after-mounting-the-frame"


def fold_checks(scene: Scene) -> tuple[FoldCheck, ...]:
    """When to judge the folds of a scene's screen again. Source: common practice, no source."""
    hang = scene.screen.hang
    if hang is Hang.FIXED_FRAME:
        return (FoldCheck.FRAME, FoldCheck.RETENSION)
    tensioned = (FoldCheck.RETENSION,) if hang is Hang.TAB_TENSIONED else ()
    return (FoldCheck.AFTER_DAYS, *tensioned, FoldCheck.EACH_YEAR, FoldCheck.MOVED)
