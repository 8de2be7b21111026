"""Tracing until the asked error is met: paths are added by doubling, sums are kept, nothing depends on the thread count."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import NamedTuple

import numpy as np

from ..light.direct import cloth_points, direct_light, directions_to
from ..light.edges import AT_EDGES
from ..light.irradiance_cache import levels_needed, zone_map
from ..light.lampcells import LampCells
from ..light.lampdirect import LampDirect
from ..light.lamphits import lamp_key
from ..light.ledger import Ledger, Starts, trace
from ..light.mapgrid import MapGrid, make_grid
from ..light.patches import frozen
from ..light.projector import OBSTRUCTED, ZONES_RIGHT, ZONES_UP
from ..light.raster_places import SCATTERED
from ..light.screen_samples import LitScreen, is_steep, light_the_screen
from ..light.self_illumination import light_of_starts
from ..light.spill import spilt_light
from ..light.walk import NO_OWN, Finishes, Lighting, walk
from .behind import PreparedBehind, prepare_behind, with_light_from_behind
from .estimate import REPLICATIONS, replicates
from .even_light import EvenLight
from .flatten import SceneArrays
from .lamp_sums import beside, cells_of_lamps, lamp_sums, lamps_on, lamps_on_hits, once_reflected

FIRST_PATHS = 32  # paths a replication and start in the first round
MOST_PATHS = 1 << 15
MAP_CELLS = 24
PATCH_LEVELS = (2, 4, 8, 16, 32)  # Gauss points a side of a checkerboard patch, by how near a surface is
BOARD_POINTS, NINE = slice(0, 16), slice(16, 25)  # of the 25 points: checkerboard patch centres, then the ISO 21118 points
CENTRE = 16 + 4
SIDES = (CENTRE - 1, CENTRE + 1)  # left and right of the nine points, a sixth of the width in from the edges
WHITE, BOARD = 0, 1  # pictures that are traced; all others in use are linear in them


class MeasuringPoints(NamedTuple):
    """The 25 points of the picture where light is gathered: 16 checkerboard patch centres, then the 9 ISO 21118 points.

    right, up  (25,) from the screen's centre [m];  cloth: where they lie;  seats (25, T, 3) unit directions to the eyes [1]
    gain (25, T) towards each seat [1], direct_lx (25,) of the white picture [lx]
    even   what even light from the half-space brings
    lamps  direct light of the lamps that light states use; None: there are none
    """

    right: np.ndarray
    up: np.ndarray
    cloth: LitScreen
    seats: np.ndarray
    gain: np.ndarray
    direct_lx: np.ndarray
    even: EvenLight
    lamps: LampDirect | None = None

    @property
    def ambient(self) -> np.ndarray:
        """Luminance factor (25, T) for even light [1]. Source: `EvenLight`."""
        return self.even.factor


class Returned(NamedTuple):
    """Returned light as replicates: (R + 2, 25, T, surfaces, 2, C) [cd/m2] for white and the plain checkerboard's white patches.

    paths  number of paths traced;  met  True when the asked error was reached before the cap
    """

    replicates: np.ndarray
    paths: int
    met: bool


def patch_levels() -> np.ndarray:
    """The plain 4 x 4 checkerboard on the picture zones (192,), 1 on white patches [1], top left white as the seats see it.

    Source: ISO/IEC 21118 pattern of 16 equal rectangles.
    """
    row, column = np.divmod(np.arange(ZONES_RIGHT * ZONES_UP), ZONES_RIGHT)
    return ((row * 4 // ZONES_UP + column * 4 // ZONES_RIGHT) % 2 == 0).astype(float)


def board_patches() -> np.ndarray:
    """True for the patch centres (16,) that the plain checkerboard shows white; row by row from top left."""
    row, column = np.divmod(np.arange(16), 4)
    return (row + column) % 2 == 0


@cache
def traced_pictures() -> np.ndarray:
    """Zone levels (192, 2) of white and of the plain checkerboard [1], read-only. Source: WHITE, BOARD."""
    return frozen(np.stack([np.ones(ZONES_RIGHT * ZONES_UP), patch_levels()], axis=1))


@cache
def _pictures_of_patches() -> np.ndarray:
    """Levels (16, 2) of the 16 patches in the same pictures [1], read-only."""
    return frozen(np.stack([np.ones(16), board_patches()], axis=1))


def starts_of(points: MeasuringPoints) -> Starts:
    """The measuring points as starts of gather paths, places [m]. Source: `Starts`."""
    cloth = points.cloth
    return Starts(cloth.place, cloth.right, cloth.up, cloth.normal, cloth.patch)


def measuring_points(arrays: SceneArrays) -> MeasuringPoints:
    """The 25 points of a scene with what needs no tracing, places [m], illuminance [lx], gains [1].

    Source: ISO/IEC 21118 (nine points are the middles of a 3 x 3 grid; the checkerboard's are the patch middles).
    """
    left, right, bottom, top = arrays.projector.picture
    width, height = right - left, top - bottom
    across, down = [], []
    for side in (4, 3):
        row, column = np.divmod(np.arange(side * side), side)
        across.append((column + 0.5) / side)
        down.append((row + 0.5) / side)
    at_right = left + width * np.concatenate(across)
    at_up = top - height * np.concatenate(down)
    cloth = cloth_points(arrays.geometry, arrays.projector, at_right, at_up)
    seats = directions_to(cloth, arrays.eyes)
    gain, lux = direct_light(arrays.projector, cloth, seats, arrays.fabric)
    even, lamps = EvenLight(arrays.fabric, seats), lamps_on(arrays, cloth, seats, at_right, at_up)
    return MeasuringPoints(at_right, at_up, cloth, seats, gain, lux, even, lamps)


def survival_for(reflectance: np.ndarray) -> float:
    """Probability to go on after a hit [1]: one of three, so that later repaints keep a finite variance.

    reflectance  (surfaces, C) [1]; the lightest decides. Above 0.948 no finite variance is promised
    Source: a path's weight grows by rho / survival a hit, its square by rho^2 / survival: finite below 1 (derived).
    """
    lightest = reflectance.max()
    return 0.6 if lightest <= 0.75 else 0.8 if lightest <= 0.87 else 0.9


class Prepared(NamedTuple):
    """What tracing needs and no random number enters: made once a scene.

    survival  probability to go on after a hit [1]
    lamp_cells  of each lamp, for its first reflection; none where paths find that themselves
    behind    where light comes through the cloth
    """

    arrays: SceneArrays
    points: MeasuringPoints
    starts: Starts
    grid: MapGrid
    lighting: Lighting
    finishes: Finishes
    survival: float
    lamp_cells: tuple[LampCells, ...] = ()
    behind: PreparedBehind | None = None


def map_cells(error: float) -> int:
    """Cells of the map along a wall edge for an asked relative error [1]: its bias falls as cells^-2 and must stay below it.

    error    above 0
    returns  an even number from 24 to 64
    Source: measured against 96 cells with the same paths: at most 0.2 % at 24 cells in three of the library's scenes.
    """
    return int(min(64, max(MAP_CELLS, 2 * math.ceil(0.5 * MAP_CELLS * math.sqrt(0.01 / error)))))


def picture_samples(arrays: SceneArrays, levels: tuple[int, ...] = PATCH_LEVELS) -> LitScreen:
    """The lit screen as `picture_map` wants it: samples of the checkerboard's 16 patches, places [m], flux [lm].

    levels   Gauss points a side of a patch, rising
    Steep folds take all levels but the finest, from which light_the_screen keeps what resolves the folds. On a flat screen no edge
    crosses a patch where nothing stands before it nor in the beam.
    Source: `light_the_screen`.
    """
    levels = PATCH_LEVELS[:-1] if is_steep(arrays.geometry) else levels
    edges = bool(arrays.geometry.relief) or arrays.objects or bool(arrays.projector.flags[OBSTRUCTED])
    return light_the_screen(arrays.geometry, arrays.projector, zones=(4, 4), levels=levels, scatter_folds=True, edges=edges)


def picture_map(arrays: SceneArrays, grid: MapGrid, *, lit: LitScreen | None = None, threads: int = 1) -> np.ndarray:
    """Irradiance (N, 2) [lx] of the map's nodes for white and for the plain checkerboard, before the tint.

    lit      `picture_samples` of the same light where they are at hand; they do not depend on the fabric
    Source: light.irradiance_cache.zone_map of the 16 patches.
    """
    fine = sharpness(arrays)
    if lit is None:
        needed = levels_needed(grid, arrays.projector, zones=(4, 4), levels=PATCH_LEVELS, sharpness=fine)
        if is_steep(arrays.geometry) or needed[-1] ** 2 >= SCATTERED:  # where scattered samples do not serve zones with an edge
            needed = PATCH_LEVELS[: max(len(needed), 1 + PATCH_LEVELS.index(AT_EDGES))]
        lit = picture_samples(arrays, needed)
    patches = zone_map(arrays.geometry, grid, lit, arrays.fabric, test_blocked=arrays.objects, sharpness=fine, threads=threads)
    return patches @ _pictures_of_patches()


def sharpness(arrays: SceneArrays) -> float:
    """How much finer than usual the lit screen must be sampled for the fabric's lobe [1]; 1 from 30 [deg] on.

    Source: rule of thumb.
    """
    return max(1.0, 30.0 / arrays.half_gain_deg)


def prepare(arrays: SceneArrays, points: MeasuringPoints, *, threads: int = 1, cells: int = MAP_CELLS) -> Prepared:
    """Map of the lit screen on the room's surfaces [lx] and the start points of a scene.

    cells    cells of the map along a wall edge, even
    Source: see light/irradiance_cache.py.
    """
    geometry, projector = arrays.geometry, arrays.projector
    grid = make_grid(geometry, projector, cells=cells, shell=True)
    node_lx = picture_map(arrays, grid, threads=threads)
    beam, starts, zone = projector if geometry.relief else (), starts_of(points), traced_pictures()
    own = light_of_starts(geometry, projector, arrays.fabric, starts, points.seats, zone) if beam else NO_OWN
    return Prepared(
        arrays=arrays,
        points=points,
        starts=starts,
        grid=grid,
        lighting=Lighting(node_lx=node_lx, zone=zone, beam=beam, own=frozen(own)),
        finishes=colour_channels(arrays),
        survival=survival_for(arrays.reflectance),
        lamp_cells=cells_of_lamps(arrays, starts),
        behind=prepare_behind(
            arrays,
            points.cloth,
            points.seats,
            points.right,
            points.up,
            points.direct_lx,
            points.even,
            None if points.lamps is None else points.lamps.lux,
        ),
    )


def traced_sums(
    prepared: Prepared,
    *,
    seed: int,
    low_path: int,
    paths: int,
    replications: int = REPLICATIONS,
    pooling: bool = True,
    threads: int = 1,
) -> np.ndarray:
    """Sums of paths low_path .. low_path + paths - 1 of every replication and start.

    pooling  False: each path for itself, light from cloth to cloth included
    returns  (replications, 25, T, surfaces, 2K, C) luminance times paths [cd/m2]; rows K .. 2K - 1 are the map's spread. After white
             and board, K counts each lamp's luminance, then each lamp's illuminance over pi, both at full output
    raises   FloatingPointError when a sum is not finite
    Source: trace, then walk; see light/.
    """
    geometry, points = prepared.arrays.geometry, prepared.points
    ledger = trace(
        geometry,
        prepared.starts,
        seed=seed,
        replications=replications,
        low_path=low_path,
        paths=paths,
        survival=prepared.survival,
        threads=threads,
    )
    spill = spilt_light(geometry, prepared.arrays.projector, ledger, threads=threads)
    lighting = prepared.lighting if pooling else prepared.lighting._replace(own=NO_OWN)
    sums = walk(
        geometry,
        prepared.starts,
        points.seats,
        prepared.grid,
        lighting,
        prepared.finishes,
        prepared.arrays.fabric,
        ledger,
        spill,
        pooling=pooling,
        threads=threads,
    )
    if prepared.arrays.lamps.names:
        lamps = _lamps(prepared, ledger, lamp_key(seed, low_path), replications=replications, pooling=pooling, threads=threads)
        sums = beside(sums, lamps)
    if prepared.behind is not None and prepared.arrays.behind is not None:
        sums = with_light_from_behind(
            sums, prepared.behind, prepared.arrays, prepared.finishes, traced_pictures(), ledger,
            seed=seed, low_path=low_path, replications=replications, survival=_survival_behind(prepared), threads=threads,
        )  # fmt: skip
    return sums.reshape(replications, len(prepared.starts.place), *sums.shape[1:])


def _lamps(prepared: Prepared, ledger: Ledger, key: np.uint64, *, replications: int, pooling: bool, threads: int) -> np.ndarray:
    """Sums of a scene's lamps over a ledger's paths, as `lamp_sums` gives them."""
    arrays, starts, seats, cells = prepared.arrays, prepared.starts, prepared.points.seats, prepared.lamp_cells
    lux = lamps_on_hits(arrays, ledger, cells, key, threads=threads)
    once = once_reflected(arrays, starts, seats, cells, key, replications=replications, threads=threads)
    pool_of, finishes = prepared.grid.pool, prepared.finishes
    return lamp_sums(arrays, starts, seats, pool_of, finishes, ledger, key, lux, once, pooling=pooling, threads=threads)


def _survival_behind(prepared: Prepared) -> float:
    """Probability to go on for paths behind the cloth [1], whose back may be lighter than the room."""
    back = prepared.arrays.behind.fabric.base if prepared.arrays.behind is not None else np.zeros(1)
    return max(prepared.survival, survival_for(back))


def stacked(sums: np.ndarray, paths: int) -> np.ndarray:
    """Replicates (R + 2, 25, T, surfaces, K, C) of luminance [cd/m2] from sums over `paths` paths. Source: `replicates`."""
    means = sums / paths
    kinds = means.shape[4] // 2
    return replicates(means[:, :, :, :, :kinds], means[:, :, :, :, kinds:].mean(axis=0))


def returned_light(
    prepared: Prepared,
    *,
    seed: int,
    enough: Callable[[np.ndarray], bool],
    threads: int = 1,
    most_paths: int = MOST_PATHS,
    first_paths: int = FIRST_PATHS,
    extra_round: bool = True,
    progress: Callable[[int], None] | None = None,
) -> Returned:
    """Trace rounds of doubled paths until `enough(replicates)` holds, then one more round.

    enough       asked after each round with the stacked replicates (R + 2, 25, T, surfaces, 2, C) [cd/m2]
    most_paths, first_paths   cap, and first round, in paths a replication and start
    extra_round  one doubling after the first pass, since stopping at the first pass shortens the intervals
    progress     called after each round with the paths so far, all starts and replications together
    raises       FloatingPointError when a sum is not finite
    Source: the stopping bias of sequential tests; see DEVELOPERS.md.
    """
    sums, done, passed = traced_sums(prepared, seed=seed, low_path=0, paths=first_paths, threads=threads), first_paths, False
    each = REPLICATIONS * len(prepared.starts.place)
    while True:
        stack = stacked(sums, done)
        if progress is not None:
            progress(done * each)
        last, passed = passed, passed or enough(stack)
        if last or (passed and not extra_round) or done * 2 > most_paths:
            return Returned(stack, done * each, passed)
        sums += traced_sums(prepared, seed=seed, low_path=done, paths=done, threads=threads)
        done *= 2


def colour_channels(arrays: SceneArrays) -> Finishes:
    """Reflectances and tint [1] in one channel where all is grey, else in linear RGB.

    Source: a third of the work for grey rooms.
    """
    reflectance, tint = arrays.reflectance, arrays.fabric.tint
    grey = (reflectance == reflectance[:, :1]).all() and (tint == tint[0]).all()
    channels = 1 if grey else 3
    return Finishes(np.ascontiguousarray(reflectance[:, :channels]), np.ascontiguousarray(tint[:channels]))
