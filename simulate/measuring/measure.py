"""The main job: a scene in, the readings of every seat out."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.geometry import corners, on_screen_plane, open_area, picture
from ...scenes.model import Scene
from ...scenes.recheck import check_scene
from ...scenes.throw import Throw, throw
from ..eye.glare import EyeVeil, board_veil
from ..folds.readings import Folds, ReadyFolds, fold_readings, not_judged, ready_folds
from ..light.beside import beside
from ..light.direct import cloth_points, hidden_shares
from ..light.progress import Progress, light_paths
from .field import COLUMNS, GRID, ROWS, Field, picture_field
from .film import FilmReading, film_reading
from .flatten import SceneArrays, flatten
from .quantities import replicates_of
from .readings import CENTRE, SeatReading, Seats, precise_enough, worst_error
from .showing import ShowingArrays
from .solver import MOST_PATHS, NINE, MeasuringPoints, map_cells, measuring_points, prepare, returned_light


@dataclass(frozen=True)
class SeatGeometry:
    """How a seat stands to the screen.

    distance_m       eye to the middle of the white area [m]
    view_angle_deg   off the screen's normal at its middle [deg]
    gain             towards the seat from the picture's middle, for the projector's light [1]
    lobe_angle_deg   off the lobe's axis there (mirror or source direction) [deg]; None for a diffuse fabric
    picture_width_deg, picture_top_deg   width of the picture seen from the seat; its top edge above the eye line [deg]
    hidden_share     part of the white area that objects or heads hide [1]
    veil             what the eye there scatters over a checkerboard; None where it was not asked
    """

    distance_m: float
    view_angle_deg: float
    gain: float
    lobe_angle_deg: float | None
    picture_width_deg: float
    picture_top_deg: float
    hidden_share: float
    veil: EyeVeil | None = None


@dataclass(frozen=True)
class ScreenMap:
    """Luminance of the white picture as a seat sees it: (ROWS, COLUMNS) [cd/m2], top row first.

    white_cd_m2   with the room's returned light;  direct_cd_m2  the projector's own light alone
    """

    white_cd_m2: np.ndarray
    direct_cd_m2: np.ndarray


@dataclass(frozen=True, eq=False, repr=False)
class Measurement(ShowingArrays):
    """Everything `measure` found.

    error_asked    target relative standard error [1];  error_reached the worst one, on the same scale;  met: reached <= asked
    paths          traced, of all replications and starts together;  elapsed_s wall time, readings of folds included [s]
    illuminance_lx centre and mean of the white raster on the cloth, and of the nine ISO 21118 points [lx]
    shaded_points  how many of the nine lie in a shadow of the projector's own light
    seats, geometry, maps   one entry a seat, in the scene's order
    folds          how visible the cloth's folds are; the other figures are for their typical shape
    film           the film and its black bars, where the scene states one
    replicates     by key of the registry (seats, states or 1, R + 2) what values and errors were made of; dark first

    plot() shows the room in plan; plot(seat=NAME) the white picture as that seat sees it.
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
    shaded_points: int
    seats: tuple[SeatReading, ...]
    geometry: tuple[SeatGeometry, ...]
    maps: tuple[ScreenMap, ...]
    folds: Folds
    replicates: Mapping[str, np.ndarray]
    film: FilmReading | None = None

    def __repr__(self) -> str:
        return f"<Measurement of {self.scene.title!r}: " + "; ".join(repr(seat)[1:-1] for seat in self.seats) + ">"


class _Judge:
    """Reads every seat from the light returned so far; keeps the last readings and the worst error they reached [1]."""

    def __init__(self, scene: Scene, arrays: SceneArrays, points: MeasuringPoints, field: Field, error: float) -> None:
        self._of, self._error = (scene, arrays, points, field), error
        self.readings: list[SeatReading] = []
        self.reached = math.inf

    def read(self, stack: np.ndarray) -> Seats:
        """Readings from replicates [cd/m2] as `Seats` takes them, and what they were made with."""
        seats = Seats(*self._of, stack)
        self.readings = [seats.reading(i) for i in range(len(seats.scene.seats))]
        self.reached = max(worst_error(reading, self._error) for reading in self.readings)
        return seats

    def enough(self, stack: np.ndarray) -> bool:
        """True when all readings from these replicates [cd/m2] meet the asked error."""
        seats = Seats(*self._of, stack)
        judged = [seats.reading(i, judged_only=True) for i in range(len(seats.scene.seats))]
        self.reached = max(worst_error(reading, self._error) for reading in judged)
        return precise_enough(judged, self._error)


def measure(
    scene: Scene,
    *,
    seed: int = 1,
    error: float = 0.01,
    threads: int = 1,
    most_paths: int = MOST_PATHS,
    progress: Progress | None = None,
    before_paths: Callable[[], None] | None = None,
) -> Measurement:
    """Luminance [cd/m2], contrast [1] and wash-out [cd/m2] at every seat of a scene.

    seed      non-negative integer; the same seed and scene give the same bits at any number of threads
    error     asked relative standard error [1], 0 < error < 1;  most_paths  cap, paths a replication and start
    progress  called after each round with a Step: the paths so far and the worst error reached [1]
    before_paths  called once, before the first path is traced; see first_run.py
    returns   Measurement; `met` is False where the cap left it short of the error
    raises    FloatingPointError when a sum is not finite (a fault of ours)
    Source: `returned_light`, `Seats`.
    """
    began = time.perf_counter()
    check_scene(scene)
    with beside(lambda: ready_folds(scene), threads) as folds:  # the light waits for nothing in them
        arrays = flatten(scene)
        points = measuring_points(arrays)
        field = picture_field(arrays, points)
        judge = _Judge(scene, arrays, points, field, error)
        prepared = prepare(arrays, points, threads=threads, cells=map_cells(error))
        if before_paths is not None:
            before_paths()
        returned = returned_light(
            prepared,
            seed=seed,
            enough=judge.enough,
            threads=threads,
            most_paths=most_paths,
            progress=None if progress is None else lambda paths: progress(light_paths(paths, judge.reached)),
        )
        seats = judge.read(returned.replicates)
        return assembled(
            seats,
            readings=judge.readings,
            paths=returned.paths,
            seed=seed,
            error_asked=error,
            error_reached=judge.reached,
            began_s=began,
            threads=threads,
            folds_ready=folds,
        )


def assembled(
    seats: Seats,
    *,
    readings: list[SeatReading],
    paths: int,
    seed: int,
    error_asked: float,
    error_reached: float,
    began_s: float,
    threads: int = 1,
    judge_folds: bool = True,
    folds_ready: Callable[[], ReadyFolds] | None = None,
) -> Measurement:
    """A Measurement from the replicates in `seats` and the readings made of them; nothing is traced here.

    readings     one a seat, in the scene's order, made of the same replicates
    error_asked, error_reached   relative standard errors [1];  paths  all that were traced
    began_s      time.perf_counter() [s] when the work began; the clock stops here, when all is read, folds included
    threads      for the readings of folds, which are made here
    judge_folds  False: no readings of folds are made, as of a flat cloth; the most costly part, where nobody asks for it
    folds_ready  gives `ready_folds` of the scene, where they are made already
    Source: `fold_readings`, plane trigonometry for the seats' geometry, `Seats.picture_luminance` for the maps.
    """
    scene, points, field = seats.scene, seats.points, seats.field
    replicates = replicates_of(seats)
    if judge_folds:
        white = [reading.white["mean"].value for reading in readings]
        folds = fold_readings(scene, white, threads=threads, ready=folds_ready)
    else:
        folds = not_judged(scene)
    geometry = tuple(_seat_geometry(scene, seats.arrays, points))
    maps = tuple(_screen_map(seats, field, i) for i in range(len(scene.seats)))
    return Measurement(
        scene=scene,
        throw=throw(scene),
        seed=seed,
        error_asked=error_asked,
        error_reached=error_reached,
        met=error_reached <= error_asked,
        paths=paths,
        elapsed_s=time.perf_counter() - began_s,
        illuminance_lx=_illuminance(points, field),
        shaded_points=int((points.direct_lx[NINE] == 0.0).sum()),
        seats=tuple(readings),
        geometry=geometry,
        maps=maps,
        folds=folds,
        replicates=replicates,
        film=film_reading(seats),
    )


def _illuminance(points: MeasuringPoints, field: Field) -> dict[str, float]:
    """Centre, mean over the picture and mean of the nine points [lx]."""
    return {
        "centre": float(points.direct_lx[CENTRE]),
        "mean": float(field.direct_lx[GRID].mean()),
        "nine_point_mean": float(points.direct_lx[16:].mean()),
    }


def _screen_map(seats: Seats, field: Field, seat: int) -> ScreenMap:
    """White and direct luminance of the grid for one seat."""
    white, direct = seats.picture_luminance(seat)
    return ScreenMap(white[GRID].reshape(ROWS, COLUMNS), direct[GRID].reshape(ROWS, COLUMNS))


def _seat_geometry(scene: Scene, arrays: SceneArrays, points: MeasuringPoints) -> list[SeatGeometry]:
    """Angles and distances of all seats. Source: plane trigonometry; hidden share by a 48 x 27 grid of sight lines."""
    looked_at = open_area(scene)
    row, column = np.divmod(np.arange(48 * 27), 48)
    grid = cloth_points(
        arrays.geometry,
        arrays.projector,
        looked_at.width_m * ((column + 0.5) / 48 - 0.5),
        looked_at.height_m * ((row + 0.5) / 27 - 0.5),
    )
    hidden = hidden_shares(arrays.geometry, grid, arrays.eyes, arrays.projector.heads)
    area = picture(scene)
    middle_up = 0.5 * (area.bottom_m + area.top_m)
    left, right = (np.array(on_screen_plane(scene, x, middle_up)) for x in (area.left_m, area.right_m))
    top = on_screen_plane(scene, 0.0, area.top_m)
    middle = np.array(on_screen_plane(scene, 0.0, 0.0))
    foot, far_side, head = (np.array(corners(scene, area)[i]) for i in (0, 1, 3))
    side, rise = far_side - foot, head - foot  # in the file's frame, as the eyes are: a mirror image has the same angles
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
                veil=board_veil(foot, side, rise, eye),
            )
        )
    return found


def _degrees(cosine: float) -> float:
    return math.degrees(math.acos(min(1.0, max(-1.0, float(cosine)))))


def _angle_between(a: np.ndarray, b: np.ndarray) -> float:
    """Angle [degrees] between two vectors; atan2 keeps the digits of small angles."""
    return math.degrees(math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b)))


def _lobe_angle(scene: Scene, points: MeasuringPoints, seat: int) -> float | None:
    """Angle [degrees] between a seat and the axis of the fabric's lobe at the picture's middle."""
    about = scene.screen.fabric.axis
    if about is None:
        return None
    axis = points.cloth.source[CENTRE] * (np.array([-1.0, -1.0, 1.0]) if about > 0 else 1.0)
    return _angle_between(axis, points.seats[CENTRE, seat])
