"""Verdicts: what a seat reads in a light state against published targets; an aid to judgement, never a certificate."""
from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from .estimate import T_95, Estimate

if TYPE_CHECKING:  # for the types only: verdicts need no kernels
    from ..scenes.model import Scene
    from .measure import SeatGeometry
    from .readings import SeatReading

Result = Literal["met", "missed", "undecided"]
Seen = Literal["second-hand", "from memory"]
DARK, ANY_STATE = "dark", "any"
ECHO = "the projector's own; finishes cannot change it"
UPPER_BOUND = "the room's limit, an upper bound"
RATED = "rated light output, as in_use is left out: in use it may be well below"
EVEN_LIGHT = "an upper bound, as the light is taken as even over the raster (corner_to_centre = 1)"
NO_FIGURE = "there is no such figure: no light reaches a place that it compares"
SHADED = "the middle of the picture lies in shadow"
SHADED_ABOVE = 1.5  # a side this many times brighter than the middle tells of a shadow on the middle, not of evenness

_ST_431_1 = "SMPTE ST 431-1:2006, section 5"
_RP_431_2 = "SMPTE RP 431-2:2011"
_AVIXA = "ANSI/AVIXA V201.01"
_EG_18 = "SMPTE EG 18-1994"


@dataclass(frozen=True)
class Target:
    """One published demand on one figure.

    reading    which figure it judges: white, side, sequential, checkerboard, picture_width, picture_top
    low, high  allowed range in `unit`, None where it is open
    seen       how the figures were come by: "second-hand" = a text that quotes the standard was read, not the standard
    """

    name: str
    reading: str
    low: float | None
    high: float | None
    unit: str
    source: str
    seen: Seen = "second-hand"


@dataclass(frozen=True)
class Verdict:
    """A target judged.

    state      light state, "dark", or "any" where light has no part in it
    got        the figure, in the target's unit: [cd/m2], [%], [:1] or [deg]
    missed_by  how far `got` lies outside the range, in the target's unit; 0 inside
    reason     why it is undecided, or what to know about the result; may be empty
    """

    target: Target
    state: str
    got: Estimate
    result: Result
    missed_by: float
    reason: str = ""


# Source: the documents named in each line. 48.0 cd/m2 with +-3.5 (review room) and +-10.2 (theatre); side-to-centre
# 80-90 % and 75-90 %; sequential contrast at least 1500 and 1200; intra-frame contrast at least 100 in both.
TARGETS = (
    Target("white luminance, review room", "white", 44.5, 51.5, "cd/m2", _ST_431_1),
    Target("white luminance, theatre", "white", 37.8, 58.2, "cd/m2", _ST_431_1),
    Target("side to centre, review room", "side", 80.0, 90.0, "%", _ST_431_1),
    Target("side to centre, theatre", "side", 75.0, 90.0, "%", _ST_431_1),
    Target("sequential contrast, review room", "sequential", 1500.0, None, ":1", _RP_431_2),
    Target("sequential contrast, theatre", "sequential", 1200.0, None, ":1", _RP_431_2),
    Target("intra-frame contrast", "checkerboard", 100.0, None, ":1", _RP_431_2),
    Target("passive viewing", "checkerboard", 7.0, None, ":1", _AVIXA),
    Target("basic decision making", "checkerboard", 15.0, None, ":1", _AVIXA),
    Target("analytical decision making", "checkerboard", 50.0, None, ":1", _AVIXA),
    Target("full-motion video", "checkerboard", 80.0, None, ":1", _AVIXA),
    Target("width of the picture", "picture_width", 30.0, None, "deg", _EG_18),
    Target("top of the picture above the eye line", "picture_top", None, 35.0, "deg", _EG_18, "from memory"),
    Target("top of the picture, preferred", "picture_top", None, 15.0, "deg", _EG_18),
)
CLASSES = tuple(target for target in TARGETS if target.source == _AVIXA)


def target_named(name: str) -> Target:
    """The target of a name in TARGETS; raises StopIteration for one that is none. Source: TARGETS."""
    return next(target for target in TARGETS if target.name == name)


def judge(target: Target, state: str, got: Estimate, *, bound: str = "") -> Verdict:
    """One target against one figure.

    got      the figure in the target's unit
    bound    why the figure is only the most that can be reached, in words; then only what lies below the range is sure
    returns  Verdict; undecided where a limit lies within Student's t x standard error + bias bound of the figure, and where
             the figure is not a number
    Source: decision with a guard band of the expanded uncertainty, the idea of JCGM 106:2012, section 8.3.
    """
    if not math.isfinite(got.value):
        return Verdict(target, state, got, "undecided", 0.0, NO_FIGURE)
    margin = T_95 * got.standard_error + got.bias_bound
    ends = [end for end in (target.low, target.high) if end is not None]
    below = target.low - got.value if target.low is not None else 0.0
    above = got.value - target.high if target.high is not None else 0.0
    missed_by = max(0.0, below, above)
    near = not min(abs(got.value - end) for end in ends) >= margin  # an error that is not a number decides nothing
    if bound and (near or below <= 0.0):
        return Verdict(target, state, got, "undecided", missed_by, f"the figure is {bound}")
    if near:
        return Verdict(target, state, got, "undecided", missed_by, "the limit lies within the error of the figure")
    reason = "brighter or more even than the range asks for" if above > 0.0 and target.low is not None else ""
    if target.reading == "side" and got.value > 100.0 * SHADED_ABOVE:
        reason = SHADED
    return Verdict(target, state, got, "missed" if missed_by > 0.0 else "met", missed_by, reason)


def verdicts(scene: Scene, reading: SeatReading, geometry: SeatGeometry) -> tuple[Verdict, ...]:
    """All verdicts of one seat: those of the dark, of each light state, and those that light has no part in.

    reading, geometry   of the same seat; luminances [cd/m2], contrasts [1], angles [deg]
    The sequential contrast is not judged in the dark, where it merely echoes the stated native contrast; nor is the checkerboard
    there where nothing comes back from the room, see `echoes_the_lens`. Side to centre
    is judged in the dark only: the standard speaks of the picture, and even light would flatter it.
    Source: TARGETS.
    """
    bounds = {
        "checkerboard": UPPER_BOUND if scene.projector.checkerboard_contrast is None else "",
        "side": EVEN_LIGHT if scene.projector.corner_to_centre == 1.0 else "",
    }
    sides = (_percent(reading.side_to_centre), _percent(reading.brighter_side_to_centre))
    dark: Figures = {"white": (reading.white["centre"],), "side": sides}
    if not echoes_the_lens(reading):
        dark["checkerboard"] = (reading.checkerboard,)
    found = list(_judged(DARK, dark, bounds))
    for state in reading.states:
        lit: Figures = {
            "white": (state.white,),
            "sequential": (state.full_on_off,),
            "checkerboard": (state.checkerboard,),
        }
        found += _judged(state.name, lit, bounds)
    width, top = Estimate(geometry.picture_width_deg), Estimate(geometry.picture_top_deg)
    found += _judged(ANY_STATE, {"picture_width": (width,), "picture_top": (top,)}, {})
    return tuple(found)


def echoes_the_lens(reading: SeatReading) -> bool:
    """True where nothing comes back from the room: the checkerboard in the dark is then the projector's own contrast, as stated."""
    return reading.washout.value == 0.0 and math.isfinite(reading.checkerboard.value)


Figures = dict[str, tuple[Estimate, ...]]
_WORSE: tuple[Result, ...] = ("met", "undecided", "missed")


def _judged(state: str, figures: Figures, bounds: dict[str, str]) -> Iterable[Verdict]:
    """Verdicts of one state; where several figures stand for one reading, the worst of them."""
    for target in TARGETS:
        if target.reading in figures:
            bound = bounds.get(target.reading, "")
            each = [judge(target, state, got, bound=bound) for got in figures[target.reading]]
            yield max(each, key=lambda verdict: (_WORSE.index(verdict.result), verdict.missed_by))


def _percent(value: Estimate) -> Estimate:
    return Estimate(*(100.0 * part for part in value))


def class_reached(found: Iterable[Verdict], state: str) -> Target | None:
    """The highest contrast class of ANSI/AVIXA V201.01 that a seat surely meets in a state; None below the lowest.

    Source: the standard's four classes, 7, 15, 50 and 80 [:1], by the 16-zone pattern, ambient light included.
    """
    met = [v.target for v in found if v.state == state and v.target in CLASSES and v.result == "met"]
    return max(met, key=lambda target: target.low or 0.0, default=None)
