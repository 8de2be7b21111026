"""Sizes and heights of a screen as it is ordered and hung, and what its fixings carry."""

from __future__ import annotations

import math

from ...materials.dataclass import dataclass
from ...scenes.model import Scene
from ...scenes.rooms.standing import ceiling_over, ceilings_over

STANDARD_GRAVITY = 9.80665  # m/s2, 3rd CGPM 1901


@dataclass(frozen=True)
class ScreenSizes:
    """Lengths of the screen on its wall, all [m].

    white_width, white_height, white_diagonal   the visible area
    overall_width, overall_height    with the border;  case_width  the wider of the case, where stated, and the overall width
    lower_edge, upper_edge           of the white area above the floor
    drop_to_white, drop_to_lower_edge   from the ceiling over the screen's middle to the white area's upper edge, and to its lower edge
    least_drop_to_white, greatest_drop_to_white   the same from the ceiling where it is lowest and highest over screen and border
    leader                           between the upper border and what is above it, the case or the ceiling, over the screen's middle
    left_free, right_free            wall beside the widest part, as seen from the seats; None in a room that is no box
    """

    white_width: float
    white_height: float
    white_diagonal: float
    overall_width: float
    overall_height: float
    case_width: float
    lower_edge: float
    upper_edge: float
    drop_to_white: float
    drop_to_lower_edge: float
    least_drop_to_white: float
    greatest_drop_to_white: float
    leader: float
    left_free: float | None
    right_free: float | None


def screen_sizes(scene: Scene) -> ScreenSizes:
    """Sizes of a scene's screen [m]. Source: sums of the scene's lengths; a case hangs from the ceiling, less what is let into it."""
    screen, room = scene.screen, scene.room
    overall = (screen.width_m + 2 * screen.border_m, screen.height_m + 2 * screen.border_m)
    case = screen.mount
    widest = max(overall[0], case.case_width_m or 0.0) if case else overall[0]
    upper = screen.bottom_m + screen.height_m
    ceiling = ceiling_over(room, screen)
    lowest, highest = ceilings_over(room, screen)
    above = ceiling - (case.below_ceiling_m if case else 0.0)
    return ScreenSizes(
        white_width=screen.width_m,
        white_height=screen.height_m,
        white_diagonal=math.hypot(screen.width_m, screen.height_m),
        overall_width=overall[0],
        overall_height=overall[1],
        case_width=widest,
        lower_edge=screen.bottom_m,
        upper_edge=upper,
        drop_to_white=ceiling - upper,
        drop_to_lower_edge=ceiling - screen.bottom_m,
        least_drop_to_white=lowest - upper,
        greatest_drop_to_white=highest - upper,
        leader=above - upper - screen.border_m,
        left_free=None if room.shell is not None else room.width_m / 2 + screen.right_m - widest / 2,
        right_free=None if room.shell is not None else room.width_m / 2 - screen.right_m - widest / 2,
    )


@dataclass(frozen=True)
class FixingLoad:
    """What the fixings carry.

    weight_n     of the screen, at rest [N];  share_n  of one fixing where all carry alike [N], None where their number is not said
    stated_n     load of one fixing as its maker states it [N], None where it is not said
    enough       whether all stated loads together carry the weight; None where it cannot be told
    """

    weight_n: float
    share_n: float | None
    stated_n: float | None
    enough: bool | None


def fixing_load(scene: Scene) -> FixingLoad | None:
    """Loads of the screen's fixings; None where its weight is not stated. Source: weight = mass x standard gravity, at rest.

    A motor that starts, a cloth that is pulled and a loose ceiling add to it: what the maker states comes first.
    """
    mount = scene.screen.mount
    if mount is None or mount.weight_kg is None:
        return None
    weight = mount.weight_kg * STANDARD_GRAVITY
    share = weight / mount.fixings if mount.fixings else None
    stated = mount.fixing_load_n
    enough = None if stated is None or not mount.fixings else stated * mount.fixings >= weight
    return FixingLoad(weight, share, stated, enough)
