"""From returned light to what an instrument at each seat would read: luminances, contrasts, wash-out, colour shifts."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..scenes.model import Scene
from .colour import WHITE_UV, chromaticity_uv, luminance
from .estimate import Estimate, estimate, exact, least
from .field import EDGES, GRID, Field
from .flatten import SceneArrays
from .solver import BOARD, WHITE, Points, board_patches

CENTRE = 16 + 4
SIDES = (CENTRE - 1, CENTRE + 1)  # left and right of the nine points, a sixth of the width in from the edges
NINE = slice(16, 25)
BOARD_POINTS = slice(0, 16)


@dataclass(frozen=True)
class Levels:
    """Zone levels of a picture's parts relative to white, and the lens's even veil.

    black   level of a black zone, 1 / native contrast [1]
    veil    added to black zones of the checkerboard (average picture level one half) [1]
    Source: derived: black is 1 / Cn at no picture level and 1 / Cc at one half, and a lens's stray light is linear in the
    picture, so veil = 2 APL (1/Cc - 1/Cn); the white level of a patch already holds its own veil.
    """

    black: float
    veil: float

    @property
    def board_black(self) -> float:
        """Level of a black patch of the checkerboard [1]: 1 / checkerboard contrast where it is given."""
        return self.black + self.veil


def levels_of(scene: Scene) -> Levels:
    """Levels of a scene's projector [1]. Source: ISO/IEC 21118 contrasts as the scene states them."""
    projector = scene.projector
    black = 1.0 / projector.native_contrast
    if projector.checkerboard_contrast is None:
        return Levels(black, 0.0)
    return Levels(black, max(0.0, 1.0 / projector.checkerboard_contrast - black))


@dataclass(frozen=True)
class StateReading:
    """A seat in one light state.

    white, black   luminances at the picture's centre, ambient light included [cd/m2]
    full_on_off    white over black there [1];  checkerboard  from pattern and complement, ambient light included [1]
    """

    name: str
    white: Estimate
    black: Estimate
    full_on_off: Estimate
    checkerboard: Estimate


@dataclass(frozen=True)
class SeatReading:
    """All that is read at one seat, in the dark but for `states`.

    white, direct   "centre", "mean", "min", "max" over the white picture; all light, and the projector's own alone [cd/m2]
    black           at the centre of the black picture [cd/m2]
    uniformity      least of the nine points over the centre [1]
    side_to_centre, brighter_side_to_centre   dimmer and brighter of the left and right of the nine points over the centre [1]
    edge_to_centre, brighter_edge_to_centre   the same 5 % of the picture's width in from its edges [1]
    full_on_off     the projector's native contrast [1]
    checkerboard, checkerboard_one_pattern   from pattern and complement; from the pattern with white at top left alone [1]
    washout         returned light on black patches, mean over the 16 centres [cd/m2];  share  of it by first surface [1]
    shift_white, shift_washout   (du', dv') from the projector's white, at the centre and of the wash-out [1]
    states          one a light state of the scene
    """

    name: str
    white: dict[str, Estimate]
    direct: dict[str, Estimate]
    black: Estimate
    uniformity: Estimate
    side_to_centre: Estimate
    brighter_side_to_centre: Estimate
    edge_to_centre: Estimate
    brighter_edge_to_centre: Estimate
    full_on_off: Estimate
    checkerboard: Estimate
    checkerboard_one_pattern: Estimate
    washout: Estimate
    share: dict[str, Estimate]
    shift_white: tuple[Estimate, Estimate]
    shift_washout: tuple[Estimate, Estimate]
    states: tuple[StateReading, ...]


class Seats:
    """Readings of every seat from one set of replicates.

    returned      (R + 2, 25, T, surfaces, 2, C) returned light [cd/m2], white and the checkerboard's white patches
    by_surface    the same;  white, board  (R + 2, 25, T, C) sums over surfaces [cd/m2]
    direct        (25, T, C) the projector's own light [cd/m2]
    """

    def __init__(self, scene: Scene, arrays: SceneArrays, points: Points, field: Field, returned: np.ndarray) -> None:
        self.scene, self.arrays, self.points, self.field = scene, arrays, points, field
        self.levels = levels_of(scene)
        self.by_surface = returned
        total = returned.sum(axis=3)
        self.white, self.board = total[:, :, :, WHITE], total[:, :, :, BOARD]
        tint = arrays.fabric.tint if returned.shape[-1] == 3 else np.ones(1)
        self.direct = (points.gain * points.direct_lx[:, None] / np.pi)[:, :, None] * tint  # (25, T, C)
        self.tint_luminance = float(luminance(np.asarray(tint)))

    def board_returned(self, returned_white: np.ndarray, returned_board: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Returned light of the plain checkerboard and of its complement [cd/m2].

        returned_white, returned_board   of white and of the checkerboard's white patches alone [cd/m2], any one shape
        Source: light is linear in the picture; black patches send `board_black` of white.
        """
        b = self.levels.board_black
        rest = returned_white - returned_board
        return returned_board + b * rest, rest + b * returned_board

    def checkerboard(self, seat: int, ambient: np.ndarray | float = 0.0) -> tuple[np.ndarray, np.ndarray]:
        """Contrast from pattern and complement, and from the plain pattern alone, as replicates (R + 2,) each [1].

        ambient  (16,) luminance added everywhere [cd/m2]
        Source: ISO/IEC 21118: sum over white patch centres / sum over black ones.
        """
        plain, other = (
            luminance(a[:, BOARD_POINTS, seat]) for a in self.board_returned(self.white, self.board)
        )
        is_white = board_patches()
        white = luminance(self.direct[BOARD_POINTS, seat])
        black = white * self.levels.black + self.levels.veil * self._even_veil(seat)
        lit = ambient + white + np.where(is_white, plain, other)
        dark = ambient + black + np.where(is_white, other, plain)
        one = (ambient + np.where(is_white, white, black) + plain) * np.ones_like(plain)
        return (
            lit.sum(axis=1) / dark.sum(axis=1),
            one[:, is_white].mean(axis=1) / one[:, ~is_white].mean(axis=1),
        )

    def _even_veil(self, seat: int) -> np.ndarray:
        """Luminance (16,) that the mean illuminance of the patches would have: the veil is even, the picture need not be."""
        lux = self.points.direct_lx[BOARD_POINTS].mean()
        return self.points.gain[BOARD_POINTS, seat] * lux / np.pi * self.tint_luminance

    def washout(self, seat: int) -> np.ndarray:
        """Returned light on black patches by first surface, (R + 2, surfaces, C) [cd/m2]: mean over the 16 centres when black.

        Source: `board_returned`; each centre is black in either the pattern or its complement.
        """
        plain, other = self.board_returned(self.by_surface[..., WHITE, :], self.by_surface[..., BOARD, :])
        is_white = board_patches()[:, None, None]
        return np.where(is_white, other[:, BOARD_POINTS, seat], plain[:, BOARD_POINTS, seat]).mean(axis=1)

    @np.errstate(divide="ignore", invalid="ignore")  # where no light falls a ratio is not a number, and is told as such
    def reading(self, seat: int) -> SeatReading:
        """The reading of one seat: luminances [cd/m2], contrasts and ratios [1], in all light states. Source: see SeatReading."""
        white = luminance(self.direct[None, :, seat] + self.white[:, :, seat])
        direct = luminance(self.direct[:, seat])
        both, one = self.checkerboard(seat)
        washout = self.washout(seat)
        washout_sum = luminance(washout.sum(axis=1))
        everywhere, direct_there = self._white_everywhere(seat)
        nine, sides, edges = white[:, NINE], white[:, SIDES], everywhere[:, EDGES]
        between = float(self._between(seat)[EDGES].max() / white[0, CENTRE])
        black = self.levels.black
        centre_rgb = self.direct[None, CENTRE, seat] + self.white[:, CENTRE, seat]
        return SeatReading(
            name=self.scene.seats[seat].name,
            white={"centre": estimate(white[:, CENTRE]), **self._over_the_picture(seat, everywhere, white)},
            direct={
                "centre": exact(direct[CENTRE]),
                "mean": exact(float(direct_there[GRID].mean())),
                "min": exact(float(direct_there.min())),
                "max": exact(float(direct_there.max())),
            },
            black=_scaled(estimate(white[:, CENTRE]), black),
            uniformity=estimate(least(nine) / white[:, CENTRE]),
            side_to_centre=estimate(least(sides) / white[:, CENTRE]),
            brighter_side_to_centre=estimate(least(sides, greatest=True) / white[:, CENTRE]),
            edge_to_centre=_widened(estimate(least(edges) / white[:, CENTRE]), between),
            brighter_edge_to_centre=_widened(estimate(least(edges, greatest=True) / white[:, CENTRE]), between),
            full_on_off=exact(1.0 / black),
            checkerboard=estimate(both),
            checkerboard_one_pattern=estimate(one),
            washout=estimate(washout_sum),
            share=dict(zip(self.arrays.surfaces, shares(luminance(washout)), strict=True)),
            shift_white=_shift(centre_rgb),
            shift_washout=_shift(washout.sum(axis=1)),
            states=tuple(self._state(light.name, light.screen_lx, seat, white) for light in self.scene.lights),
        )

    def _between(self, seat: int) -> np.ndarray:
        """What interpolating the returned light may be wrong by at the field's places, (n,) [cd/m2]."""
        return self.field.surface.bound(luminance(self.white[0, :, seat]))

    def _over_the_picture(self, seat: int, white: np.ndarray, gathered: np.ndarray) -> dict[str, Estimate]:
        """Mean, least and greatest white luminance over the picture.

        white, gathered  replicates (R + 2, n) of the field's places, (R + 2, 25) of the points [cd/m2]
        """
        between = self.field.surface.mean_bound(luminance(self.white[0, :, seat]), GRID)
        bound = np.concatenate([self._between(seat), np.zeros(gathered.shape[1])])
        everywhere = np.concatenate([white, gathered], axis=1)  # no point read elsewhere may lie outside least .. greatest
        return {
            "mean": _widened(estimate(white[:, GRID].mean(axis=1)), between),
            "min": _extreme(everywhere, bound),
            "max": _extreme(everywhere, bound, greatest=True),
        }

    def _white_everywhere(self, seat: int) -> tuple[np.ndarray, np.ndarray]:
        """White luminance of the field's places as replicates (R + 2, n), and the direct part (n,) [cd/m2]."""
        field = self.field
        direct = field.gain[:, seat] * field.direct_lx / np.pi * self.tint_luminance
        return direct + field.surface.at(luminance(self.white[:, :, seat])), direct

    def picture_luminance(self, seat: int) -> tuple[np.ndarray, np.ndarray]:
        """White and direct luminance (n,) of the field's places towards a seat [cd/m2]. Source: `Field`."""
        white, direct = self._white_everywhere(seat)
        return white[0], direct

    def _state(self, name: str, screen_lx: float, seat: int, white: np.ndarray) -> StateReading:
        """One light state: even ambient light, seen with the reflectance at the seat's viewing angle."""
        ambient = screen_lx * self.points.ambient[:, seat] / np.pi * self.tint_luminance
        lit, dark = white[:, CENTRE] + ambient[CENTRE], white[:, CENTRE] * self.levels.black + ambient[CENTRE]
        both, _ = self.checkerboard(seat, ambient[BOARD_POINTS])
        return StateReading(name, estimate(lit), estimate(dark), estimate(lit / dark), estimate(both))


def _widened(value: Estimate, bound: float) -> Estimate:
    """An estimate with what interpolation may be wrong by added to its bias bound."""
    return value._replace(bias_bound=value.bias_bound + bound)


def _extreme(white: np.ndarray, bound: np.ndarray, *, greatest: bool = False) -> Estimate:
    """Least or greatest of replicates (R + 2, n) of luminance at many places; bound (n,) of interpolation there [cd/m2].

    The least of many is that of the few that come near it: the others never are in any half of the scrambles.
    """
    order = np.argsort(-white[0] if greatest else white[0], kind="stable")[:48]
    return _widened(estimate(least(white[:, order], greatest=greatest)), float(bound[order[0]]))


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


def _scaled(value: Estimate, factor: float) -> Estimate:
    return Estimate(*(factor * part for part in value))


def _ratio(part: np.ndarray, whole: np.ndarray) -> np.ndarray:
    """part / whole, 0 where there is nothing to share."""
    part = np.asarray(part, float)
    return np.divide(part, whole, out=np.zeros_like(part), where=np.asarray(whole) > 0.0)


def _shift(rgb: np.ndarray) -> tuple[Estimate, Estimate]:
    """(du', dv') of replicates (R + 2, C) from the projector's white; 0 where there is no light or all is grey."""
    uv = np.nan_to_num(chromaticity_uv(rgb) - WHITE_UV)
    if rgb.shape[-1] == 1:
        uv = np.zeros_like(uv)
    return estimate(uv[:, 0]), estimate(uv[:, 1])


def precise_enough(readings: list[SeatReading], error: float) -> bool:
    """True when every reading meets the asked error.

    error   relative standard error of luminances, contrasts and wash-out [1]; shares absolute, u'v' to 0.0005 [1]
    Source: the project's own scale; wash-out below 1e-6 of white counts as met, least and greatest values are excepted.
    """
    return all(worst_error(reading, error) <= error for reading in readings)


def worst_error(reading: SeatReading, error: float) -> float:
    """The largest standard error of a reading [1], on the scale of the asked `error`: that of u'v' is weighed by error / 0.0005.

    Source: see `precise_enough`.
    """

    def relative(value: Estimate) -> float:
        return value.standard_error / abs(value.value) if value.value else 0.0

    figures = [relative(reading.white[key]) for key in ("centre", "mean")]
    figures += [relative(v) for v in (reading.uniformity, reading.checkerboard, reading.checkerboard_one_pattern)]
    if reading.washout.value > 1e-6 * reading.white["centre"].value:
        figures.append(relative(reading.washout))
        figures += [share.standard_error for share in reading.share.values()]
        figures += [v.standard_error / 0.0005 * error for v in (*reading.shift_white, *reading.shift_washout)]
    for state in reading.states:
        figures += [relative(v) for v in (state.white, state.black, state.full_on_off, state.checkerboard)]
    return max(figures)

