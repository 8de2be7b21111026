"""How flat must the screen be: the largest wave amplitude that no seat sees, by wavelength and direction."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.cloth.cloth import Cloth
from ...scenes.cloth.creases import Crease
from ...scenes.cloth.edges import EdgeCurl
from ...scenes.cloth.shape import Across, Fold, Growth
from ...scenes.cloth.waves import Wave
from ...scenes.geometry import picture
from ...scenes.model import Scene
from ..light.progress import Progress, say
from .maps import picture_grid, seat_maps
from .readings import FoldReading, level_readings, map_reading, pixel_pitch_m

WAVELENGTHS_M = (0.05, 0.075, 0.1, 0.15, 0.2, 0.3, 0.45, 0.6, 0.9)
DIRECTIONS = {"vertical": 0.0, "diagonal": 45.0, "horizontal": 90.0}  # crests, degrees from the vertical
STEEPEST = 0.4  # slope beyond which no wave is tried: cloth that steep is seen by anybody
_FIRST_SLOPE = 0.02
_PERIODS = 3.0
CREASE_M, CURL_M, ROUNDING_M = 0.06, 0.03, 0.01


@dataclass(frozen=True)
class FlatnessPoint:
    """The limit for one kind of wave.

    amplitude_m       largest amplitude below the threshold of brightness at every seat [m]; None: none that is tried is seen
    worst_seat        the seat that sees it first
    warp_amplitude_m  largest amplitude whose warp stays below one arc minute at every seat [m]; None likewise
    warp_seat         the seat that sees that first
    """

    crests: str
    wavelength_m: float
    amplitude_m: float | None
    worst_seat: str
    warp_amplitude_m: float | None
    warp_seat: str


@dataclass(frozen=True)
class SinglePoint:
    """The limit for one single fold of a width [m]: the largest height below the threshold of brightness at every seat [m].

    height_m  None: none that is tried is seen;  worst_seat  the seat that sees it first
    """

    name: str
    width_m: float
    height_m: float | None
    worst_seat: str


@dataclass(frozen=True)
class Flatness:
    """Limits of waves and of single folds; `left_out` says which waves have fewer than three periods in the picture."""

    points: tuple[FlatnessPoint, ...]
    left_out: tuple[str, ...]
    singles: tuple[SinglePoint, ...]


def flatness(
    scene: Scene,
    white_cd_m2: list[float],
    *,
    wavelengths_m: tuple[float, ...] = WAVELENGTHS_M,
    threads: int = 1,
    progress: Progress | None = None,
) -> Flatness:
    """The curve of largest invisible amplitudes of even waves with a crest through the middle, and heights of single folds.

    white_cd_m2  mean luminance of the white picture at each seat [cd/m2]
    progress     called with a Step that counts the waves
    Source: `worst_place`, `warp_of`; the ratio grows nearly in proportion to the amplitude, so a secant finds its root.
    """
    points, left_out = [], []
    jobs = [(name, angle, wave) for name, angle in DIRECTIONS.items() for wave in wavelengths_m]
    for done, (name, angle, wave) in enumerate(jobs):
        if _periods(scene, angle, wave) < _PERIODS:
            left_out.append(f"{name}, {1e3 * wave:.0f} mm")
        else:
            points.append(_point(scene, white_cd_m2, name, angle, wave, threads))
        say(progress, f"waves, {done + 1} of {len(jobs)}")
    return Flatness(
        tuple(points), tuple(left_out), tuple(_single(scene, white_cd_m2, name, threads) for name in single_folds(scene))
    )


def _periods(scene: Scene, angle_deg: float, wave_m: float) -> float:
    """Periods that the picture holds along its width or its height, whichever holds more."""
    area, t = picture(scene), math.radians(angle_deg)
    return max(area.width_m * abs(math.cos(t)), area.height_m * abs(math.sin(t))) / wave_m


def wave_readings(
    scene: Scene, white_cd_m2: list[float], *, angle_deg: float, wave_m: float, amplitude_m: float, threads: int = 1
) -> list[FoldReading]:
    """Readings of every seat for one even wave over the whole cloth.

    white_cd_m2  mean luminance of the white picture at each seat [cd/m2]
    angle_deg    of the crests from the vertical [deg];  wave_m, amplitude_m  wavelength and amplitude [m]
    Source: see `flatness`.
    """
    width, height = scene.screen.width_m, scene.screen.height_m
    cloth = Cloth(width, height, (Wave(amplitude_m, wave_m, Across(math.radians(angle_deg)), Growth(0.5 * height, height)),))
    columns = int(np.clip(8.0 * width / wave_m, 160, 640))
    grid = picture_grid(scene, columns, round(columns * 9 / 16))
    maps = seat_maps(scene, cloth, grid, threads=threads)
    pitch = pixel_pitch_m(scene)
    return [map_reading(each, grid, white, pitch) for each, white in zip(maps, white_cd_m2, strict=True)]


def single_folds(scene: Scene) -> dict[str, Callable[[float], Fold]]:
    """Single folds by name: each makes one of a height [m]: an upright crease three tenths of the width off the middle, curled sides.

    Widths CREASE_M and CURL_M, rounding ROUNDING_M: our own choice of what cloths show, no source.
    """
    width, height = scene.screen.width_m, scene.screen.height_m
    even = Growth(0.5 * height, height)
    return {
        "upright crease": lambda h: Crease(h, CREASE_M, ROUNDING_M, Across(0.0, 0.3 * width), even),
        "curled sides": lambda h: EdgeCurl(h, CURL_M, ("left", "right"), (0.5 * width, 0.5 * height)),
    }


def single_readings(scene: Scene, white_cd_m2: list[float], name: str, height_m: float, *, threads: int = 1) -> list[FoldReading]:
    """Readings of every seat for one single fold of a height [m] alone on the cloth.

    name  one of `single_folds`;  white_cd_m2  mean luminance of the white picture at each seat [cd/m2]
    Source: see `flatness`.
    """
    cloth = Cloth(scene.screen.width_m, scene.screen.height_m, (single_folds(scene)[name](height_m),))
    return level_readings(scene, cloth, white_cd_m2, threads=threads)


def _limit(ratios: Callable[[float], np.ndarray], first: float, most: float) -> tuple[float | None, int]:
    """The amplitude at which the largest of some ratios is 1, None where it stays below up to `most`; and whose it is.

    Source: secant through nought, since ratios grow nearly in proportion.
    """
    amplitude = first
    seen = ratios(amplitude)
    for _ in range(4):
        ratio = float(seen.max())
        if abs(ratio - 1.0) < 0.02 or (ratio < 1.0 and amplitude >= most):
            break
        amplitude = min(most, amplitude / ratio if ratio > 0.0 else most)
        seen = ratios(amplitude)
    ratio = float(seen.max())
    return (None if ratio < 0.9 else amplitude / ratio), int(np.argmax(seen))


def _single(scene: Scene, white: list[float], name: str, threads: int) -> SinglePoint:
    def ratios(height: float) -> np.ndarray:
        return np.array([r.visible.ratio for r in single_readings(scene, white, name, height, threads=threads)])

    width = CREASE_M if name == "upright crease" else CURL_M
    limit, seat = _limit(ratios, 0.25 * _FIRST_SLOPE * width, 0.5 * STEEPEST * width)
    return SinglePoint(name, width, limit, scene.seats[seat].name)


def _point(scene: Scene, white: list[float], name: str, angle_deg: float, wave_m: float, threads: int) -> FlatnessPoint:
    most, first = (slope * wave_m / (2.0 * math.pi) for slope in (STEEPEST, _FIRST_SLOPE))
    warp: list[np.ndarray] = []

    def ratios(amplitude: float) -> np.ndarray:
        found = wave_readings(scene, white, angle_deg=angle_deg, wave_m=wave_m, amplitude_m=amplitude, threads=threads)
        warp.append(np.array([r.warp.acuity_ratio for r in found]))
        return np.array([r.visible.ratio for r in found])

    limit, seat = _limit(ratios, first, most)
    # displacement is proportional to height: the first look is enough
    worst_warp = int(np.argmax(warp[0]))
    warp_limit = first / float(warp[0][worst_warp]) if warp[0][worst_warp] > 0.0 else None
    return FlatnessPoint(
        crests=name,
        wavelength_m=wave_m,
        amplitude_m=limit,
        worst_seat=scene.seats[seat].name,
        warp_amplitude_m=warp_limit if warp_limit is not None and warp_limit <= most else None,
        warp_seat=scene.seats[worst_warp].name,
    )
