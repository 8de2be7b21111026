"""How visible the folds of a hang are with a fabric: brightness and geometry at the worst seat, low, typical and high folds."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from ...materials.dataclass import dataclass
from ...scenes.cloth.hanging import Hang
from ...scenes.cloth.notes import flat_words
from ...scenes.cloth.surface import LEVELS, Drape, cloth_of
from ...scenes.model import Scene
from ..eye.verdict import verdict
from ..folds.readings import FoldReading, Folds, SeatFolds, fold_readings

NOT_JUDGED = "not judged"  # the verdict on a cloth that has no folds because it is taken as flat
_NOUGHT = 1e-9  # what the arithmetic of a flat cloth leaves of a ratio or a warp


@dataclass(frozen=True)
class Worst:
    """The seat that is worst in one respect: its name, and its figure in that respect's unit; no name and 0 for a flat cloth."""

    seat: str
    value: float


@dataclass(frozen=True)
class FoldSight:
    """Fold readings of every seat with a hang and a fabric; none where the cloth is flat at all levels.

    flat_words  how a flat cloth is told of, after "the cloth"; a cloth taken as flat is not judged, whatever its ratios of 0
    Levels are those of the cloth's estimate: low, typical, high.
    Source: `fold_readings` for every figure, `verdict` for every word.
    """

    hang: Hang
    fabric: str
    seats: tuple[SeatFolds, ...]
    flat_words: str = ""

    @property
    def flat(self) -> bool:
        """True where no level has folds."""
        return not any(seat.levels for seat in self.seats)

    @property
    def ratio(self) -> dict[str, float]:
        """Brightness: modulation over the eye's threshold at the worst seat, by level [1]."""
        return {level: self.brightness(level).value for level in LEVELS}

    @property
    def seat(self) -> dict[str, str]:
        """The worst seat for brightness, by level."""
        return {level: self.brightness(level).seat for level in LEVELS}

    @property
    def by_seat(self) -> dict[str, dict[str, float]]:
        """The ratio at every seat, by level and then by seat [1]."""
        return {level: self.at_seats(level, _ratio) for level in LEVELS}

    @property
    def warp_by_seat(self) -> dict[str, dict[str, float]]:
        """Warp, peak to peak, at every seat, by level and then by seat [arcmin]."""
        return {level: self.at_seats(level, _warp) for level in LEVELS}

    def at_seats(self, level: str, of: Callable[[FoldReading], float]) -> dict[str, float]:
        """A figure of the readings at every seat, in the unit that `of` gives; 0 where the cloth is flat."""
        return {seat.name: of(seat.levels[level]) if level in seat.levels else 0.0 for seat in self.seats}

    def brightness(self, level: str) -> Worst:
        """Ratio to the threshold at the worst seat [1]."""
        return _worst(self.at_seats(level, _ratio))

    def warp(self, level: str) -> Worst:
        """Warp at the worst seat [arcmin]."""
        return _worst(self.at_seats(level, _warp))

    def warp_px(self, level: str) -> float | None:
        """Warp at the worst seat in projector pixels [1]; None where the scene gives no pixels or the cloth is flat."""
        reading = next((s.levels.get(level) for s in self.seats if s.name == self.warp(level).seat), None)
        return None if reading is None else reading.warp.peak_to_peak_px

    def word(self, level: str) -> str:
        """The verdict on brightness in words; NOT_JUDGED for a flat cloth."""
        return NOT_JUDGED if self.flat else verdict(self.ratio[level]).word

    def geometry_word(self, level: str) -> str:
        """The verdict on geometry at the worst seat in words: warp over one arc minute; NOT_JUDGED for a flat cloth."""
        return NOT_JUDGED if self.flat else verdict(_worst(self.at_seats(level, lambda each: each.geometry.ratio)).value).word

    def whole_word(self, level: str) -> str:
        """The worse of the two verdicts. Source: our own rule, a fold seen either way is seen."""
        return verdict(max(self.ratio[level], *self.at_seats(level, lambda each: each.geometry.ratio).values())).word

    @property
    def in_words(self) -> str:
        """Verdicts of the three levels with their figures, brightness and geometry apart."""

        def each(word: Callable[[str], str], figure: Callable[[str], float], unit: str) -> str:
            words = dict.fromkeys(word(level) for level in LEVELS)
            said = next(iter(words)) if len(words) == 1 else " / ".join(word(level) for level in LEVELS)
            return f"{said} ({' / '.join(times(figure(level)) for level in LEVELS)} {unit})"

        bright = each(self.word, lambda level: self.brightness(level).value, "times the threshold")
        warp = each(self.geometry_word, lambda level: self.warp(level).value, "arc minutes of warp")
        return f"low / typical / high folds in brightness {bright}, in geometry {warp}"


def _ratio(reading: FoldReading) -> float:
    return reading.visible.ratio


def _warp(reading: FoldReading) -> float:
    return reading.warp.peak_to_peak_arcmin


def _worst(at_seats: dict[str, float]) -> Worst:
    name = max(at_seats, key=lambda each: at_seats[each])
    return Worst(name, at_seats[name]) if at_seats[name] > _NOUGHT else Worst("", 0.0)


def times(ratio: float) -> str:
    """A ratio to the threshold, or a warp, with two digits, or three from 100 on."""
    return f"{ratio:.0f}" if ratio >= 9.5 else f"{ratio:.2g}"


def sight_of(scene: Scene, folds: Folds) -> FoldSight:
    """The readings that `measure` made of a scene's folds, under the names of its hang and fabric."""
    return FoldSight(scene.screen.hang, scene.screen.fabric.name, folds.seats, flat_words(scene.screen))


def fold_sight(scene: Scene, white_cd_m2: list[float], *, threads: int = 1) -> FoldSight:
    """Visibility of what the scene's hang does to its cloth, in full white.

    white_cd_m2  mean luminance of the flat picture at each seat [cd/m2]
    Source: `fold_readings`, the same that `measure` prints.
    """
    return sight_of(scene, fold_readings(scene, white_cd_m2, threads=threads))


def has_folds(scene: Scene) -> bool:
    """True where the scene's cloth is anything but flat at some level."""
    return any(cloth_of(scene.screen, level).folds for level in LEVELS)


def folds_are_estimates(scene: Scene) -> bool:
    """True where the cloth has folds that nobody stated or measured."""
    return not scene.screen.drape.folds and has_folds(scene)


def without_estimates(scene: Scene) -> Scene:
    """The scene with a flat cloth where its folds are estimates; stated folds stay."""
    if not folds_are_estimates(scene):
        return scene
    return dataclasses.replace(scene, screen=dataclasses.replace(scene.screen, hang=Hang.FIXED_FRAME, drape=Drape()))


def with_hang(scene: Scene, other: Scene) -> Scene:
    """`scene` with the hang and drape of another scene's screen."""
    screen = dataclasses.replace(scene.screen, hang=other.screen.hang, drape=other.screen.drape)
    return dataclasses.replace(scene, screen=screen)
