"""Words for what sets a bound; decisions go by the data they are made from."""

from __future__ import annotations

from collections.abc import Sequence

from ....scenes.inches import inches, length_words, told_in_inches
from ....scenes.model import Scene
from ....scenes.remedy import length_text
from ...placing.bounds import Bound, BoundRole, By, Range
from ...placing.placement import LensAnswer, Placement
from ...placing.published import Published

CAUSE = {
    By.ZOOM: "the zoom",
    By.SHIFT: "the lens shift",
    By.PLANE: "the screen's plane",
    By.BACK: "the back wall",
    By.SIDE: "the side wall",
    By.CEILING: "the ceiling",
    By.FLOOR: "the floor",
    By.WALL: "the wall's width",
    By.CASING: "room for the casing",
    By.CASING_IN_SIGHT: "the casing in the sight of {}",
    By.BEAM: "{} in the beam",
    By.IN_OBJECT: "{}",
    By.SHELL: "walls or ceiling",
    By.OBJECT: "{}",
    By.SIGHT: "{} before the picture",
    By.ANGLE: "the picture's width from {}",
    By.TOP: "the picture's top from {}",
    By.PIXEL: "a pixel's width from {}",
    By.WHITE: "white at {}",
}
_OBJECTS = (By.IN_OBJECT, By.OBJECT)
_HEADS = (By.BEAM, By.SIGHT, By.CASING)  # what stands in the way there may be somebody's head
ROLE = {BoundRole.MUST: "must", BoundRole.ASKED: "asked", BoundRole.AIM: "wish"}
_AXIS = ("sideways", "out from the wall", "up")
LENGTH = {
    "right": "right of the wall's middle",
    "out": "out from the screen wall",
    "up": "up from the floor",
    "screen.width_m": "width of the white area",
    "screen.bottom_m": "lower edge of the white area",
    "riser": "lift of the eyes",
}
NOTE = (
    "Each length with all others as the scene has them, in steps that a tape measure has, rounded to the side that fits. "
    '"must" cannot be otherwise, "asked" is published or was asked for, "wish" is better still and does not count for what serves.'
)
LIGHT_NOTE = (
    "White here is the projector's own light on flat cloth with nothing before it: what the room sends back comes on top."
)


def cause_words(bound: Bound, thing: str, scene: Scene) -> str:
    """What sets an end of a bound, with the thing or seat that does."""
    if bound.by is By.CASING and thing:
        return f"the casing at {_thing(thing, scene, bound.by)}"
    return CAUSE[bound.by].format(_thing(thing, scene, bound.by))


def _thing(thing: str, scene: Scene, by: By) -> str:
    heads = by in _HEADS and any(seat.name == thing for seat in scene.seats)
    return f'the head of "{thing}"' if heads else f'"{thing}"' if thing else "an object" if by in _OBJECTS else "something"


def demand_words(published: Published | None) -> str:
    """The demand with its source: "30 deg, SMPTE EG 18-1994"; "" for none."""
    if published is None:
        return ""
    unit = "'" if published.unit == "arcmin" else f" {published.unit}"
    source = published.source if published.seen != "from memory" else f"{published.source}, from memory"
    return f"{published.value:g}{unit}, {source}"


def ends_words(found: Range, scene: Scene) -> str:
    """What sets both ends of what serves: "the zoom; the ceiling", one where they are alike."""
    words = []
    for bound, low in ((found.low_by, True), (found.high_by, False)):
        untried = f"no {'less' if low else 'more'} was tried"
        words.append(untried if bound is None else cause_words(bound, bound.low_thing if low else bound.high_thing, scene))
    return words[0] if words[0] == words[1] else "; ".join(words)


def span(low: float | None, high: float | None) -> str:
    """Two ends [m] in words."""
    first, second = (
        "-" if each is None else length_text(each) if each >= 0 else f"-{length_text(-each)}" for each in (low, high)
    )
    if low is None and high is None:
        return "any"
    if low is None:
        return f"at most {second} m"
    return f"at least {first} m" if high is None else f"{first} to {second} m"


def range_words(found: Range, scene: Scene) -> str:
    """What serves, what sets it, and what to do where the present value does not serve."""
    if found.low_m is None:
        return f"nothing serves: {clash_words(found, scene)}"
    low, high = found.low_m, found.high_m
    said = span(low, high)
    if told_in_inches(scene):
        said += f" = {_ends_in_inches(low, high)}"
    said += f" ({ends_words(found, scene)})"
    if found.fits_now or found.nearest_m is None:
        return said
    nearest = length_words(found.nearest_m, scene, 1 if found.nearest_m > found.now_m else -1)
    return f"{said}; now {length_words(found.now_m, scene)}, the nearest that serves is {nearest}"


def _ends_in_inches(low: float, high: float | None) -> str:
    if high is None:
        return f"at least {inches(low, 1)} in"
    return f"{inches(low, 1)} to {inches(high, -1)} in"


def clash_words(found: Range, scene: Scene) -> str:
    """Why no value serves: the cause that nothing meets, or all that stand against each other."""
    binding = [bound for bound in found.bounds if bound.role is not BoundRole.AIM]
    alone = [cause_words(bound, thing, scene) for bound in binding if bound.empty for thing in bound.things]
    if alone:
        return f"no value meets {_joined(alone)}"
    low = [bound for bound in binding if bound.low_m is not None]
    high = [bound for bound in binding if bound.high_m is not None]
    words = []
    if low:
        most = max(low, key=lambda bound: bound.low_m or 0.0)
        words.append(f"{cause_words(most, most.low_thing, scene)} asks for at least {length_words(most.low_m or 0.0, scene, 1)}")
    if high:
        least = min(high, key=lambda bound: bound.high_m or 0.0)
        words.append(f"{cause_words(least, least.high_thing, scene)} for at most {length_words(least.high_m or 0.0, scene, -1)}")
    return _joined(words)


def named_ranges(found: Placement) -> list[tuple[str, Range]]:
    """Every range with its title, in the order they are told."""
    named = [(f"Lens {LENGTH[each.axis]}", each) for each in found.lens.ranges]
    named += [("Width of the white area", found.width), ("Width, the lens anywhere", found.width_lens_free)]
    named += [("Lower edge of the white area", found.bottom), ("Lower edge, the lens anywhere", found.bottom_lens_free)]
    return [*named, *((f"Lift of {', '.join(row.seats)}", row.lift) for row in found.rows)]


def lens_words(answer: LensAnswer, scene: Scene) -> str:
    """Whether the lens may stand where it is, and where else it may."""
    if answer.fits_here:
        return f"the lens fits where it stands ({place_words(answer.here, scene)})"
    if answer.nearest is not None:
        here, there = place_words(answer.here, scene), place_words(answer.nearest, scene, answer.here)
        return f"the lens does not fit where it stands ({here}); the nearest place that was found is {there}"
    if answer.conflict is not None:
        more, less, axis = answer.conflict
        if more is less:
            return f"there is no place for the lens {_AXIS[axis]}: {CAUSE[more]} leaves none"
        return f"there is no place for the lens {_AXIS[axis]}: {CAUSE[more]} asks for more than {CAUSE[less]} allows"
    return "no place for the lens was found: something stands in the way of each that was tried"


def place_words(place: Sequence[float], scene: Scene, before: Sequence[float] | None = None) -> str:
    """A place in three tape measures [m]; before: where it moves from, beyond which its inches are rounded."""
    ways = [0, 0, 0] if before is None else [(b > a) - (b < a) for a, b in zip(before, place, strict=True)]
    ways[0] *= -1 if place[0] < 0.0 else 1  # told without its sign
    right, out, up = (length_words(abs(each), scene, way) for each, way in zip(place, ways, strict=True))
    return f"{right} {'sideways' if place[0] == 0.0 else 'right' if place[0] > 0.0 else 'left'}, {out} out, {up} up"


def _joined(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else "nothing is known"
