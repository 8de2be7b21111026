"""What arrives at one seat in one light state, as replicates: the quantities of the registry are read from it."""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from .colour import WHITE_UV, chromaticity_uv, luminance
from .estimate import Estimate, estimate, exact, least
from .field import EDGES, GRID
from .solver import BOARD_POINTS, CENTRE, NINE, SIDES

if TYPE_CHECKING:
    from ...scenes.model import Light
    from .quantities import Quantity, Reading
    from .readings import Seats

_NEAR_THE_LEAST = 48  # places that may be the least in some half of the replications


class SeatLight:
    """One seat of `Seats` in a light state, None for the dark; luminances [cd/m2], R + 2 replicates first."""

    def __init__(self, seats: Seats, seat: int, light: Light | None = None) -> None:
        self.seats, self.seat, self.light = seats, seat, light

    def of(self, quantity: Quantity) -> Reading:
        """A quantity of the registry, read once for all who ask: replicates (R + 2,) or an Estimate, in its own unit."""
        key, found = (self.seat, self.light, quantity.key), self.seats.found
        if key not in found:
            found[key] = quantity.read(self)
        return found[key]

    @cached_property
    def ambient(self) -> np.ndarray:
        """(25,), or (R + 2, 25) with lamps: what the ambient light adds, seen with the fabric's reflectance towards the seat."""
        return self.seats.lit(self.seat, self.light)

    @cached_property
    def white(self) -> np.ndarray:
        """(R + 2, 25) of the white picture, without ambient light."""
        return luminance(self.seats.direct[None, :, self.seat] + self.seats.white[:, :, self.seat])

    @property
    def centre(self) -> np.ndarray:
        """(R + 2,) of the white picture's centre, without ambient light."""
        return self.white[:, CENTRE]

    @property
    def lit_centre(self) -> np.ndarray:
        """(R + 2,) of the white picture's centre, all light."""
        return self.centre + self.ambient[..., CENTRE]

    @property
    def dark_centre(self) -> np.ndarray:
        """(R + 2,) of the black picture's centre, all light."""
        dark = self.centre * self.seats.levels.black + self.ambient[..., CENTRE]
        if self.seats.bars == 0.0:
            return dark
        return dark + self.seats.levels.black * self.seats.bars * luminance(self.seats.white[:, CENTRE, self.seat])

    @property
    def nine(self) -> np.ndarray:
        """(R + 2, 9) at the ISO 21118 points."""
        return self.white[:, NINE]

    @property
    def sides(self) -> np.ndarray:
        """(R + 2, 2) left and right of the nine points."""
        return self.white[:, SIDES]

    @property
    def edges(self) -> np.ndarray:
        """(R + 2, 2) 5 % of the width in from the side edges."""
        return self._places[0][:, EDGES]

    @cached_property
    def full_on_off(self) -> np.ndarray | Estimate:
        """White over black at the centre [1]; in the dark the projector's own, exactly, unless a film's bars send black light back."""
        alone = not self.ambient.any() and self.seats.bars == 0.0
        return exact(1.0 / self.seats.levels.black) if alone else self.lit_centre / self.dark_centre

    @cached_property
    def board(self) -> tuple[np.ndarray, np.ndarray]:
        """(R + 2,) checkerboard contrast [1] from pattern and complement, and from the plain pattern alone."""
        return self.seats.checkerboard(self.seat, self.ambient[..., BOARD_POINTS])

    @property
    def ambient_lux(self) -> np.ndarray | Estimate:
        """(R + 2,) illuminance at the screen, mean over the 25 points [lx]; exact where the state says it."""
        return exact(0.0) if self.light is None else self.seats.lit_lux(self.seat, self.light)

    def ambient_over_mean(self, *, greatest: bool) -> Estimate:
        """Least or greatest luminance of the ambient light over its mean, all over the picture [1]; NaN where there is none.

        Source: uniformity as EN 12464-1 defines it, least over mean (from memory); in the bias bound what interpolation may be wrong by.
        """
        if self.light is None or not self.ambient.any():
            return exact(math.nan)
        there, bound = self.seats.lit_everywhere(self.seat, self.light)
        mean = there[:, GRID].mean(axis=1)
        if len(there) == 1:  # even light: exact
            value = (there.max() if greatest else there.min()) / mean[0]
            return Estimate(float(value), 0.0, float(bound.max() / mean[0]))
        known = self.ambient
        order = np.argsort(-there[0] if greatest else there[0], kind="stable")[:_NEAR_THE_LEAST]
        places = np.concatenate([there[:, order], known], axis=1)
        return _widened(estimate(least(places, greatest=greatest) / mean), float(bound[order[0]] / mean[0]))

    @cached_property
    def washout_parts(self) -> np.ndarray:
        """(R + 2, surfaces, C) wash-out by first surface."""
        return self.seats.washout(self.seat)

    @cached_property
    def washout(self) -> np.ndarray:
        """(R + 2,) returned light on black patches, mean over the 16 centres."""
        return luminance(self.washout_parts.sum(axis=1))

    @property
    def shift_white(self) -> np.ndarray:
        """(R + 2, 2) of white at the centre, du' and dv' from the projector's white [1]."""
        return _shift(self.seats.direct[None, CENTRE, self.seat] + self.seats.white[:, CENTRE, self.seat])

    @property
    def shift_washout(self) -> np.ndarray:
        """(R + 2, 2) of the wash-out, du' and dv' from the projector's white [1]."""
        return _shift(self.washout_parts.sum(axis=1))

    @property
    def direct_centre(self) -> float:
        """The projector's own light at the centre."""
        return float(luminance(self.seats.direct[:, self.seat])[CENTRE])

    @property
    def direct_mean(self) -> float:
        """The projector's own light, mean over the picture."""
        return float(self._places[1][GRID].mean())

    @property
    def direct_least(self) -> float:
        """The projector's own light where it is least."""
        return float(self._places[1].min())

    @property
    def direct_greatest(self) -> float:
        """The projector's own light where it is greatest."""
        return float(self._places[1].max())

    @property
    def _places(self) -> tuple[np.ndarray, np.ndarray]:
        return self.seats.white_everywhere(self.seat)

    @cached_property
    def _between(self) -> np.ndarray:
        """(n,) what interpolating the returned light may be wrong by at the field's places."""
        return self.seats.field.surface.bound(luminance(self.seats.white[0, :, self.seat]))

    def widened(self, edges: np.ndarray) -> Estimate:
        """A ratio of edges to the centre [1] with what interpolation may be wrong by in its bias bound."""
        return _widened(estimate(edges), float(self._between[EDGES].max() / self.centre[0]))

    def everywhere(self, which: str) -> Estimate:
        """White over the whole picture: "mean", "min" or "max", with what interpolation may be wrong by in the bias bound."""
        there, _ = self._places
        if which == "mean":
            bound = self.seats.field.surface.mean_bound(luminance(self.seats.white[0, :, self.seat]), GRID)
            return _widened(estimate(there[:, GRID].mean(axis=1)), bound)
        all_bounds = np.concatenate([self._between, np.zeros(self.white.shape[1])])
        all_places = np.concatenate([there, self.white], axis=1)  # no point read elsewhere may lie outside least .. greatest
        return _extreme(all_places, all_bounds, greatest=which == "max")


def _widened(value: Estimate, bound: float) -> Estimate:
    """An estimate with what interpolation may be wrong by added to its bias bound."""
    return value._replace(bias_bound=value.bias_bound + bound)


def _extreme(white: np.ndarray, bound: np.ndarray, *, greatest: bool = False) -> Estimate:
    """Least or greatest of replicates (R + 2, n) of luminance at many places; bound (n,) of interpolation there [cd/m2].

    The least of many is that of the few that come near it: the others never are in any half of the replications.
    """
    order = np.argsort(-white[0] if greatest else white[0], kind="stable")[:_NEAR_THE_LEAST]
    return _widened(estimate(least(white[:, order], greatest=greatest)), float(bound[order[0]]))


def _shift(rgb: np.ndarray) -> np.ndarray:
    """(R + 2, 2) of (du', dv') of replicates (R + 2, C) from the projector's white; 0 where there is no light or all is grey."""
    uv = np.nan_to_num(chromaticity_uv(rgb) - WHITE_UV)
    return np.zeros_like(uv) if rgb.shape[-1] == 1 else uv
