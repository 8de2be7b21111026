"""Throw: distance, ratio, the lens shift a picture needs, the tilt that is left, and what that tilt would cost."""

from __future__ import annotations

import math
from typing import NamedTuple

from ..materials.dataclass import dataclass
from .geometry import HasScreen, corners, on_screen_plane, raster, throw_width_m
from .model import Place
from .remedy import LENS, WALL, Remedy, length_text, outward, outward_words, rounded_within
from .solids import cross, dot, sub

_UPRIGHT: Place = (0.0, 0.0, 1.0)
ULTRA_SHORT = 0.4  # throw ratio below which the trade speaks of ultra-short throw (common practice, no source)
STATED_TO = 0.005  # [1]; ratios and shifts are stated to two decimals (common practice, no source): less beyond them is no misfit


class ThrowLine(NamedTuple):
    """One thing to say of the throw: what it is about ("" where the words say it), and the words."""

    topic: str
    words: str

    def __str__(self) -> str:
        return f"{self.topic}: {self.words}" if self.topic else self.words


@dataclass(frozen=True)
class Throw:
    """How the projector stands to its picture.

    distance_m       lens to the screen's plane, along the plane's normal [m]
    ratio            distance_m / raster width [1]
    shift_right      raster's middle right of the lens, in raster widths [1]; + = the picture lies right of the lens
    shift_up         raster's middle above the lens, in raster heights [1]; + = the picture lies above the lens
    image_tilt_deg   angle between the way to the raster's middle and the nearest way that lens shift reaches while the
                     projector stands square to the screen [deg]; lens_shift left out: as without any shift
    keystone_loss    estimated share of pixels, and so of lumens, that digital keystone correction would leave dark [1]
    feasible         True, False, or None where the scene does not say enough
    remedies         places of the lens that make it feasible, all of them together; none where it is, or nothing is known
    said             the same in words, the distance and ratio first, what fits or not last
    """

    distance_m: float
    ratio: float
    shift_right: float
    shift_up: float
    image_tilt_deg: float
    keystone_loss: float
    feasible: bool | None
    remedies: tuple[Remedy, ...]
    said: tuple[ThrowLine, ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """All that is said, each with its topic."""
        return tuple(str(line) for line in self.said)


def throw(scene: HasScreen) -> Throw:
    """The throw of a scene (only its screen and projector are read); units at `Throw`: [m], [1], [deg].

    Source: throw ratio = distance / picture width and lens shift in picture widths and heights are common practice, no
    source; the tilt is plane geometry, derived here.
    """
    projector, area = scene.projector, raster(scene)
    middle, lens = on_screen_plane(scene, 0.0, 0.0), projector.lens_m
    distance = lens[1] - middle[1]
    ratio = distance / throw_width_m(scene)
    right, up = (middle[0] - lens[0]) / area.width_m, (middle[2] - lens[2]) / area.height_m
    reach = projector.lens_shift or (0.0, 0.0)
    beyond = (_beyond(right, reach[0]), _beyond(up, reach[1]))
    axis = _axis(distance, (area.width_m, area.height_m), (right, up), beyond)
    way = sub(middle, lens)
    tilt = 0.0 if beyond == (0.0, 0.0) else math.degrees(math.atan2(math.hypot(*cross(way, axis)), dot(way, axis)))
    loss = _keystone_loss(scene, axis) if tilt else 0.0
    feasible = _feasible(scene, ratio, beyond)
    remedies = (*_into_zoom(scene, ratio), *_into_shift(scene, beyond, ratio < ULTRA_SHORT))
    said = (
        *_ratio_lines(scene, distance, ratio, remedies),
        *_shift_lines(scene, (right, up), beyond, remedies),
        *_tilt_lines(scene, tilt, loss),
    )
    if feasible is not None:
        word = "feasible" if feasible else "not feasible"
        said += (ThrowLine("", f"{word} with the throw ratio and lens shift given"),)
    return Throw(distance, ratio, right, up, tilt, loss, feasible, remedies, said)


def _beyond(needed: float, reach: float) -> float:
    """The part of a shift that the lens does not reach, with its sign; 0 where it is within what shifts are stated to."""
    rest = abs(needed) - reach
    return math.copysign(rest, needed) if rest > STATED_TO else 0.0


def _axis(distance: float, size: tuple[float, float], shift: tuple[float, float], beyond: tuple[float, float]) -> Place:
    """The nearest way to the raster's middle that a projector square to the screen reaches by shift."""
    return ((shift[0] - beyond[0]) * size[0], -distance, (shift[1] - beyond[1]) * size[1])


def _keystone_loss(scene: HasScreen, axis: Place) -> float:
    """Estimated share of the pixels outside the wanted picture when the projector is turned by the tilt.

    Turning it brings `axis` onto the way to the middle. In the plane across the turned optical axis the wanted
    rectangle is then a quadrilateral, which the projector's raster has to enclose; it is taken to do so as tightly as
    its shape allows.  Source: central projection, derived here; an estimate, as zooms and correction software differ.
    """
    lens, area = scene.projector.lens_m, raster(scene)
    way = sub(on_screen_plane(scene, 0.0, 0.0), lens)
    turn = _rotation(axis, way)
    ahead, level = _turned(turn, (0.0, -1.0, 0.0)), _turned(turn, (1.0, 0.0, 0.0))
    upward = _turned(turn, _UPRIGHT)
    quad = []
    for corner in corners(scene, area):
        ray = sub(corner, lens)
        depth = dot(ray, ahead)
        if depth <= 1e-9:  # the corner lies behind the turned lens: no correction shows it
            return 1.0
        quad.append((dot(ray, level) / depth, dot(ray, upward) / depth))
    across = max(u for u, _ in quad) - min(u for u, _ in quad)
    height = max(v for _, v in quad) - min(v for _, v in quad)
    shape = area.width_m / area.height_m
    whole = max(across, shape * height) ** 2 / shape
    return max(0.0, 1.0 - _shoelace(quad) / whole)


def _shoelace(points: list[tuple[float, float]]) -> float:
    pairs = zip(points, points[1:] + points[:1], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def _rotation(start: Place, end: Place) -> tuple[Place, float, float]:
    """The shortest turn from one direction to another: unit axis, cosine, sine."""
    across = cross(start, end)
    sine, cosine = math.sqrt(dot(across, across)), dot(start, end)
    size = math.hypot(sine, cosine)
    unit = (across[0] / sine, across[1] / sine, across[2] / sine) if sine > 0 else _UPRIGHT
    return unit, cosine / size, sine / size


def _turned(turn: tuple[Place, float, float], v: Place) -> Place:
    """A vector turned about an axis (Rodrigues' formula)."""
    unit, cosine, sine = turn
    side, along = cross(unit, v), dot(unit, v) * (1 - cosine)
    return (
        v[0] * cosine + side[0] * sine + unit[0] * along,
        v[1] * cosine + side[1] * sine + unit[1] * along,
        v[2] * cosine + side[2] * sine + unit[2] * along,
    )


def _in_zoom(zoom: tuple[float, float], ratio: float) -> bool:
    return zoom[0] - STATED_TO <= ratio <= zoom[1] + STATED_TO


def _feasible(scene: HasScreen, ratio: float, beyond: tuple[float, float]) -> bool | None:
    zoom, shift = scene.projector.throw_ratio, scene.projector.lens_shift
    zoom_fits = None if zoom is None else _in_zoom(zoom, ratio)
    shift_fits = None if shift is None else beyond == (0.0, 0.0)
    if zoom_fits is False or shift_fits is False:
        return False
    return True if zoom_fits and shift_fits else None


def zoom_limits_m(scene: HasScreen) -> tuple[float, float] | None:
    """Least and greatest distance of the lens from the wall that the zoom covers [m]; None where no throw ratio is stated.

    Source: throw ratio = distance / picture width, common practice, no source.
    """
    zoom = scene.projector.throw_ratio
    if zoom is None:
        return None
    width, gap = throw_width_m(scene), scene.screen.gap_to_wall_m
    slack = 0.9 * STATED_TO if zoom[1] - zoom[0] < STATED_TO else 0.0  # a fixed lens covers no range: within what it is stated to
    return (zoom[0] - slack) * width + gap, (zoom[1] + slack) * width + gap


def shift_limits_m(scene: HasScreen, axis: int) -> tuple[float, float] | None:
    """Between which two places [m] the lens shift lets the lens stand sideways (axis 0) or in height (2); None where none is stated.

    Source: shift in picture widths and heights, common practice, no source.
    """
    if scene.projector.lens_shift is None:
        return None
    area, reach = raster(scene), scene.projector.lens_shift[axis // 2]
    middle = on_screen_plane(scene, 0.0, 0.0)[axis]
    slack = 0.9 * STATED_TO if reach < STATED_TO else 0.0  # without shift: within what it is stated to
    far = (reach + slack) * (area.width_m, area.height_m)[axis // 2]
    return middle - far, middle + far


def _into_zoom(scene: HasScreen, ratio: float) -> tuple[Remedy, ...]:
    """The nearest distance from the wall that the zoom covers."""
    zoom, limits = scene.projector.throw_ratio, zoom_limits_m(scene)
    if zoom is None or limits is None or _in_zoom(zoom, ratio):
        return ()
    width, gap = throw_width_m(scene), scene.screen.gap_to_wall_m
    low, high = limits
    wanted = max(zoom[0] * width + gap, min(zoom[1] * width + gap, scene.projector.lens_m[1]))
    casing = scene.projector.casing
    key, inside = (WALL, casing.lens_m[1]) if casing is not None and casing.by_wall else (LENS, 0.0)
    above, fine = ratio < zoom[0], zoom[0] < ULTRA_SHORT
    place = _outwards(low - inside, high - inside, wanted - inside, above=above, fine=fine)
    return (Remedy(key, "out" if key == LENS else "", place),)


def lens_out_m(scene: HasScreen, move: Remedy) -> float:
    """How far out the lens is after an outward remedy [m], whether that moves the lens or its casing."""
    casing = scene.projector.casing
    return move.to_m + (casing.lens_m[1] if move.key == WALL and casing is not None else 0.0)


def _outwards(low: float, high: float, wanted: float, *, above: bool, fine: bool) -> float:
    """The wanted place [m] rounded away from where the lens stands, while it stays between the limits."""
    return rounded_within(wanted if above else low, high if above else wanted, wanted, fine=fine)


def _into_shift(scene: HasScreen, beyond: tuple[float, float], fine: bool) -> tuple[Remedy, ...]:
    """The nearest places sideways and in height from which the lens shift reaches the picture."""
    lens, found = scene.projector.lens_m, []
    for i, axis in ((0, "right"), (1, "up")):
        limits = shift_limits_m(scene, 2 * i)
        if beyond[i] and limits is not None:
            found.append(Remedy(LENS, axis, rounded_within(*limits, lens[2 * i], fine=fine)))
    return tuple(found)


def _ratio_lines(scene: HasScreen, distance: float, ratio: float, remedies: tuple[Remedy, ...]) -> tuple[ThrowLine, ...]:
    first = ThrowLine(
        "throw", f"{distance:.2f} m from the lens to the screen plane, ratio {ratio:.2f} (distance / picture width)"
    )
    zoom = scene.projector.throw_ratio
    if zoom is None:
        return (first,)
    width = throw_width_m(scene)
    near, far = zoom[0] * width, zoom[1] * width
    digits = 3 if zoom[0] < ULTRA_SHORT else 2
    said = f"the lens covers {zoom[0]:g} to {zoom[1]:g}, {near:.{digits}f} to {far:.{digits}f} m for this picture"
    move = outward(remedies)
    if move is None:
        return first, ThrowLine("", f"the zoom fits: {said}")
    by = length_text(round(abs(lens_out_m(scene, move) - scene.projector.lens_m[1]), 9))
    kind, most = ("too near", "least") if ratio < zoom[0] else ("too far away", "most")
    words = f"the lens is {by} m {kind} for its zoom: {said}; {outward_words(move, 'would have', most)}"
    return first, ThrowLine("", words)


def _shift_lines(
    scene: HasScreen, shift: tuple[float, float], beyond: tuple[float, float], remedies: tuple[Remedy, ...]
) -> tuple[ThrowLine, ...]:
    sideways = _side(shift[0], "picture widths", "to the right", "to the left")
    upward = _side(shift[1], "picture heights", "up", "down")
    first = ThrowLine(
        "lens shift needed", f"{sideways}, {upward} (from the lens to the picture's middle, as seen from the seats)"
    )
    reach = scene.projector.lens_shift
    if reach is None:
        return (first,)
    if beyond == (0.0, 0.0):
        words = f"the lens shift reaches it: {reach[0]:g} picture widths and {reach[1]:g} picture heights each way"
        return first, ThrowLine("", words)
    found = ThrowLine(
        "",
        f"the lens shift falls short by {abs(beyond[0]):.2f} picture widths and {abs(beyond[1]):.2f} picture heights: "
        f"the lens would have to stand {' and '.join(shift_moves(scene, remedies))}",
    )
    zoom = scene.projector.throw_ratio
    if beyond[1] and zoom is not None and zoom[0] < ULTRA_SHORT:
        return first, found, ThrowLine("", OFFSET_WORDS)
    return first, found


OFFSET_WORDS = (
    "lenses of ultra-short throw are built with the picture far above them: count that offset into lens_shift, in picture "
    "heights from the lens to the picture's middle, or leave lens_shift out"
)


def shift_moves(scene: HasScreen, remedies: tuple[Remedy, ...]) -> list[str]:
    """How far a lens has to go sideways and in height [m], and to where, in words; Source: the remedies of `throw`."""
    lens, words = scene.projector.lens_m, {"right": ("further to the right", "further to the left"), "up": ("higher", "lower")}
    found = []
    for move in remedies:
        if move.axis in words:
            by = move.to_m - lens[0 if move.axis == "right" else 2]
            where = f"{length_text(abs(move.to_m))} m " + (
                "up" if move.axis == "up" else f"{'right' if move.to_m >= 0.0 else 'left'} of the wall's middle"
            )
            found.append(f"{length_text(round(abs(by), 4))} m {words[move.axis][by < 0.0]}, {where}")
    return found


def _side(value: float, unit: str, plus: str, minus: str) -> str:
    return f"{abs(value):.2f} {unit}" + ("" if abs(value) < 0.005 else f" {plus if value > 0 else minus}")


def _tilt_lines(scene: HasScreen, tilt: float, loss: float) -> tuple[ThrowLine, ...]:
    if tilt < 0.05:
        return (ThrowLine("image tilt", "none"),)
    given = scene.projector.lens_shift is not None
    cause = "beyond what the lens shift reaches" if given else "if the lens has no shift"
    return (
        ThrowLine(
            "image tilt",
            f"{tilt:.1f} degrees {cause}; digital keystone correction would then cost {_share_words(loss)} "
            "of the pixels and of the lumens (an estimate from the geometry), and none of that loss is in the figures here",
        ),
    )


def _share_words(loss: float) -> str:
    """A share [1] in whole per cent, or that it is less than one."""
    return f"about {100 * loss:.0f} %" if loss >= 0.005 else "less than 1 %"
