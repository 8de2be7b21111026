"""The main job: a scene in, the readings of every seat out."""
from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..scenes.geometry import on_screen_plane, picture
from ..scenes.model import Scene
from ..scenes.throw import Throw, throw
from .field import COLUMNS, ROWS, Field, picture_field
from .flatten import SceneArrays, flatten
from .folds.readings import Folds, fold_readings
from .light.direct import cloth_points, hidden_shares
from .readings import CENTRE, SeatReading, Seats, precise_enough, worst_error
from .solver import MOST_PATHS, Points, map_cells, measuring_points, prepare, returned_light


@dataclass(frozen=True)
class SeatGeometry:
    """How a seat stands to the screen; angles in degrees.

    distance_m       eye to the middle of the white area [m]
    view_angle_deg   off the screen's normal at its middle
    gain             towards the seat from the picture's middle, for the projector's light [1]
    lobe_angle_deg   off the lobe's axis there (mirror or source direction); None for a diffuse fabric
    picture_width_deg, picture_top_deg   width of the picture seen from the seat; its top edge above the eye line
    hidden_share     part of the white area that objects or heads hide
    """

    distance_m: float
    view_angle_deg: float
    gain: float
    lobe_angle_deg: float | None
    picture_width_deg: float
    picture_top_deg: float
    hidden_share: float


@dataclass(frozen=True)
class ScreenMap:
    """Full-white luminance over the picture as a seat sees it: (ROWS, COLUMNS) [cd/m2], top row first."""

    white_cd_m2: np.ndarray
    direct_cd_m2: np.ndarray


@dataclass(frozen=True)
class Measurement:
    """Everything `measure` found.

    error_asked    target relative standard error;  error_reached the worst one, on the same scale;  met: reached <= asked
    illuminance_lx centre and mean of the white raster on the cloth, and of the nine ISO 21118 points
    folds          how visible the cloth's folds are; the other figures are for their typical shape
    """

    scene: Scene
    throw: Throw
    seed: int
    error_asked: float
    error_reached: float
    met: bool
    paths: int
    elapsed_s: float
    illuminance_lx: dict[str, float]
    seats: tuple[SeatReading, ...]
    geometry: tuple[SeatGeometry, ...]
    maps: tuple[ScreenMap, ...]
    folds: Folds


def measure(
    scene: Scene,
    *,
    seed: int = 1,
    error: float = 0.01,
    threads: int = 1,
    most_paths: int = MOST_PATHS,
    progress: Callable[[int, float], None] | None = None,
    before_paths: Callable[[], None] | None = None,
) -> Measurement:
    """Luminance, contrast and wash-out at every seat of a scene.

    seed      non-negative integer; the same seed and scene give the same bits at any number of threads
    error     asked relative standard error, 0 < error < 1
    progress  called after each round with the paths so far and the worst error reached
    before_paths  called once, before the first path is traced; see first_run.py
    raises    FloatingPointError when a sum is not finite (a fault of ours)
    Source: the project's contract for `measure`.
    """
    began = time.perf_counter()
    arrays = flatten(scene)
    points = measuring_points(arrays)
    field = picture_field(arrays, points)
    latest: list[SeatReading] = []
    reached = math.inf

    def enough(stack: np.ndarray) -> bool:
        nonlocal latest, reached
        seats = Seats(scene, arrays, points, field, stack)
        latest = [seats.reading(i) for i in range(len(scene.seats))]
        reached = max(worst_error(reading, error) for reading in latest)
        return precise_enough(latest, error)

    prepared = prepare(arrays, points, threads=threads, cells=map_cells(error))
    if before_paths is not None:
        before_paths()
    returned = returned_light(
        prepared,
        seed=seed,
        enough=enough,
        threads=threads,
        most_paths=most_paths,
        progress=None if progress is None else lambda paths: progress(paths, reached),
    )
    enough(returned.replicates)
    return assembled(
        Seats(scene, arrays, points, field, returned.replicates),
        readings=latest,
        paths=returned.paths,
        seed=seed,
        error_asked=error,
        error_reached=reached,
        elapsed_s=time.perf_counter() - began,
        threads=threads,
    )


def assembled(
    seats: Seats,
    *,
    readings: list[SeatReading],
    paths: int,
    seed: int,
    error_asked: float,
    error_reached: float,
    elapsed_s: float,
    threads: int = 1,
) -> Measurement:
    """A Measurement from the replicates in `seats` and the readings made of them; nothing is traced here."""
    scene, points, field = seats.scene, seats.points, seats.field
    return Measurement(
        scene=scene,
        throw=throw(scene),
        seed=seed,
        error_asked=error_asked,
        error_reached=error_reached,
        met=error_reached <= error_asked,
        paths=paths,
        elapsed_s=elapsed_s,
        illuminance_lx=_illuminance(points, field),
        seats=tuple(readings),
        geometry=tuple(_seat_geometry(scene, seats.arrays, points)),
        maps=tuple(_screen_map(seats, field, i) for i in range(len(scene.seats))),
        folds=fold_readings(scene, [reading.white["mean"].value for reading in readings], threads=threads),
    )


def _illuminance(points: Points, field: Field) -> dict[str, float]:
    """Centre, mean over the picture and mean of the nine points [lx]."""
    return {
        "centre": float(points.direct_lx[CENTRE]),
        "mean": float(field.direct_lx[: ROWS * COLUMNS].mean()),
        "nine_point_mean": float(points.direct_lx[16:].mean()),
    }


def _screen_map(seats: Seats, field: Field, seat: int) -> ScreenMap:
    """White and direct luminance of the grid for one seat."""
    white, direct = seats.picture_luminance(seat)
    return ScreenMap(white[: ROWS * COLUMNS].reshape(ROWS, COLUMNS), direct[: ROWS * COLUMNS].reshape(ROWS, COLUMNS))


def _seat_geometry(scene: Scene, arrays: SceneArrays, points: Points) -> list[SeatGeometry]:
    """Angles and distances of all seats. Source: plane trigonometry; hidden share by a 48 x 27 grid of sight lines."""
    screen = scene.screen
    row, column = np.divmod(np.arange(48 * 27), 48)
    grid = cloth_points(
        arrays.geometry,
        arrays.projector,
        screen.width_m * ((column + 0.5) / 48 - 0.5),
        screen.height_m * ((row + 0.5) / 27 - 0.5),
    )
    hidden = hidden_shares(arrays.geometry, grid, arrays.eyes, arrays.projector.heads)
    area = picture(scene)
    middle_up = 0.5 * (area.bottom_m + area.top_m)
    left, right = (np.array(on_screen_plane(scene, x, middle_up)) for x in (area.left_m, area.right_m))
    top = on_screen_plane(scene, 0.0, area.top_m)
    middle = np.array(on_screen_plane(scene, 0.0, 0.0))
    found = []
    for i, seat in enumerate(scene.seats):
        eye = np.array(seat.eye_m)
        away = eye - middle
        found.append(
            SeatGeometry(
                distance_m=float(np.linalg.norm(away)),
                view_angle_deg=_degrees(away[1] / np.linalg.norm(away)),
                gain=float(points.gain[CENTRE, i]),
                lobe_angle_deg=_lobe_angle(scene, points, i),
                picture_width_deg=_angle_between(left - eye, right - eye),
                picture_top_deg=math.degrees(math.atan2(top[2] - eye[2], math.hypot(top[0] - eye[0], top[1] - eye[1]))),
                hidden_share=float(hidden[i]),
            )
        )
    return found


def _degrees(cosine: float) -> float:
    return math.degrees(math.acos(min(1.0, max(-1.0, float(cosine)))))


def _angle_between(a: np.ndarray, b: np.ndarray) -> float:
    """Angle [degrees] between two vectors; atan2 keeps the digits of small angles."""
    return math.degrees(math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b)))


def _lobe_angle(scene: Scene, points: Points, seat: int) -> float | None:
    """Angle [degrees] between a seat and the axis of the fabric's lobe at the picture's middle."""
    about = scene.screen.fabric.axis
    if about is None:
        return None
    axis = points.cloth.source[CENTRE] * (np.array([-1.0, -1.0, 1.0]) if about > 0 else 1.0)
    return _angle_between(axis, points.seats[CENTRE, seat])
