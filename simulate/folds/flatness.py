"""How flat must the screen be: the largest wave amplitude that no seat sees, by wavelength and direction."""
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ...scenes.cloth.cloth import Cloth
from ...scenes.cloth.shape import Across, Growth
from ...scenes.cloth.waves import Wave
from ...scenes.geometry import picture
from ...scenes.model import Scene
from .maps import picture_grid, seat_maps
from .readings import FoldReading, map_reading, pixel_pitch_m

WAVELENGTHS_M = (0.05, 0.075, 0.1, 0.15, 0.2, 0.3, 0.45, 0.6, 0.9)
DIRECTIONS = {"vertical": 0.0, "diagonal": 45.0, "horizontal": 90.0}  # crests, degrees from the vertical
STEEPEST = 0.4  # slope beyond which no wave is tried: cloth that steep is seen by anybody
_FIRST_SLOPE = 0.02
_PERIODS = 3.0


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
class Flatness:
    """All points; `left_out` says which waves have fewer than three periods in the picture."""

    points: tuple[FlatnessPoint, ...]
    left_out: tuple[str, ...]


def flatness(
    scene: Scene,
    white_cd_m2: list[float],
    *,
    wavelengths_m: tuple[float, ...] = WAVELENGTHS_M,
    threads: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> Flatness:
    """The curve of largest invisible amplitudes of even waves with a crest through the middle.

    white_cd_m2  mean luminance of the white picture at each seat [cd/m2]
    progress     called with the waves done and their number
    Source: `worst_place`, `warp_of`; the ratio grows nearly in proportion to the amplitude, so a secant finds its root.
    """
    points, left_out = [], []
    jobs = [(name, angle, wave) for name, angle in DIRECTIONS.items() for wave in wavelengths_m]
    for done, (name, angle, wave) in enumerate(jobs):
        if _periods(scene, angle, wave) < _PERIODS:
            left_out.append(f"{name}, {1e3 * wave:.0f} mm")
        else:
            points.append(_point(scene, white_cd_m2, name, angle, wave, threads))
        if progress is not None:
            progress(done + 1, len(jobs))
    return Flatness(tuple(points), tuple(left_out))


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


def _point(
    scene: Scene, white: list[float], name: str, angle_deg: float, wave_m: float, threads: int
) -> FlatnessPoint:
    most = STEEPEST * wave_m / (2.0 * math.pi)

    def at(amplitude: float) -> tuple[np.ndarray, np.ndarray]:
        found = wave_readings(scene, white, angle_deg=angle_deg, wave_m=wave_m, amplitude_m=amplitude, threads=threads)
        return np.array([r.visible.ratio for r in found]), np.array([r.warp.acuity_ratio for r in found])

    amplitude = _FIRST_SLOPE * wave_m / (2.0 * math.pi)
    seen, warp = at(amplitude)
    # displacement is proportional to height: one look is enough
    worst_warp = int(np.argmax(warp))
    warp_limit = amplitude / float(warp[worst_warp]) if warp[worst_warp] > 0.0 else None
    for _ in range(4):
        ratio = float(seen.max())
        if abs(ratio - 1.0) < 0.02 or (ratio < 1.0 and amplitude >= most):
            break
        amplitude = min(most, amplitude / ratio if ratio > 0.0 else most)
        seen, _ = at(amplitude)
    ratio = float(seen.max())
    limit = None if ratio < 0.9 else amplitude / ratio
    return FlatnessPoint(
        crests=name,
        wavelength_m=wave_m,
        amplitude_m=limit,
        worst_seat=scene.seats[int(np.argmax(seen))].name,
        warp_amplitude_m=warp_limit if warp_limit is not None and warp_limit <= most else None,
        warp_seat=scene.seats[worst_warp].name,
    )
