"""What of a projector does not fit its room, each with the remedy: throw, lens shift, a head in the beam."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from .checks import CLEAR_M
from .geometry import corners, raster, throw_width_m
from .head import HEAD_RADIUS_M
from .model import Place, Room, Seat
from .parts import Optics
from .remedy import Remedy, length_text, outward, outward_words
from .rooms.standing import in_pyramids, in_room, inside_thing
from .solids import meet_balls, pyramids_of
from .throw import OFFSET_WORDS, ULTRA_SHORT, Throw, lens_out_m, shift_moves, throw
from .warning import SceneWarning, WarningCode

_CM = 0.01
_MOST_LIFTS = 300  # cm that are tried: a lens that must rise by more is no remedy (our own choice)


def misfits(optics: Optics, room: Room) -> Iterator[SceneWarning]:
    """A warning for a throw that the zoom does not cover, and one for a shift that the lens does not reach; remedies in it.

    Where the place of the lens that would do lies outside the room, the remedy is the screen: its width, its height up.
    """
    found = throw(optics)
    out = outward(found.remedies)
    if out is not None:
        yield _throw_misfit(optics, room, found, out)
    moves = tuple(move for move in found.remedies if move is not out)
    if moves:
        yield _shift_misfit(optics, room, moves)


def _throw_misfit(optics: Optics, room: Room, found: Throw, move: Remedy) -> SceneWarning:
    zoom = optics.projector.throw_ratio or (found.ratio, found.ratio)
    near = found.ratio < zoom[0]
    trouble = f"the projector does not fit where it stands: the lens is too {'near' if near else 'far away'} for its zoom"
    at = lens_out_m(optics, move)
    if move.to_m >= 0.0 and CLEAR_M <= at <= room.depth_m - CLEAR_M:
        remedy, words = move, outward_words(move, "has", "least" if near else "most")
    else:
        remedy = _width_that_fits(optics, room, zoom[0] if near else zoom[1], narrower=near)
        words = (
            f"it would have to stand {length_text(at)} m out, and the room has no such place: "
            f"a white area {length_text(remedy.to_m)} m wide fits a lens {'at the back wall' if near else 'where it stands'}"
        )
    return SceneWarning(WarningCode.DOES_NOT_FIT, f"{trouble}: {words}", remedies=(remedy,))


def _width_that_fits(optics: Optics, room: Room, ratio: float, *, narrower: bool) -> Remedy:
    """Width of the white area at which the lens fits where it is farthest, or where it stands, in cm towards the side that fits."""
    distance = (room.depth_m - CLEAR_M if narrower else optics.projector.lens_m[1]) - optics.screen.gap_to_wall_m
    share = optics.screen.width_m / throw_width_m(optics)
    width = distance / ratio * share
    return Remedy("screen.width_m", "", round((math.floor if narrower else math.ceil)(width / _CM) * _CM, 4))


def _shift_misfit(optics: Optics, room: Room, moves: tuple[Remedy, ...]) -> SceneWarning:
    words = f"the projector does not fit where it stands: beyond its lens shift, it has to stand {' and '.join(shift_moves(optics, moves))}"
    outside = [move for move in moves if not _in_room(room, move.of_lens(optics.projector.lens_m))]
    if outside:
        words += ", and that is outside the room"
    zoom = optics.projector.throw_ratio
    if zoom is not None and zoom[0] < ULTRA_SHORT and any(move.axis == "up" for move in moves):
        words += f" ({OFFSET_WORDS})"
    return SceneWarning(WarningCode.DOES_NOT_FIT, words, remedies=tuple(move for move in moves if move not in outside))


def _in_room(room: Room, lens: Place) -> bool:
    return bool(in_room(room, lens, CLEAR_M))


def clear_lens(optics: Optics, room: Room, seats: tuple[Seat, ...]) -> Remedy | None:
    """The least height of the lens [m], in cm, at which nothing stands in the beam, its shift kept; None where none does.

    Source: search in steps of a cm with the tests of the warning itself.
    """
    lens = optics.projector.lens_m
    first = math.floor(lens[2] / _CM) + 1
    heights = [round(count * _CM, 4) for count in range(first, first + _MOST_LIFTS)]
    places = np.array([(lens[0], lens[1], up) for up in heights])
    beams = pyramids_of(places, [corners(optics, raster(optics))])
    met = [meet_balls(beams, [seat.eye_m for seat in seats], HEAD_RADIUS_M), in_pyramids(beams, room.objects)]
    met += [inside_thing(places, box)[:, None] for box in room.objects]
    for up, in_way in zip(heights, np.asarray(np.hstack(met).any(axis=1)), strict=True):
        moved = _with_lens(optics, (lens[0], lens[1], up))
        if not _in_room(room, moved.projector.lens_m) or any(move.axis == "up" for move in throw(moved).remedies):
            return None
        if not in_way:
            return Remedy("projector.lens_m", "up", up)
    return None


def _with_lens(optics: Optics, lens: Place) -> Optics:
    return Optics(optics.screen, replace(optics.projector, lens_m=lens))
