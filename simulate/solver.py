"""Tracing until the asked error is met: paths are added by doubling, sums are kept, nothing depends on the thread count."""
from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..materials.albedo import directional_albedos
from .estimate import SCRAMBLES, replicates
from .flatten import SceneArrays
from .light.direct import cloth_points, direct_light, directions_to
from .light.ledger import Starts, trace
from .light.litscreen import LitScreen, light_the_screen
from .light.projector import ZONES_RIGHT, ZONES_UP
from .light.walk import Finishes, Lighting, walk
from .light.wallmap import make_grid, zone_map

FIRST_PATHS = 32  # paths a scramble and start in the first round
MOST_PATHS = 1 << 15
MAP_CELLS = 24
WHITE, BOARD = 0, 1  # pictures that are traced; all others in use are linear in them


class Points(NamedTuple):
    """The 25 points of the picture where light is gathered: 16 checkerboard patch centres, then the 9 ISO 21118 points.

    right, up  (25,) from the screen's centre [m];  cloth: where they lie;  seats (25, T, 3) directions to the eyes
    gain (25, T) towards each seat, direct_lx (25,), ambient (25, T) luminance factor for even light from the half-space
    """

    right: np.ndarray
    up: np.ndarray
    cloth: LitScreen
    seats: np.ndarray
    gain: np.ndarray
    direct_lx: np.ndarray
    ambient: np.ndarray


class Returned(NamedTuple):
    """Returned light as replicates: (R + 2, 25, T, surfaces, 2, C) [cd/m2] for white and the plain checkerboard's white patches.

    paths  number of paths traced;  met  True when the asked error was reached before the cap
    """

    replicates: np.ndarray
    paths: int
    met: bool


def patch_levels() -> np.ndarray:
    """The plain 4 x 4 checkerboard on the picture zones (192,), 1 on white patches, top left white as the seats see it.

    Source: ISO/IEC 21118 pattern of 16 equal rectangles.
    """
    row, column = np.divmod(np.arange(ZONES_RIGHT * ZONES_UP), ZONES_RIGHT)
    return ((row * 4 // ZONES_UP + column * 4 // ZONES_RIGHT) % 2 == 0).astype(float)


def board_patches() -> np.ndarray:
    """True for the patch centres (16,) that the plain checkerboard shows white; row by row from top left."""
    row, column = np.divmod(np.arange(16), 4)
    return (row + column) % 2 == 0


def measuring_points(arrays: SceneArrays) -> Points:
    """The 25 points of a scene with what needs no tracing.

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
    ambient = directional_albedos(arrays.fabric, seats.reshape(-1, 3)).reshape(seats.shape[:2])
    return Points(at_right, at_up, cloth, seats, gain, lux, ambient)


def survival_for(reflectance: np.ndarray) -> float:
    """Probability to go on after a hit: fixed, so that later repaints keep a finite variance.

    Source: variance of re-weighted analog roulette is finite only if rho1^2 < rho0; a fixed value is safe for all finishes.
    """
    return 0.8 if reflectance.max() > 0.75 else 0.6


def returned_light(
    arrays: SceneArrays,
    points: Points,
    *,
    seed: int,
    enough: Callable[[np.ndarray], bool],
    threads: int = 1,
    most_paths: int = MOST_PATHS,
    first_paths: int = FIRST_PATHS,
    scrambles: int = SCRAMBLES,
    extra_round: bool = True,
    progress: Callable[[int], None] | None = None,
) -> Returned:
    """Trace rounds of doubled paths until `enough(replicates)` holds, then one more round.

    enough       asked after each round with the stacked replicates
    most_paths   cap, paths a scramble and start
    extra_round  one doubling after the first pass, since stopping at the first pass shortens the intervals
    returns      Returned
    Source: the stopping bias of sequential tests; see DEVELOPERS.md.
    """
    geometry, projector = arrays.geometry, arrays.projector
    grid = make_grid(geometry, projector, cells=MAP_CELLS, shell=True)
    lit = light_the_screen(geometry, projector)
    levels = np.stack([np.ones(ZONES_RIGHT * ZONES_UP), patch_levels()], axis=1)
    zones = zone_map(geometry, grid, lit, arrays.fabric, test_blocked=arrays.objects, threads=threads)
    lighting = Lighting(node_lx=zones @ levels, zone=levels, glow=np.zeros(0))
    finishes = colour_channels(arrays)
    cloth = points.cloth
    starts = Starts(cloth.place, cloth.right, cloth.up, cloth.normal, cloth.patch)
    kinds = levels.shape[1]
    count, done, passed = len(starts.place), 0, False
    sums: np.ndarray | None = None
    while True:
        new = first_paths if done == 0 else done
        ledger = trace(
            geometry,
            starts,
            seed=seed,
            scrambles=scrambles,
            low_path=done,
            paths=new,
            survival=survival_for(arrays.reflectance),
            threads=threads,
        )
        part = walk(
            geometry, starts, points.seats, projector, grid, lighting, finishes, arrays.fabric, ledger, threads=threads
        )
        sums = part if sums is None else sums + part
        done += new
        means = sums.reshape(scrambles, count, *sums.shape[1:]) / done
        stack = replicates(means[:, :, :, :, :kinds], means[:, :, :, :, kinds:].mean(axis=0))
        if progress is not None:
            progress(done * scrambles * count)
        if passed or done * 2 > most_paths:
            return Returned(stack, done * scrambles * count, passed or enough(stack))
        passed = enough(stack)
        if passed and not extra_round:
            return Returned(stack, done * scrambles * count, True)


def colour_channels(arrays: SceneArrays) -> Finishes:
    """Reflectances and tint in one channel where all is grey, else in linear RGB. Source: a third of the work for grey rooms."""
    reflectance, tint = arrays.reflectance, arrays.fabric.tint
    grey = np.ptp(reflectance, axis=1).max() == 0.0 and np.ptp(tint) == 0.0
    channels = 1 if grey else 3
    return Finishes(np.ascontiguousarray(reflectance[:, :channels]), np.ascontiguousarray(tint[:channels]))
