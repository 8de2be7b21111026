"""Light that the eye itself scatters over the picture: the veil on black patches of a checkerboard, and the contrast it leaves."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

AGE, PIGMENT = 30.0, 0.5  # years; pigment factor of brown eyes, between 0 (very dark) and 1.2 (light)
STATED_FOR = f"an eye of {AGE:g} years"
LEAST_DEG, MOST_DEG = 0.1, 100.0
_BOARD = 4
_NODES = 8  # on a patch's side: the veil within 1e-4 of itself (tested)


class EyeVeil(NamedTuple):
    """Veil at the middle of a patch of a 4 x 4 checkerboard, over the luminance of the patches that cause it [1]; means over all patches.

    opposite   from all patches of the other colour;  same  from the other patches of its own colour
    """

    opposite: float
    same: float

    def left(self, contrast: float) -> float:
        """Contrast in the eye [1] of a checkerboard that measures `contrast` [1] at the seat.

        Source: derived; white patches at 1 and black ones at 1 / contrast, each with the veil of all others. A patch's own scattered
        light stays its own, so no angle near nought is asked. What lies beside the picture is taken as black.
        """
        black = 1.0 / contrast
        return (1.0 + self.same + self.opposite * black) / (black + self.opposite + self.same * black)

    def slope(self, contrast: float) -> float:
        """d left / d contrast [1]. Source: derivative of `left`."""
        black = 1.0 / contrast
        above, below = 1.0 + self.same + self.opposite * black, black + self.opposite + self.same * black
        return float(((1.0 + self.same) * above - self.opposite * below) * black * black / below**2)


def glare(angle_deg: np.ndarray, *, age: float = AGE, pigment: float = PIGMENT) -> np.ndarray:
    """Equivalent veiling luminance over the illuminance at the eye, across the line of sight [cd/m2 per lx].

    angle_deg  (...) between the line of sight and the glaring light [deg]; 0 outside 0.1 to 100 degrees, where nothing is stated
    Source: CIE 146:2002, general disability glare equation (the equation from memory, its range read second-hand):
    10 / a^3 + (5 / a^2 + 0.1 p / a) (1 + (age / 62.5)^4) + 0.0025 p.
    """
    angle = np.asarray(angle_deg, float)
    within = (angle >= LEAST_DEG) & (angle <= MOST_DEG)
    a = np.where(within, angle, 1.0)
    old = 1.0 + (age / 62.5) ** 4
    return np.where(within, 10.0 / a**3 + (5.0 / a**2 + 0.1 * pigment / a) * old + 0.0025 * pigment, 0.0)


def veils(
    places: np.ndarray, areas: np.ndarray, normal: np.ndarray, eye: np.ndarray, looked_at: np.ndarray, *, age: float = AGE
) -> np.ndarray:
    """Veil that each part of a flat surface lays over the places an eye looks at, over the part's luminance [1].

    places    (N, 3) middles of the parts [m];  areas  (N,) their areas [m2];  normal  (3,) unit, of the surface
    eye       (3,) [m];  looked_at  (M, 3) [m];  age  [years]
    returns   (M, N) [1]
    Source: E = L cos(angle) d(solid angle) across the line of sight, times `glare`.
    """
    way, sight = places - eye, looked_at - eye
    far = np.linalg.norm(way, axis=1)
    solid = np.abs(way @ normal) * areas / far**3
    way, sight = way / far[:, None], sight / np.linalg.norm(sight, axis=1)[:, None]
    sine = np.linalg.norm(np.cross(sight[:, None], way[None]), axis=2)
    cosine = sight @ way.T
    found: np.ndarray = glare(np.degrees(np.arctan2(sine, cosine)), age=age) * np.maximum(cosine, 0.0) * solid
    return found


def board_veil(
    corner: np.ndarray, right: np.ndarray, up: np.ndarray, eye: np.ndarray, *, age: float = AGE, nodes: int = _NODES
) -> EyeVeil:
    """Veil of a 4 x 4 checkerboard as a seat sees it; the pattern and its complement are alike.

    corner    (3,) the picture's lower left corner [m];  right, up  (3,) its sides [m]
    eye       (3,) [m];  age  [years];  nodes  of Gauss's rule on each side of a patch
    Source: `veils` from every patch to the middle of every other, by Gauss's rule.
    """
    at, weight = np.polynomial.legendre.leggauss(nodes)
    along = ((np.arange(_BOARD)[:, None] + 0.5 * (at + 1.0)) / _BOARD).ravel()
    across, normal = np.tile(0.5 * weight / _BOARD, _BOARD), np.cross(right, up)
    middles = (np.arange(_BOARD) + 0.5) / _BOARD
    whole = np.linalg.norm(normal)
    found = veils(
        _places(corner, right, up, along),
        whole * np.outer(across, across).ravel(),
        normal / whole,
        eye,
        _places(corner, right, up, middles),
        age=age,
    )
    from_patch = found.reshape(_BOARD**2, _BOARD, nodes, _BOARD, nodes).sum(axis=(2, 4)).reshape(_BOARD**2, _BOARD**2)
    colour = np.add.outer(np.arange(_BOARD), np.arange(_BOARD)).ravel() % 2
    alike = colour[:, None] == colour[None]
    others = ~np.eye(_BOARD**2, dtype=bool)
    return EyeVeil(*(float((from_patch * chosen).sum() / _BOARD**2) for chosen in (~alike, alike & others)))


def _places(corner: np.ndarray, right: np.ndarray, up: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """Points of the picture at shares [1] of its sides, row by row from below: (N * N, 3) [m]."""
    rows = shares[:, None, None] * up + shares[None, :, None] * right
    return corner + rows.reshape(-1, 3)
