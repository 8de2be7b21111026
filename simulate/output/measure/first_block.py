"""What a designer reads first of a measured room: a few lines, each with what it says and nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from ....materials.text.plain import plain
from ....scenes.cloth.surface import LEVELS
from ....scenes.inches import length_words
from ....scenes.model import SURFACES, Room, Scene
from ....scenes.remedy import AXES, WALL, Remedy, length_text
from ....scenes.warning import SceneWarning, WarningCode
from ...choices.fold_sight import sight_of
from ...eye.verdict import NOT_VISIBLE, VISIBLE
from ...measuring.first_change import DARK_REFLECTANCE, WORTH_IT, Darkened, darkened, worth_it
from ...measuring.measure import Measurement
from ...measuring.targets import CLASSES, target_named
from ..units import between, brief, foot_lamberts
from .film_words import film_words

MOST_LINES = 12
_NAME = 20  # letters of a user's name; the whole of it stands in the tables
_HOT_SPOT = target_named("side to centre, theatre").low or 0.0
_DIM = target_named("white luminance, theatre").low or 0.0
_IN_BEAM = (WarningCode.IN_BEAM, WarningCode.WALL_IN_BEAM)
_ALIKE = 0.98  # seats within 2 % read alike, as in advice


class FirstLine(NamedTuple):
    """A line of the block: what it is about, and what is said."""

    topic: str
    said: str


def first_block(measurement: Measurement) -> tuple[FirstLine, ...]:
    """Seven lines, eight with a film: fit, film, white, contrast, folds, evenness, worst seat, what to change first.

    Source: the measurement; the targets named in targets.py.
    """
    film = () if measurement.film is None else (FirstLine("Film", film_words(measurement.film)),)
    return (
        FirstLine("Fits", _fits(measurement)),
        *film,
        FirstLine("White", _white(measurement)),
        FirstLine("Contrast", _contrast(measurement)),
        FirstLine("Folds", _folds(measurement)),
        FirstLine("Evenness", _evenness(measurement)),
        FirstLine("Worst seat", _worst_seat(measurement)),
        FirstLine("Change first", _change(measurement)),
    )


def _short(name: str) -> str:
    return plain(name, _NAME)


def _fits(measurement: Measurement) -> str:
    throw = measurement.throw
    if throw.feasible is False:
        return f"no; it would with {projector_places(throw.remedies, measurement.scene)}"
    if throw.feasible is None:
        return f"not known without throw_ratio and lens_shift (ratio {throw.ratio:.2f} needed)"
    return f"yes, zoom and lens shift reach the picture from {length_words(round(throw.distance_m, 2), measurement.scene)}"


def projector_places(remedies: Sequence[Remedy], scene: Scene) -> str:
    """Where lens and casing would have to stand [m], in words: "the lens 1.60 m up"."""
    lens = ", ".join(_place(each, scene) for each in remedies if each.key != WALL)
    casing = [f"the casing {length_words(each.to_m, scene)} off the wall" for each in remedies if each.key == WALL]
    return " and ".join([*casing, *([f"the lens {lens}"] if lens else [])])


def _place(remedy: Remedy, scene: Scene) -> str:
    now, mirrored = scene.projector.lens_m[AXES.index(remedy.axis)], remedy.axis == "right" and remedy.to_m < 0.0
    way = (1 if remedy.to_m > now else -1) * (-1 if mirrored else 1)  # beyond the place, where it serves as well
    side = {
        "right": "right of the middle" if remedy.to_m >= 0.0 else "left of the middle",
        "out": "out from the wall",
        "up": "up",
    }
    return f"{length_words(-remedy.to_m if mirrored else remedy.to_m, scene, way)} {side[remedy.axis]}"


def _white(measurement: Measurement) -> str:
    white = [seat.white["centre"].value for seat in measurement.seats]
    rated = " at rated output" if measurement.scene.projector.in_use is None else ""
    dim = f"; theatres: {brief(_DIM)} or more" if min(white) < _DIM else ""
    return f"{between(white)} cd/m2 ({between(foot_lamberts(each) for each in white)} fL){rated}{dim}"


def _contrast(measurement: Measurement) -> str:
    most = "at most " if measurement.scene.projector.checkerboard_contrast is None else ""
    dark = [seat.checkerboard.value for seat in measurement.seats]
    in_eye = [
        place.veil.left(value)
        for place, value in zip(measurement.geometry, dark, strict=True)
        if place.veil is not None and value > 0.0  # false for what is no number
    ]
    said = f"{most}{between(dark)}:1 dark" + (f" ({between(in_eye)}:1 in the eye)" if in_eye else "")
    lit = [[seat.states[i].checkerboard.value for seat in measurement.seats] for i in range(len(measurement.scene.lights))]
    if not lit:
        return said
    worst = min(range(len(lit)), key=lambda i: min(lit[i]))
    return f"{said}, {most}{between(lit[worst])}:1 with {_short(measurement.scene.lights[worst].name)}"


def _folds(measurement: Measurement) -> str:
    folds = measurement.folds
    if folds.flat:
        return _flat(measurement)
    sight = sight_of(measurement.scene, folds)
    words = [sight.whole_word(level) for level in LEVELS]
    if words[-1] == NOT_VISIBLE:
        return "none to be seen, not even at the high estimate" if not folds.stated else "as stated, not to be seen from any seat"
    seat = _short(sight.seat["high"] or folds.seats[0].name)
    if folds.stated:
        return f"as stated, {words[-1]} in even bright scenes, most at {seat}"
    if words[0] == VISIBLE:
        return f"seen in even bright scenes, even at the low estimate; most at {seat}"
    if words[0] == NOT_VISIBLE:
        return f"perhaps: unseen at the low estimate, {words[-1]} at the high one; most at {seat}"
    return f"likely: borderline at the low estimate, {words[-1]} at the high one; most at {seat}"


def _flat(measurement: Measurement) -> str:
    screen = measurement.scene.screen
    if screen.hang.is_frame:
        return "the cloth is taken as flat, not judged"
    declared = screen.drape.hanging is not None and screen.drape.hanging.flat
    return "the cloth is declared flat, not judged" if declared else "none at low, typical and high estimates"


def _evenness(measurement: Measurement) -> str:
    shares = [100.0 * seat.uniformity.value for seat in measurement.seats]
    least = min(range(len(shares)), key=lambda i: shares[i])
    lens = ", lens's own fall-off not stated" if measurement.scene.projector.corner_to_centre == 1.0 else ""
    if measurement.illuminance_lx["centre"] == 0.0 and shares[least] >= 0.0:
        return "not known: the middle of the picture lies in a shadow"
    if shares[least] < _HOT_SPOT:
        where = f", at {_short(measurement.seats[least].name)}" if len(shares) > 1 else ""
        cause = "shadow on the picture" if measurement.shaded_points else "hot spot"
        return f"{cause}: darkest of nine points {brief(shares[least])} % of middle{where}"
    if not shares[least] >= _HOT_SPOT:  # no light reaches the middle
        return "not known: no light reaches the places compared"
    return f"even: darkest of nine points {between(shares)} %{lens or ' of the middle'}"


def _worst_seat(measurement: Measurement) -> str:
    if len(measurement.seats) == 1:
        return f"{_short(measurement.seats[0].name)}, the only one"
    hidden = max(range(len(measurement.seats)), key=lambda i: measurement.geometry[i].hidden_share)
    if measurement.geometry[hidden].hidden_share >= 0.005:
        share = 100.0 * measurement.geometry[hidden].hidden_share
        return f"{_short(measurement.seats[hidden].name)}: {brief(share)} % of the screen is hidden from it"
    figures = {
        "contrast": [seat.checkerboard.value for seat in measurement.seats],
        "white": [seat.white["centre"].value for seat in measurement.seats],
        "evenness": [seat.uniformity.value for seat in measurement.seats],
    }
    behind = [
        (values[i] / max(values), i, name)
        for name, values in figures.items()
        if max(values) > 0.0
        for i in range(len(values))
        if values[i] >= 0.0  # false for what is no number
    ]
    share, seat, name = min(behind, default=(1.0, 0, ""))
    if share >= _ALIKE:
        return "none: white, contrast and evenness are alike at every seat"
    return f"{_short(measurement.seats[seat].name)}: {brief(100.0 * share)} % of the best seat's {name}"


def _change(measurement: Measurement) -> str:
    throw, seats = measurement.throw, measurement.seats
    if throw.feasible is False:
        return "the projector's place: the rest is told as if it fitted"
    beam = [warning for warning in measurement.scene.warnings if warning.code in _IN_BEAM]
    if measurement.shaded_points and beam:
        return _clear_beam(beam)
    white = min(seat.white["centre"].value for seat in seats)
    if 0.0 < white < _DIM:
        return f"more light: {brief(_DIM / white)} times the lumens, or a picture of {brief(100.0 * white / _DIM)} % of the area"
    if not measurement.folds.flat and sight_of(measurement.scene, measurement.folds).whole_word("low") == VISIBLE:
        return (
            f"the hang or the cloth: its folds are seen {'as stated' if measurement.folds.stated else 'even at the low estimate'}"
        )
    found = worth_it(darkened(measurement))
    if found is None:
        return f"nothing: no one surface in dark lifts the contrast by {100.0 * WORTH_IT:g} %"
    scene = measurement.scene
    limit = "the room's limit then " if scene.projector.checkerboard_contrast is None else ""
    return (
        f"{_dark(found.surface, scene.room)} (now {brief(100.0 * found.share)} % of the wash-out): {limit}{brief(found.then)}:1 dark or more, "
        f"{_class(found)}"
    )


def _clear_beam(beam: Sequence[SceneWarning]) -> str:
    """What stands in the beam, and the lens's height [m] that clears it where there is one."""
    lift = next((f"; a lens {length_text(remedy.to_m)} m up clears it" for each in beam for remedy in each.remedies), "")
    first = beam[0].things[0]
    things = plain(first, _NAME + 14) if len(beam) == 1 else f"{len(beam)} things"  # with "the head of"
    return f"the beam: {things} in it, shadow on the picture{lift}"


def _dark(surface: str, room: Room) -> str:
    if surface == "floor":
        return "a dark carpet on the floor"
    if surface in room.surfaces:
        wall = "" if surface == "ceiling" or surface not in SURFACES else " wall"
        return f"the {surface}{wall} matt and dark, reflectance {DARK_REFLECTANCE:g}"
    return f"a dark cover for {_short(surface)}"


def _class(found: Darkened) -> str:
    """The highest contrast class that is reached then, against that of now."""
    then, now = (
        max((target.low or 0.0 for target in CLASSES if (target.low or 0.0) <= each), default=0.0)
        for each in (found.then, found.contrast)
    )
    if then == 0.0:
        return "still below the lowest class"
    return f"class {then:g}:1" + (" as now" if then == now else "")
