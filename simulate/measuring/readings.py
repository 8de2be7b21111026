"""From returned light to what an instrument at each seat would read: luminances, contrasts, wash-out, colour shifts."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...scenes.model import Light, Scene
from .bars import bars_over_film
from .colour import luminance
from .estimate import Estimate, estimate, exact
from .field import Field
from .flatten import SceneArrays
from .lamps import lamp_shares
from .lens import levels_of
from .quantities import LIT, QUANTITIES, Precision, Quantity, Reading
from .seat_light import SeatLight
from .seat_reading import SeatReading, StateReading
from .solver import BOARD, BOARD_POINTS, CENTRE, NINE, SIDES, WHITE, MeasuringPoints, board_patches

__all__ = ["BOARD_POINTS", "CENTRE", "NINE", "SIDES", "SeatReading", "Seats", "StateReading", "precise_enough", "worst_error"]


class _Board(NamedTuple):
    """The checkerboard's 16 patch centres without ambient light [cd/m2].

    white, black, own  (16,) or (16, T) what the projector itself makes of a white and a black patch, and of each in the plain pattern
    on_white, on_black, plain  (R + 2, 16) or (R + 2, 16, T) returned light: on a centre when white, when black, in the plain pattern
    """

    white: np.ndarray
    black: np.ndarray
    own: np.ndarray
    on_white: np.ndarray
    on_black: np.ndarray
    plain: np.ndarray


class Seats:
    """Readings of every seat from one set of replicates.

    returned      (R + 2, 25, T, surfaces, 2, C) returned light [cd/m2], white and the checkerboard's white patches
    by_surface    the same;  white, board  (R + 2, 25, T, C) sums over surfaces [cd/m2]
    direct        (25, T, C) the projector's own light [cd/m2]
    found         what was read already, by seat, light state and key of the registry; see `SeatLight.of`
    lamps         (R + 2, 25, T, L, C) light of each lamp at full output by way of the room, grey [cd/m2];  lamps_lux the same [lx]
    """

    def __init__(self, scene: Scene, arrays: SceneArrays, points: MeasuringPoints, field: Field, returned: np.ndarray) -> None:
        self.scene, self.arrays, self.points, self.field = scene, arrays, points, field
        self.levels = levels_of(scene)
        self.bars = bars_over_film(scene, arrays.projector)
        self.by_surface = returned
        total = returned.sum(axis=3)
        self.white, self.board = total[:, :, :, WHITE], total[:, :, :, BOARD]
        lamps = (total.shape[3] - 2) // 2  # each one's luminance, then each one's illuminance over pi
        self.lamps, self.lamps_lux = total[:, :, :, 2 : 2 + lamps], np.pi * total[:, :, :, 2 + lamps :]
        tint = arrays.fabric.tint if returned.shape[-1] == 3 else np.ones(1)
        self.direct = (points.gain * points.direct_lx[:, None] / np.pi)[:, :, None] * tint  # (25, T, C)
        self.tint_luminance = float(luminance(np.asarray(tint)))
        self.found: dict[tuple[int, Light | None, str], Reading] = {}
        self._everywhere: tuple[int, tuple[np.ndarray, np.ndarray]] | None = None
        self._boards: dict[int, _Board] = {}

    def ambient(self, seat: int | slice, screen_lx: float) -> np.ndarray:
        """Luminance (25,) [cd/m2] that even light of a screen illuminance [lx] adds towards a seat; (25, T) towards several.

        Source: L = rho(w) E / pi with the fabric's reflectance for even light at the seat's angle.
        """
        if screen_lx == 0.0:
            return np.zeros(self.points.gain[:, seat].shape)
        return screen_lx * self.points.ambient[:, seat] / np.pi * self.tint_luminance

    def lit(self, seat: int, light: Light | None) -> np.ndarray:
        """Luminance that all light of a light state adds towards a seat [cd/m2]: (25,), or (R + 2, 25) where lamps are in it.

        Source: light adds up; what the sum over a lamp's points may be wrong by goes into the bias bound, with the last replicate.
        """
        if light is None:
            return np.zeros(len(self.points.right))
        even = self.ambient(seat, light.screen_lx)
        if not light.traced or self.points.lamps is None:
            return even
        share = lamp_shares(self.scene, light, self.arrays.lamps.names)
        own = self.points.lamps.luminance[:, seat] @ (share * self.lamp_tints)
        found = even + own + self.by_lamp(self.lamps[:, :, seat]) @ share
        found[-1] += self.points.lamps.off[:, seat] @ (share * self.lamp_tints)
        return found

    def lit_lux(self, seat: int, light: Light) -> np.ndarray | Estimate:
        """Illuminance at the screen, mean over the 25 points [lx], of a light state: replicates (R + 2,), exact without lamps."""
        if not light.traced or self.points.lamps is None:
            return exact(light.screen_lx)
        return self.lit_lux_points(seat, light).mean(axis=1)

    def lit_lux_points(self, seat: int, light: Light) -> np.ndarray:
        """Illuminance at the 25 points of a light state with lamps, as replicates (R + 2, 25) [lx]."""
        if self.points.lamps is None:
            return np.full((len(self.white), len(self.points.right)), light.screen_lx)
        share = lamp_shares(self.scene, light, self.arrays.lamps.names)
        return np.asarray(light.screen_lx + self.points.lamps.lux @ share + self.by_lamp(self.lamps_lux[:, :, seat]) @ share)

    def by_lamp(self, light: np.ndarray) -> np.ndarray:
        """Grey light of lamps (..., L, C) in their colours, as luminances or illuminances (..., L). Source: linear RGB adds up."""
        return luminance(light * self.arrays.lamps.colour if light.shape[-1] == 3 else light)

    @property
    def lamp_tints(self) -> np.ndarray:
        """Luminance (L,) [1] of each lamp's colour times the fabric's tint."""
        tint = self.arrays.fabric.tint if self.white.shape[-1] == 3 else np.array([self.tint_luminance] * 3)
        return luminance(self.arrays.lamps.colour * tint)

    def lit_everywhere(self, seat: int, light: Light) -> tuple[np.ndarray, np.ndarray]:
        """What a light state adds at the field's places as replicates (R + 2, n), and what interpolating it may be wrong by (n,) [cd/m2].

        Source: lamps' own light exactly, the rest through the 25 points; `Field`.
        """
        field, known = self.field, np.atleast_2d(self.lit(seat, light))
        own: np.ndarray | float = 0.0
        if light.traced and self.points.lamps is not None and field.lamps is not None:
            weight = lamp_shares(self.scene, light, self.arrays.lamps.names) * self.lamp_tints
            known = known - self.points.lamps.luminance[:, seat] @ weight
            own = field.lamps.luminance[:, seat] @ weight
        return field.surface.at(known) + own, field.surface.bound(known[0])

    def board_levels(self, seat: int | slice, ambient: np.ndarray | float = 0.0) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """White and black luminance of the 16 patch centres from pattern and complement, and of the plain pattern's own picture.

        seat     one, or a slice of them: then the seats are the last axis
        ambient  (16,) or (16, T) luminance added everywhere [cd/m2]
        returns  three of (R + 2, 16) or (R + 2, 16, T) [cd/m2]
        Source: light is linear in the picture; the lens's veil is even, the picture need not be.
        """
        board = self._board(seat)
        lit = ambient + board.white + board.on_white
        dark = ambient + board.black + board.on_black
        return lit, dark, (ambient + board.own + board.plain) * np.ones_like(board.plain)

    def _board(self, seat: int | slice) -> _Board:
        """What no ambient light changes of `board_levels`, kept for each single seat."""
        if not isinstance(seat, slice) and seat in self._boards:
            return self._boards[seat]
        plain, other = self.levels.board_and_complement(
            luminance(self.white[:, BOARD_POINTS, seat]), luminance(self.board[:, BOARD_POINTS, seat])
        )
        white = luminance(self.direct[BOARD_POINTS, seat])
        is_white = board_patches().reshape(-1, *(1,) * (white.ndim - 1))
        black = white * self.levels.black + self.levels.veil * self.even_veil(seat)
        own, on_white, on_black = (np.where(is_white, *two) for two in ((white, black), (plain, other), (other, plain)))
        found = _Board(white, black, own, on_white, on_black, plain)
        if not isinstance(seat, slice):
            self._boards[seat] = found
        return found

    def checkerboard(self, seat: int, ambient: np.ndarray | float = 0.0) -> tuple[np.ndarray, np.ndarray]:
        """Contrast from pattern and complement, and from the plain pattern alone, as replicates (R + 2,) each [1].

        ambient  (16,) luminance added everywhere [cd/m2]
        Source: ISO/IEC 21118: sum over white patch centres / sum over black ones.
        """
        lit, dark, one = self.board_levels(seat, ambient)
        is_white = board_patches()
        return lit.sum(axis=1) / dark.sum(axis=1), one[:, is_white].mean(axis=1) / one[:, ~is_white].mean(axis=1)

    def board_contrast(self, seat: int, ambient: np.ndarray) -> np.ndarray:
        """The first of `checkerboard` alone (R + 2,) [1], for many ambient luminances (16,) [cd/m2] of one seat."""
        board = self._board(seat)
        return np.asarray(
            (ambient + board.white + board.on_white).sum(axis=1) / (ambient + board.black + board.on_black).sum(axis=1)
        )

    def even_veil(self, seat: int | slice) -> np.ndarray:
        """Luminance (16,) or (16, T) [cd/m2] that the mean illuminance of the patches would have, as the lens's veil has it."""
        lux = self.points.direct_lx[BOARD_POINTS].mean()
        return self.points.gain[BOARD_POINTS, seat] * lux / np.pi * self.tint_luminance

    def washout(self, seat: int) -> np.ndarray:
        """Returned light on black patches by first surface, (R + 2, surfaces, C) [cd/m2]: mean over the 16 centres when black.

        Source: `Levels.board_and_complement`; each centre is black in either the pattern or its complement.
        """
        here = self.by_surface[:, BOARD_POINTS, seat]  # one seat's alone: the others' would be thrown away
        plain, other = self.levels.board_and_complement(here[..., WHITE, :], here[..., BOARD, :])
        return np.where(board_patches()[:, None, None], other, plain).mean(axis=1)

    @np.errstate(divide="ignore", invalid="ignore")  # where no light falls a ratio is not a number, and is told as such
    def reading(self, seat: int, *, judged_only: bool = False) -> SeatReading:
        """The reading of one seat: all quantities of the registry, in all light states.

        judged_only  those alone that count for the asked error, for asking whether more paths are wanted: a tenth of the work
        """
        light = SeatLight(self, seat)
        wanted = [each for each in QUANTITIES if each.precision is not Precision.NONE or not judged_only]
        return SeatReading(
            name=self.scene.seats[seat].name,
            values={quantity.key: as_estimate(quantity, light) for quantity in wanted},
            share=dict(zip(self.arrays.surfaces, shares(luminance(light.washout_parts)), strict=True)),
            states=tuple(_state(each.name, SeatLight(self, seat, each), judged_only) for each in self.scene.lights),
        )

    def white_everywhere(self, seat: int) -> tuple[np.ndarray, np.ndarray]:
        """White luminance of the field's places as replicates (R + 2, n), and the direct part (n,) [cd/m2]. Source: `Field`.

        Kept for the seat that was asked last alone: they are large, and are asked for seat by seat.
        """
        kept = self._everywhere
        if kept is not None and kept[0] == seat:
            return kept[1]
        field = self.field
        direct = field.gain[:, seat] * field.direct_lx / np.pi * self.tint_luminance
        found = direct + field.surface.at(luminance(self.white[:, :, seat])), direct
        self._everywhere = seat, found
        return found

    def picture_luminance(self, seat: int) -> tuple[np.ndarray, np.ndarray]:
        """White and direct luminance (n,) of the field's places towards a seat [cd/m2]. Source: `Field`."""
        white, direct = self.white_everywhere(seat)
        return white[0], direct


def _state(name: str, light: SeatLight, judged_only: bool) -> StateReading:
    wanted = [each for each in LIT if each.lit_judged or not judged_only]
    return StateReading(name, {quantity.key: as_estimate(quantity, light) for quantity in wanted})


def as_estimate(quantity: Quantity, light: SeatLight) -> Estimate:
    """A quantity of the registry at a seat, in its own unit."""
    found = light.of(quantity)
    return found if isinstance(found, Estimate) else estimate(found)


def shares(parts: np.ndarray) -> list[Estimate]:
    """Share [1] of each part in the sum of all, with a bias bound that lets every part err against all others.

    parts    (R + 2, n) replicates of light that adds up [any unit], at least 0
    Source: d(a / s) = (da (1 - a/s) - a/s (ds - da)) / s; the maps and fits of different surfaces are wrong independently of each
    other, and where all moved together a share would hardly change.
    """
    whole = parts.sum(axis=1)
    change = np.abs(parts[0] - parts[-1])
    found = []
    for i, moved in enumerate(change):
        value = _ratio(parts[:, i], whole)
        apart = moved * (1.0 - value[0]) + value[0] * (change.sum() - moved)
        bound = float(_ratio(apart, whole[0]))
        found.append(estimate(value)._replace(bias_bound=bound))
    return found


def _ratio(part: np.ndarray, whole: np.ndarray) -> np.ndarray:
    """part / whole, 0 where there is nothing to share."""
    part = np.asarray(part, float)
    return np.divide(part, whole, out=np.zeros_like(part), where=np.asarray(whole) > 0.0)


def precise_enough(readings: list[SeatReading], error: float) -> bool:
    """True when every reading meets the asked error.

    error   relative standard error of luminances, contrasts and wash-out [1]; shares absolute, u'v' to 0.0005 [1]
    Source: the project's own scale; wash-out below 1e-6 of white counts as met, least and greatest values are excepted.
    """
    return all(worst_error(reading, error) <= error for reading in readings)


def worst_error(reading: SeatReading, error: float) -> float:
    """The largest standard error of a reading [1], on the scale of the asked `error`: that of u'v' is weighed by error / 0.0005.

    Source: see `precise_enough`; how a quantity counts stands in the registry.
    """
    dark = reading.washout.value <= 1e-6 * reading.white["centre"].value
    figures = []
    for quantity in QUANTITIES:
        if quantity.precision is Precision.NONE:
            continue
        value = reading.values[quantity.key]
        if quantity.precision is Precision.RELATIVE or (quantity.precision is Precision.OF_WASHOUT and not dark):
            figures.append(_relative(value))
        elif quantity.precision is Precision.UV and not dark:
            figures.append(value.standard_error / 0.0005 * error)
    figures += [] if dark else [share.standard_error for share in reading.share.values()]
    judged = [quantity.key for quantity in LIT if quantity.lit_judged]
    figures += [_relative(state.values[key]) for state in reading.states for key in judged]
    return max(figures)


def _relative(value: Estimate) -> float:
    return value.standard_error / abs(value.value) if value.value else 0.0
