"""How visible a scene's folds are from every seat: low, typical and high shapes, brightness and geometry apart, with verdicts."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import field

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.cloth.cloth import Cloth
from ...scenes.cloth.estimate import Effect, swung
from ...scenes.cloth.surface import LEVELS, Level, cloth_of, hang_effects
from ...scenes.geometry import raster
from ...scenes.model import Scene
from ..eye.sight import Sight, Visible
from ..eye.threshold import worst_place
from ..eye.verdict import FoldVerdict, verdict
from ..eye.warp import Warp, warp_of
from .maps import COLUMNS, FoldGrid, SeatMap, picture_grid, seat_maps

_SAMPLES_A_WAVE, _LEAST_COLUMNS = 8, 240
_FLAT_GRID = 32, 18  # a flat relief moves and shades nothing: a few places say so


@dataclass(frozen=True)
class FoldReading:
    """One seat, one level: brightness against the eye's threshold, warp against acuity."""

    visible: Visible
    warp: Warp

    @property
    def luminance(self) -> FoldVerdict:
        """Verdict on brightness, by the ratio to the eye's threshold [1]. Source: `verdict`."""
        return verdict(self.visible.ratio)

    @property
    def geometry(self) -> FoldVerdict:
        """Verdict on geometry: warp, peak to peak, over one arc minute [1]. Source: `verdict`."""
        return verdict(self.warp.acuity_ratio)


@dataclass(frozen=True)
class SwingReading:
    """The picture's largest shift at a seat when the bar has swung by swing_m to the seats.

    swing_m      [m];  period_s  of the swing [s]
    shift_arcmin seen from the seat [arcmin];  shift_px  in projector pixels; None where the scene states none
    """

    swing_m: float
    period_s: float
    shift_arcmin: float
    shift_px: float | None


@dataclass(frozen=True)
class SeatFolds:
    """Readings of one seat by level, and what a swing does; no readings for a flat cloth."""

    name: str
    levels: dict[str, FoldReading] = field(default_factory=dict)
    swing: SwingReading | None = None


@dataclass(frozen=True)
class Folds:
    """All seats of a scene.

    stated   True where the scene states its folds: all levels are one shape;  flat  True where no level has any
    effects  what the hang is estimated to do, with sentences
    """

    seats: tuple[SeatFolds, ...]
    effects: tuple[Effect, ...]
    stated: bool
    flat: bool


def fold_readings(scene: Scene, white_cd_m2: list[float], *, threads: int = 1) -> Folds:
    """Readings of every seat at every level.

    white_cd_m2  mean luminance of the white picture at each seat [cd/m2], for the eye's sensitivity
    Source: `seat_maps`, `worst_place`, `warp_of`; the luminance ratio is that of the projector's own light.
    """
    clothes = {level: cloth_of(scene.screen, level) for level in LEVELS}
    effects, stated = hang_effects(scene.screen), bool(scene.screen.drape.folds)
    flat = all(cloth.flat for cloth in clothes.values())
    by_level: dict[Level, list[FoldReading]] = {}
    for level, cloth in () if flat else clothes.items():
        same = next((by_level[other] for other in by_level if clothes[other].folds == cloth.folds), None)
        by_level[level] = level_readings(scene, cloth, white_cd_m2, threads=threads) if same is None else same
    swings = _swings(scene, effects)
    return Folds(
        seats=tuple(
            SeatFolds(seat.name, {} if flat else {level: by_level[level][i] for level in LEVELS}, swings[i])
            for i, seat in enumerate(scene.seats)
        ),
        effects=effects,
        stated=stated,
        flat=flat,
    )


def not_judged(scene: Scene) -> Folds:
    """What stands in place of readings where nobody asked for them: seats without any, effects of the hang as they are."""
    seats = tuple(SeatFolds(seat.name) for seat in scene.seats)
    return Folds(
        seats,
        hang_effects(scene.screen),
        bool(scene.screen.drape.folds),
        all(cloth_of(scene.screen, level).flat for level in LEVELS),
    )


def reading_grid(scene: Scene, cloth: Cloth) -> FoldGrid:
    """A grid, places [m], that gives the finest fold eight samples, between 240 and 640 columns; a few for a flat relief.

    Source: the worst place moves less than 2 % on a finer one (tested).
    """
    if cloth.smooth:
        return picture_grid(scene, *_FLAT_GRID)
    columns = int(np.clip(_SAMPLES_A_WAVE * cloth.width_m / cloth.finest_m, _LEAST_COLUMNS, COLUMNS))
    return picture_grid(scene, columns, round(columns * 9 / 16))


def level_readings(scene: Scene, cloth: Cloth, white_cd_m2: list[float], *, threads: int = 1) -> list[FoldReading]:
    """Readings of every seat for one cloth.

    white_cd_m2  mean luminance of the white picture at each seat [cd/m2]
    Source: see `fold_readings`.
    """
    grid = reading_grid(scene, cloth)
    pitch = pixel_pitch_m(scene)
    maps = seat_maps(scene, cloth, grid, threads=threads)
    with ThreadPoolExecutor(max(1, threads)) as pool:  # transforms and sums, which let go of the interpreter
        return list(pool.map(lambda each, white: map_reading(each, grid, white, pitch), maps, white_cd_m2))


def map_reading(seen: SeatMap, grid: FoldGrid, white_cd_m2: float, pitch_m: tuple[float, float] | None) -> FoldReading:
    """The reading of one seat's map.

    white_cd_m2  mean luminance of the white picture there [cd/m2]
    pitch_m      (right, up) of a projector pixel on the screen [m], or None
    Source: see `fold_readings`.
    """
    right, up = seen.deg_per_m[..., 0], seen.deg_per_m[..., 1]
    arcmin = None if pitch_m is None else (60.0 * pitch_m[0] * float(right.mean()), 60.0 * pitch_m[1] * float(up.mean()))
    return FoldReading(
        worst_place(seen.luminance_ratio, Sight(max(white_cd_m2, 1e-6), right, up), grid.right_m, grid.up_m),
        warp_of(seen.shift_arcmin, grid.right_m, grid.up_m, arcmin),
    )


def pixel_pitch_m(scene: Scene) -> tuple[float, float] | None:
    """Width and height of a projector pixel on the nominal screen [m]; None where the scene gives no pixels. Source: definition."""
    pixels, area = scene.projector.pixels, raster(scene)
    return None if pixels is None else (area.width_m / pixels[0], area.height_m / pixels[1])


def _swings(scene: Scene, effects: tuple[Effect, ...]) -> list[SwingReading | None]:
    """The picture's shift at every seat for the hang's swing; nothing where it does not swing."""
    figures = next((effect.figures for effect in effects if effect.name == "swing"), None)
    hanging = scene.screen.drape.hanging
    if figures is None or hanging is None or figures["swing_m"] <= 0.0:
        return [None] * len(scene.seats)
    grid, pitch = picture_grid(scene, 32, 18), pixel_pitch_m(scene)
    cloth = Cloth(scene.screen.width_m, scene.screen.height_m, (swung(hanging, scene.screen.height_m),))
    found: list[SwingReading | None] = []
    for seen in seat_maps(scene, cloth, grid):
        size = np.hypot(seen.shift_arcmin[..., 0], seen.shift_arcmin[..., 1])
        pixels = None
        if pitch is not None:
            parts = np.abs(seen.shift_arcmin) / (60.0 * np.array(pitch) * seen.deg_per_m)
            pixels = float(np.nanmax(np.hypot(parts[..., 0], parts[..., 1])))
        found.append(SwingReading(figures["swing_m"], figures["period_s"], float(np.nanmax(size)), pixels))
    return found
