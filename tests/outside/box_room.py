"""A box room with a flat screen, told in plain numbers that every independent method here understands.

Frame: right-handed, metres, origin at the foot of the middle of the screen wall, x right as seen from the seats,
y = -out, z up. Room: x in [-W/2, W/2], y in [-D, 0], z in [0, H]. The screen lies in y = -gap and faces -y.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Colour = float | Sequence[float]
SURFACES = ("front", "back", "left", "right", "ceiling", "floor")
ZONES = 4


@dataclass(frozen=True)
class Solid:
    """A diffuse box: opposite corners [m] in the inside frame, reflectance [1], radiance it emits [W/(m2 sr)]."""

    low_m: tuple[float, float, float]
    high_m: tuple[float, float, float]
    reflectance: Colour
    emitted_radiance: Colour = 0.0


@dataclass(frozen=True)
class Room:
    """Six diffuse walls, named as seen from the seats, and the boxes in the room; grey numbers or linear RGB."""

    width_m: float
    depth_m: float
    height_m: float
    reflectance: Mapping[str, Colour]
    boxes: tuple[Solid, ...] = ()
    emitted_radiance: Mapping[str, Colour] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if set(self.reflectance) != set(SURFACES):
            raise ValueError(f"reflectance must name {SURFACES}, got {tuple(self.reflectance)}")


@dataclass(frozen=True)
class Screen:
    """A flat one-sided diffuse screen; `radiance` is one number or a 4 x 4 map, top row first, left as seen."""

    width_m: float
    height_m: float
    bottom_m: float
    reflectance: Colour
    radiance: float | NDArray[np.float64] = 1.0
    right_m: float = 0.0
    gap_m: float = 0.002
    border_m: float = 0.0
    border_reflectance: Colour = 0.0
    border_radiance: Colour = 0.0

    @property
    def edges_x_m(self) -> NDArray[np.float64]:
        """Vertical zone edges from left to right, shape (5,) [m]."""
        return self.right_m + self.width_m * (np.arange(ZONES + 1) / ZONES - 0.5)

    @property
    def edges_z_m(self) -> NDArray[np.float64]:
        """Horizontal zone edges from bottom to top, shape (5,) [m]."""
        return self.bottom_m + self.height_m * np.arange(ZONES + 1) / ZONES

    @property
    def radiance_map(self) -> NDArray[np.float64]:
        """Radiance of the zones, shape (4, 4), top row first."""
        return np.broadcast_to(np.asarray(self.radiance, dtype=float), (ZONES, ZONES))

    def points(self, right_share: Sequence[float], up_share: Sequence[float]) -> NDArray[np.float64]:
        """Places on the screen, shape (n, 3) [m], top row first; shares of width and height from the lower left."""
        grid = [
            (self.right_m + self.width_m * (u - 0.5), -self.gap_m, self.bottom_m + self.height_m * v)
            for v in sorted(up_share, reverse=True)
            for u in right_share
        ]
        return np.array(grid)

    def zone_centres(self) -> NDArray[np.float64]:
        """Centres of the 4 x 4 zones, shape (16, 3) [m], row by row from the top left."""
        shares = [(i + 0.5) / ZONES for i in range(ZONES)]
        return self.points(shares, shares)

    def nine_points(self) -> NDArray[np.float64]:
        """Centres of nine equal rectangles (the layout of ISO 21118, from memory), shape (9, 3) [m]."""
        shares = [1 / 6, 1 / 2, 5 / 6]
        return self.points(shares, shares)


def checkerboard(*, top_left_white: bool = True) -> NDArray[np.float64]:
    """Map of ones and zeros, shape (4, 4), top row first."""
    odd = np.add.outer(np.arange(ZONES), np.arange(ZONES)) % 2
    return np.asarray(1.0 - odd if top_left_white else odd, dtype=float)
