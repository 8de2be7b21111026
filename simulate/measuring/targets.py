"""Verdicts: what a seat reads in a light state against published targets; an aid to judgement, never a certificate."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Literal, NamedTuple

from ...materials.dataclass import dataclass
from ...scenes.geometry import film_area, raster
from .estimate import T_95, Estimate
from .places import EDGE_INSET

if TYPE_CHECKING:  # for the types only: verdicts need no kernels
    from ...scenes.model import Scene
    from ..eye.glare import EyeVeil
    from .measure import SeatGeometry
    from .readings import SeatReading

Result = Literal["met", "above", "undecided", "missed"]  # from best to worst, but for "above": more than asked, headroom
_WORSE: tuple[Result, ...] = ("above", "met", "undecided", "missed")
Seen = Literal["second-hand", "from memory"]
Use = Literal["theatre", "meeting room", "home", "any"]
DARK, ANY_STATE = "dark", "any"
ECHO = "the projector's own; finishes cannot change it"
ECHO_BESIDE_BARS = "the projector's own, less what comes back of the bars' black"
UPPER_BOUND = "the room's limit, an upper bound"
RATED = "rated light output, as in_use is left out: in use it may be well below"
EVEN_LIGHT = "an upper bound, as the light is taken as even over the raster (corner_to_centre = 1)"


class Reason(StrEnum):
    """Why a verdict is what it is, where the figure and the range alone do not say it."""

    NONE = "none"
    NO_FIGURE = "no-figure"
    WITHIN_ERROR = "limit-within-the-error"
    ROOM_LIMIT = "upper-bound-of-the-room"
    EVEN_LIGHT = "upper-bound-by-even-light"
    BRIGHTER = "brighter-than-asked"
    MORE_EVEN = "more-even-than-asked"
    SHADED = "middle-in-shadow"


_REASON_WORDS = {
    Reason.NONE: "",
    Reason.NO_FIGURE: "there is no such figure: no light reaches a place that it compares",
    Reason.WITHIN_ERROR: "the limit lies within the error of the figure",
    Reason.ROOM_LIMIT: f"the figure is {UPPER_BOUND}",
    Reason.EVEN_LIGHT: f"the figure is {EVEN_LIGHT}",
    Reason.BRIGHTER: "brighter than the range asks for",
    Reason.MORE_EVEN: "more even than the range asks for",
    Reason.SHADED: "the middle of the picture lies in shadow",
}

SHADED_ABOVE = 1.5  # a side this many times brighter than the middle tells of a shadow on the middle, not of evenness

_ST_431_1, _SECTION_5 = "SMPTE ST 431-1:2006", "section 5"
_RP_431_2 = "SMPTE RP 431-2:2011"
_AVIXA = "ANSI/AVIXA V201.01"
_EG_18 = "SMPTE EG 18-1994"
_CEB23 = "CEA/CEDIA-CEB23-A:2012"
_BT_2035 = "ITU-R BT.2035"
_BT_500 = "ITU-R BT.500-13"


@dataclass(frozen=True)
class Target:
    """One published demand on one figure.

    reading    which figure it judges: white, side (near the edge), sequential, checkerboard, picture_width, picture_top
    low, high  allowed range in `unit`, None where it is open
    headroom   True where more than `high` is a reserve and no fault: more light, or more even light
    inset      how far in from the side edges the figure is read, share of the picture's width [1]; None: no place of its own
    document, section   where it is published
    seen       how the figures were come by: "second-hand" = a text that quotes the standard was read, not the standard
    use        the rooms that the document speaks of
    """

    name: str
    reading: str
    low: float | None
    high: float | None
    unit: str
    document: str
    section: str = field(default="", kw_only=True)
    seen: Seen = "second-hand"
    headroom: bool = field(default=False, kw_only=True)
    inset: float | None = field(default=None, kw_only=True)
    use: Use = field(default="theatre", kw_only=True)

    @property
    def source(self) -> str:
        """The document, with the section where one is named."""
        return f"{self.document}, {self.section}" if self.section else self.document

    @property
    def place(self) -> str:
        """Where on the picture the figure is read, in words; "" where the target has no place of its own."""
        return (
            ""
            if self.inset is None
            else f"{100.0 * self.inset:g} % of the picture's width in from its side edges, at half its height"
        )


@dataclass(frozen=True)
class Verdict:
    """A target judged.

    state      light state, "dark", or "any" where light has no part in it
    got        the figure, in the target's unit: [cd/m2], [%], [:1] or [deg]
    result     "above" where `got` is surely above a range whose excess is headroom
    missed_by  how far `got` lies outside the range, in the target's unit; 0 inside and above with headroom
    why        why it is undecided, or what to know about the result
    above_by   how far `got` lies above the range as headroom, in the target's unit
    eye        what the seat's eye makes of a checkerboard; None for targets on anything else
    """

    target: Target
    state: str
    got: Estimate
    result: Result
    missed_by: float
    why: Reason = Reason.NONE
    above_by: float = 0.0
    eye: EyeVeil | None = None

    @property
    def asked_in_the_eye(self) -> float | None:
        """What the eye's own veil leaves of the least contrast asked for [:1]; None without such."""
        return None if self.eye is None or self.target.low is None else self.eye.left(self.target.low)

    @property
    def got_in_the_eye(self) -> Estimate | None:
        """What the eye's own veil leaves of the contrast at the seat [:1]; None for other figures, and where there is no contrast.

        Source: `EyeVeil.left`; errors by its slope.
        """
        value = self.got.value
        if self.eye is None or not (math.isfinite(value) and value > 0.0):
            return None
        slope = self.eye.slope(value)
        return Estimate(self.eye.left(value), self.got.standard_error * slope, self.got.bias_bound * slope)

    @property
    def reason(self) -> str:
        """`why` in words; may be empty."""
        return _REASON_WORDS[self.why]


# Source: the documents named in each line. 48.0 cd/m2 with +-3.5 (review room) and +-10.2 (theatre); side-to-centre
# 80-90 % and 75-90 %, places: see places.py; sequential contrast at least 1500 and 1200; intra-frame contrast at least 100 in both.
# Homes: a new lamp's 28 fL (95.9 cd/m2); the 100 cd/m2 of reference white at which HDTV programmes are judged; an inactive screen in
# the light of a living room at most 0.02 of peak white, which is 50 : 1 at least.
TARGETS = (
    Target("white luminance, home theatre, new lamp", "white", 95.9, None, "cd/m2", _CEB23, use="home"),
    Target("white luminance, HDTV reference white", "white", 100.0, None, "cd/m2", _BT_2035, use="home"),
    Target("white luminance, review room", "white", 44.5, 51.5, "cd/m2", _ST_431_1, section=_SECTION_5, headroom=True),
    Target("white luminance, theatre", "white", 37.8, 58.2, "cd/m2", _ST_431_1, section=_SECTION_5, headroom=True),
    Target(
        "side to centre, review room", "side", 80.0, 90.0, "%", _ST_431_1, section=_SECTION_5, headroom=True, inset=EDGE_INSET
    ),
    Target("side to centre, theatre", "side", 75.0, 90.0, "%", _ST_431_1, section=_SECTION_5, headroom=True, inset=EDGE_INSET),
    Target("white over black picture, home", "sequential", 50.0, None, ":1", _BT_500, "from memory", use="home"),
    Target("sequential contrast, review room", "sequential", 1500.0, None, ":1", _RP_431_2),
    Target("sequential contrast, theatre", "sequential", 1200.0, None, ":1", _RP_431_2),
    Target("intra-frame contrast", "checkerboard", 100.0, None, ":1", _RP_431_2),
    Target("passive viewing", "checkerboard", 7.0, None, ":1", _AVIXA, use="meeting room"),
    Target("basic decision making", "checkerboard", 15.0, None, ":1", _AVIXA, use="meeting room"),
    Target("analytical decision making", "checkerboard", 50.0, None, ":1", _AVIXA, use="meeting room"),
    Target("full-motion video", "checkerboard", 80.0, None, ":1", _AVIXA, use="meeting room"),
    Target("width of the picture", "picture_width", 30.0, None, "deg", _EG_18, use="any"),
    Target("top of the picture above the eye line", "picture_top", None, 35.0, "deg", _EG_18, "from memory", use="any"),
    Target("top of the picture, preferred", "picture_top", None, 15.0, "deg", _EG_18, use="any"),
)
CLASSES = tuple(target for target in TARGETS if target.document == _AVIXA)


def target_named(name: str) -> Target:
    """The target of a name in TARGETS; raises StopIteration for one that is none. Source: TARGETS."""
    return next(target for target in TARGETS if target.name == name)


def worst_of(results: Iterable[Result]) -> Result:
    """The worst of some results, "above" counting as the best; raises ValueError for none."""
    return max(results, key=_WORSE.index)


def judge(target: Target, state: str, got: Estimate, *, bound: Reason = Reason.NONE) -> Verdict:
    """One target against one figure.

    got      the figure in the target's unit
    bound    why the figure is only the most that can be reached; then only what lies below the range is sure
    returns  Verdict; undecided where a limit lies within Student's t x standard error + bias bound of the figure, and where
             the figure is not a number
    Source: decision with a guard band of the expanded uncertainty, the idea of JCGM 106:2012, section 8.3.
    """
    if not math.isfinite(got.value):
        return Verdict(target, state, got, "undecided", 0.0, Reason.NO_FIGURE)
    margin = T_95 * got.standard_error + got.bias_bound
    below = target.low - got.value if target.low is not None else 0.0
    above = got.value - target.high if target.high is not None else 0.0
    missed_by = max(0.0, below, above)
    ends = [end for end in (target.low, target.high, _as_uneven(target)) if end is not None]
    near = not min(abs(got.value - end) for end in ends) >= margin  # an error that is not a number decides nothing
    if bound is not Reason.NONE and (near or below <= 0.0):
        return Verdict(target, state, got, "undecided", missed_by, bound)
    if near:
        return Verdict(target, state, got, "undecided", missed_by, Reason.WITHIN_ERROR)
    if above > 0.0 and target.headroom and got.value <= (_as_uneven(target) or math.inf):
        return Verdict(target, state, got, "above", 0.0, Reason.MORE_EVEN if target.reading == "side" else Reason.BRIGHTER, above)
    why = Reason.SHADED if target.reading == "side" and got.value > 100.0 * SHADED_ABOVE else Reason.NONE
    return Verdict(target, state, got, "missed" if missed_by > 0.0 else "met", missed_by, why)


def _as_uneven(target: Target) -> float | None:
    """The share above 100 % that is as uneven as the range's low end [%]: beyond it a side is too bright, not more even.

    Source: derived; side over centre and centre over side are the same unevenness, so 75 % answers to 100 / 0.75 %.
    """
    return 1e4 / target.low if target.reading == "side" and target.low else None


def verdicts(scene: Scene, reading: SeatReading, geometry: SeatGeometry) -> tuple[Verdict, ...]:
    """All verdicts of one seat: those of the dark, of each light state, and those that light has no part in.

    reading, geometry   of the same seat; luminances [cd/m2], contrasts [1], angles [deg]
    The sequential contrast is not judged in the dark, where it merely echoes the stated native contrast; nor is the checkerboard
    there where nothing comes back from the room, see `echoes_the_lens`. Side to centre
    is judged in the dark only: the standard speaks of the picture, and even light would flatter it.
    Source: TARGETS.
    """
    bounds = {
        "checkerboard": Reason.ROOM_LIMIT if scene.projector.checkerboard_contrast is None else Reason.NONE,
        "side": Reason.EVEN_LIGHT if scene.projector.corner_to_centre == 1.0 else Reason.NONE,
    }
    sides = (_percent(reading.edge_to_centre), _percent(reading.brighter_edge_to_centre))
    dark: Figures = {"white": (reading.white["centre"],), "side": sides}
    if not echoes_the_lens(reading):
        dark["checkerboard"] = (reading.checkerboard,)
    found = list(_judged(DARK, dark, bounds, geometry.veil))
    for state in reading.states:
        lit: Figures = {"white": (state.white,), "sequential": (state.full_on_off,), "checkerboard": (state.checkerboard,)}
        found += _judged(state.name, lit, bounds, geometry.veil)
    width, top = Estimate(geometry.picture_width_deg), Estimate(geometry.picture_top_deg)
    found += _judged(ANY_STATE, {"picture_width": (width,), "picture_top": (top,)}, {})
    return tuple(found)


def echo_note(*scenes: Scene) -> str:
    """What the full on : full off is with no other light on, in words; with black bars in any of the scenes it is a little less than stated.

    Source: in both frames the bars send the lens's black, in the black frame alone it is of the film's own order; `bars_over_film`.
    """
    barred = any(film_area(scene).area_m2 < (1.0 - 1e-6) * raster(scene).area_m2 for scene in scenes)
    return ECHO_BESIDE_BARS if barred else ECHO


def echoes_the_lens(reading: SeatReading) -> bool:
    """True where nothing comes back from the room: the checkerboard in the dark is then the projector's own contrast, as stated."""
    return reading.washout.value == 0.0 and math.isfinite(reading.checkerboard.value)


Figures = dict[str, tuple[Estimate, ...]]


def _judged(state: str, figures: Figures, bounds: dict[str, Reason], eye: EyeVeil | None = None) -> Iterable[Verdict]:
    """Verdicts of one state; where several figures stand for one reading, the worst of them."""
    for target in TARGETS:
        if target.reading in figures:
            bound = bounds.get(target.reading, Reason.NONE)
            each = [judge(target, state, got, bound=bound) for got in figures[target.reading]]
            worst = max(each, key=lambda verdict: (_WORSE.index(verdict.result), verdict.missed_by))
            yield replace(worst, eye=eye) if target.reading == "checkerboard" else worst


def _percent(value: Estimate) -> Estimate:
    return Estimate(*(100.0 * part for part in value))


class ClassStanding(NamedTuple):
    """Where a seat stands in the contrast classes: the highest that it surely meets, and those that stay undecided."""

    reached: Target | None
    undecided: tuple[Target, ...]

    @property
    def below_all(self) -> bool:
        """True where even the lowest class is surely missed."""
        return self.reached is None and not self.undecided


def class_standing(found: Iterable[Verdict], state: str) -> ClassStanding | None:
    """Where a seat stands in the contrast classes of ANSI/AVIXA V201.01 in a state; None where they are not judged there.

    Source: the standard's four classes, 7, 15, 50 and 80 [:1], by the 16-zone pattern, ambient light included.
    """
    judged = [v for v in found if v.state == state and v.target in CLASSES]
    met = [v.target for v in judged if v.result == "met"]
    reached = max(met, key=lambda target: target.low or 0.0, default=None)
    return ClassStanding(reached, tuple(v.target for v in judged if v.result == "undecided")) if judged else None
