"""A length that is asked for: how far each cause lets it go, on a tape measure's steps, and what sets the ends."""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Callable, Iterable
from enum import StrEnum

import numpy as np

from ...materials.dataclass import dataclass
from .published import Published

CM, MM = 0.01, 0.001
_MOST_STEPS = 12_000  # a hall of more than 120 m is searched in coarser steps


class By(StrEnum):
    """What sets a bound; programs go by this, never by the words."""

    ZOOM = "throw-ratio"
    SHIFT = "lens-shift"
    BEAM = "beam"
    CASING = "casing"
    CASING_IN_SIGHT = "casing-in-sight"
    IN_OBJECT = "inside-object"
    SHELL = "outside-the-walls"
    PLANE = "screen-plane"
    BACK = "back-wall"
    SIDE = "side-wall"
    CEILING = "ceiling"
    FLOOR = "floor"
    WALL = "wall-beside-the-screen"
    OBJECT = "object"
    SIGHT = "sight-line"
    ANGLE = "picture-width-seen"
    TOP = "picture-top-seen"
    PIXEL = "pixel-seen"
    WHITE = "white-luminance"


class BoundRole(StrEnum):
    """How binding a bound is: it cannot be otherwise, it is asked for, or it is only what is wished."""

    MUST = "must"
    ASKED = "asked"
    AIM = "aim"


Culprits = Callable[
    [tuple[float, ...]], list[str | None]
]  # at values [m], for each: None where it fits, else the name of what or who is in the way, "" for none


@dataclass(frozen=True)
class Cause:
    """One reason why a length may not be as one likes; `culprits` judges values [m], all at once."""

    by: By
    role: BoundRole
    culprits: Culprits
    published: Published | None = None


def one_by_one(culprit: Callable[[float], str | None]) -> Culprits:
    """Judges values [m] one after the other by what judges one. Source: definition."""
    return lambda values: [culprit(value) for value in values]


def first_named(found: Iterable[tuple[str, np.ndarray]], count: int) -> list[str | None]:
    """The first of names at each of `count` values, None where there is none; of each name, where it is in the way (count,).

    Source: definition.
    """
    first = np.full(count, None, dtype=object)
    for name, met in reversed(list(found)):
        first[met] = name
    return list(first)


@dataclass(frozen=True)
class Bound:
    """How far one cause lets a length go.

    low_m, high_m    ends of the run of values that fit, the run nearest to the present one [m]; None: this cause sets no such end
    low_thing, high_thing   seat, object or surface that sets the end; "" where it needs no name
    empty            True where no value fits at all; the things are then what is in the way nearest to the present value
    things           where empty, all that is in the way of some value, what is nearest to the present one first; else none
    fits_now         True where the present value fits
    published        the demand, where one is published or was asked for
    """

    by: By
    role: BoundRole
    low_m: float | None
    high_m: float | None
    low_thing: str = ""
    high_thing: str = ""
    empty: bool = False
    fits_now: bool = True
    published: Published | None = None
    things: tuple[str, ...] = ()


@dataclass(frozen=True)
class Range:
    """A length of the scene, all else as it is: its bounds, and what serves all that must be and all that is asked for.

    key, axis        as in `Remedy`;  now_m the present value [m]
    low_m, high_m    ends of the run that serves, nearest to the present value [m]; both None where nothing serves
    low_by, high_by  the bounds that set them; None where only the search ends there
    nearest_m        the nearest value that serves [m], the present one where it does; None where nothing serves
    step_m           what the values are rounded to [m]
    """

    key: str
    axis: str
    now_m: float
    bounds: tuple[Bound, ...]
    low_m: float | None
    high_m: float | None
    low_by: Bound | None
    high_by: Bound | None
    nearest_m: float | None
    step_m: float

    @property
    def fits_now(self) -> bool:
        """True where the present value keeps all that must be and all that is asked for."""
        return all(bound.fits_now for bound in self.bounds if bound.role is not BoundRole.AIM)


def range_of(
    key: str, axis: str, now_m: float, causes: Iterable[Cause], search_m: tuple[float, float], step_m: float = CM
) -> Range:
    """The range of a length: every multiple of the step between the search's ends, and the present value, is judged by every cause.

    search_m  least and greatest value that is looked at [m];  step_m  [m]
    One step further at either end is judged too, to tell what refuses it there; it never serves.
    Source: exhaustive on the steps of a tape measure, so that each number told does when it is followed, whatever shape the cause has.
    """
    step = max(step_m, math.ceil((search_m[1] - search_m[0]) / _MOST_STEPS / step_m) * step_m)
    first, last = math.ceil(search_m[0] / step - 1e-9), math.floor(search_m[1] / step + 1e-9)
    values = [round(count * step, 6) for count in range(first - 1, last + 2)]
    if search_m[0] <= now_m <= search_m[1] and not any(abs(value - now_m) < 1e-6 for value in values):
        insort(values, now_m)  # between two steps the present value may be all that serves
    causes = list(causes)
    judged, present = [], []
    for cause in causes:
        *said, now = cause.culprits((*values, now_m))
        judged.append(said)
        present.append(now is None)
    bounds = tuple(_bound(*each, values, now_m) for each in zip(causes, judged, present, strict=True))
    binding = [said for cause, said in zip(causes, judged, strict=True) if cause.role is not BoundRole.AIM]
    run = _run(values, [all(said[i] is None for said in binding) for i in range(len(values))], now_m)
    if run is None:
        return Range(key, axis, now_m, bounds, None, None, None, None, None, step)
    low, high = run
    ends = [_setter(causes, judged, bounds, at) for at in (low - 1, high + 1)]
    fits = all(fits_now for cause, fits_now in zip(causes, present, strict=True) if cause.role is not BoundRole.AIM)
    nearest = now_m if fits else min(max(now_m, values[low]), values[high])
    if not fits and values[low] < nearest < values[high]:  # between two steps, one of which does
        nearest = min(values[low : high + 1], key=lambda value: abs(value - now_m))
    return Range(key, axis, now_m, bounds, values[low], values[high], ends[0], ends[1], nearest, step)


def _bound(cause: Cause, said: list[str | None], fits_now: bool, values: list[float], now_m: float) -> Bound:
    run = _run(values, [each is None for each in said], now_m)
    if run is None:
        order = sorted(_inside(values), key=lambda i: abs(values[i] - now_m))
        things = tuple(dict.fromkeys(said[i] or "" for i in order)) or ("",)
        return Bound(cause.by, cause.role, None, None, things[0], things[0], True, fits_now, cause.published, things)
    low, high = run
    below, above = said[low - 1], said[high + 1]
    return Bound(
        cause.by,
        cause.role,
        None if below is None else values[low],
        None if above is None else values[high],
        below or "",
        above or "",
        False,
        fits_now,
        cause.published,
    )


def _run(values: list[float], fits: list[bool], near_m: float) -> tuple[int, int] | None:
    """First and last place of the run of values that fit, the run nearest to a value [m]; None where none fits.

    The first and the last value are one step beyond the search and in no run.
    """
    good = [i for i in _inside(values) if fits[i]]
    if not good:
        return None
    start = min(good, key=lambda i: abs(values[i] - near_m))
    low = high = start
    while low > 1 and fits[low - 1]:
        low -= 1
    while high < len(values) - 2 and fits[high + 1]:
        high += 1
    return low, high


def _inside(values: list[float]) -> range:
    return range(1, len(values) - 1)


def _setter(causes: list[Cause], judged: list[list[str | None]], bounds: tuple[Bound, ...], at: int) -> Bound | None:
    """The bound that refuses the value at a place: what must be before what is asked for."""
    refusing = [i for i, cause in enumerate(causes) if cause.role is not BoundRole.AIM and judged[i][at] is not None]
    return bounds[min(refusing, key=lambda i: causes[i].role is not BoundRole.MUST)] if refusing else None
