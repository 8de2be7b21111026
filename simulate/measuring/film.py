"""A film of its own shape on the screen: what it leaves of the raster, and what its black bars look like from each seat."""

from __future__ import annotations

import math

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.geometry import Raster, film_area, picture, raster
from ...scenes.model import Film
from ..light.direct import cloth_points, direct_light, directions_to
from .bars import BarSpot, Onto, bar_spots, finish_under, white_lx
from .colour import luminance
from .estimate import Estimate, estimate
from .readings import Seats

_NEXT = {
    "top": 17,
    "bottom": 23,
    "left": 19,
    "right": 21,
}  # of the 25 gathering points, that of the nine nearest to a bar on each side


@dataclass(frozen=True)
class Bar:
    """A bar beside the film.

    side     "top", "bottom", "left" or "right";  onto  what its middle lies on;  width_m  across, to the end of raster or white area [m]
    lens_lx  what the lens's black puts there [lx]; 0 where its raster does not reach
    seats    by seat: luminance at its middle in a black frame, and in a white one [cd/m2]
    """

    side: str
    onto: Onto
    width_m: float
    lens_lx: float
    seats: tuple[tuple[Estimate, Estimate], ...]


@dataclass(frozen=True)
class FilmReading:
    """What is left of the raster for the film, and its bars.

    raster, area  the light's rectangle, and the film's part that is seen [m];  share  film over raster area: of its light too,
                  where that is even [1]
    bars          those that show; none where film, raster and white area agree
    """

    film: Film
    raster: Raster
    area: Raster
    share: float
    bars: tuple[Bar, ...]


def film_reading(seats: Seats) -> FilmReading | None:
    """The film of a scene with its bars; None where none is stated.

    seats    readings of the scene's seats, of all replicates
    The lens's black falls on a bar as white does, over the native contrast; its stray light is even. What the room sends back is
    taken from the gathering point next to the bar, for masking and border through their own reflectance as even light.
    Source: `Levels`; L = gain E / pi.
    """
    scene = seats.scene
    film = scene.projector.film
    if film is None:
        return None
    light, area = raster(scene), film_area(scene)
    bars = tuple(_bar(seats, spot) for spot in bar_spots(scene))
    return FilmReading(film, light, picture(scene), area.area_m2 / light.area_m2, bars)


def _bar(seats: Seats, spot: BarSpot) -> Bar:
    scene, levels = seats.scene, seats.levels
    lux = white_lx(scene, seats.arrays.projector, spot)
    gain, returned = _gain_and_returned(seats, spot)
    direct = gain * lux / math.pi
    black_frame = levels.black * (direct + returned)
    white_frame = (levels.black + levels.veil_at(1.0)) * direct + returned
    each = tuple((estimate(black_frame[:, i]), estimate(white_frame[:, i])) for i in range(len(scene.seats)))
    return Bar(spot.side, spot.onto, spot.width_m, levels.black * lux, each)


def _gain_and_returned(seats: Seats, spot: BarSpot) -> tuple[np.ndarray, np.ndarray]:
    """Gain towards each seat (T,) [1], and what the room sends back there in a white frame (R + 2, T) [cd/m2]."""
    arrays, near = seats.arrays, _NEXT[spot.side]
    returned = luminance(seats.white[:, near])
    if spot.onto is Onto.SCREEN:
        place = cloth_points(arrays.geometry, arrays.projector, np.array([spot.right_m]), np.array([spot.up_m]))
        gain, _ = direct_light(arrays.projector, place, directions_to(place, arrays.eyes), arrays.fabric)
        return gain[0] * seats.tint_luminance, returned
    own = float(luminance(np.array(finish_under(seats.scene, spot.onto))))
    return np.full(len(seats.scene.seats), own), returned * own / (seats.points.ambient[near] * seats.tint_luminance)
