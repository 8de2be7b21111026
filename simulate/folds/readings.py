"""How visible a scene's folds are from every seat: low, typical and high shapes, brightness and geometry apart, with verdicts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from typing import NamedTuple

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.cloth.cloth import Cloth
from ...scenes.cloth.estimate import Effect, swung
from ...scenes.cloth.surface import LEVELS, Level, cloth_of, hang_effects
from ...scenes.geometry import raster
from ...scenes.model import Scene
from ..eye.sight import Angles, Visible
from ..eye.threshold import ReadyPattern, ready_pattern, worst_place_of
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


class ReadyMap(NamedTuple):
    """One seat's map of one cloth with all that hangs on no light: brightness ready for the eye, and its warp."""

    brightness: ReadyPattern
    warp: Warp


@dataclass(frozen=True, eq=False)
class ReadyFolds:
    """What readings need that hangs on no light.

    maps  of each different cloth, one a seat;  cloth  its place in `maps` by level; none for a cloth that is flat at all levels
    """

    maps: tuple[tuple[ReadyMap, ...], ...]
    cloth: Mapping[Level, int]
    swings: tuple[SwingReading | None, ...]


def ready_folds(scene: Scene, *, threads: int = 1) -> ReadyFolds:
    """All that readings of folds need of a scene before its light is known. Source: `seat_maps`, `ready_pattern`, `warp_of`."""
    clothes = {level: cloth_of(scene.screen, level) for level in LEVELS}
    different: list[Cloth] = []
    place: dict[Level, int] = {}
    for level, cloth in () if all(cloth.flat for cloth in clothes.values()) else clothes.items():
        same = [i for i, each in enumerate(different) if each.folds == cloth.folds]
        place[level] = same[0] if same else len(different)
        different += [] if same else [cloth]
    maps = tuple(tuple(_ready_maps(scene, cloth, threads)) for cloth in different)
    return ReadyFolds(maps, place, tuple(_swings(scene, hang_effects(scene.screen))))


def fold_readings(
    scene: Scene, white_cd_m2: list[float], *, threads: int = 1, ready: Callable[[], ReadyFolds] | None = None
) -> Folds:
    """Readings of every seat at every level.

    white_cd_m2  mean luminance of the white picture at each seat [cd/m2], for the eye's sensitivity
    ready        gives `ready_folds` of the scene, where they are made already
    Source: `seat_maps`, `worst_place`, `warp_of`; the luminance ratio is that of the projector's own light.
    """
    made = ready_folds(scene, threads=threads) if ready is None else ready()
    # one after the other: thousands of short calls hold the interpreter's lock, so two threads take as long and more CPU time
    read = [[ready_reading(maps[i], white) for maps in made.maps] for i, white in enumerate(white_cd_m2)]
    return Folds(
        seats=tuple(
            SeatFolds(seat.name, {level: read[i][cloth] for level, cloth in made.cloth.items()}, made.swings[i])
            for i, seat in enumerate(scene.seats)
        ),
        effects=hang_effects(scene.screen),
        stated=bool(scene.screen.drape.folds),
        flat=not made.cloth,
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
    maps = _ready_maps(scene, cloth, threads)
    return [ready_reading(each, white) for each, white in zip(maps, white_cd_m2, strict=True)]


def _ready_maps(scene: Scene, cloth: Cloth, threads: int) -> list[ReadyMap]:
    """Of every seat for one cloth."""
    grid, pitch = reading_grid(scene, cloth), pixel_pitch_m(scene)
    maps = seat_maps(scene, cloth, grid, threads=threads)
    return [ready_map(each, grid, pitch) for each in maps]


def map_reading(seen: SeatMap, grid: FoldGrid, white_cd_m2: float, pitch_m: tuple[float, float] | None) -> FoldReading:
    """The reading of one seat's map.

    white_cd_m2  mean luminance of the white picture there [cd/m2]
    pitch_m      (right, up) of a projector pixel on the screen [m], or None
    Source: see `fold_readings`.
    """
    return ready_reading(ready_map(seen, grid, pitch_m), white_cd_m2)


def ready_map(seen: SeatMap, grid: FoldGrid, pitch_m: tuple[float, float] | None) -> ReadyMap:
    """One seat's map made ready for its reading; arguments as of `map_reading`. Source: `ready_pattern`, `warp_of`."""
    angles = Angles(seen.deg_per_m[..., 0], seen.deg_per_m[..., 1])
    arcmin = None
    if pitch_m is not None:
        arcmin = (60.0 * pitch_m[0] * float(angles.deg_right.mean()), 60.0 * pitch_m[1] * float(angles.deg_up.mean()))
    return ReadyMap(
        ready_pattern(seen.luminance_ratio, angles, grid.right_m, grid.up_m),
        warp_of(seen.shift_arcmin, grid.right_m, grid.up_m, arcmin),
    )


def ready_reading(ready: ReadyMap, white_cd_m2: float) -> FoldReading:
    """The reading of a map that is ready, at a mean luminance of the white picture [cd/m2]. Source: `worst_place_of`."""
    return FoldReading(worst_place_of(ready.brightness, max(white_cd_m2, 1e-6)), ready.warp)


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
