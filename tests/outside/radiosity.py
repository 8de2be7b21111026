"""Box radiosity with constant patches and exact exchange areas, solved with scipy: light a bare room sends back.

The screen lies in the plane of the front wall (its gap is taken as 0). Grey; no boxes in the room.
"""

from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.linalg import LinearOperator, gmres

from .box_room import SURFACES, Room, Screen
from .view_factors import parallel_exchange, perpendicular_exchange, point_facing, point_perpendicular

Floats = NDArray[np.float64]


class Wall(NamedTuple):
    """One surface cut into cells: fixed axis, its place, and the cell edges on the two other axes (ascending)."""

    axis: int
    at_m: float
    edges: tuple[Floats, Floats]

    def on(self, axis: int) -> Floats:
        """Cell edges along `axis` of the frame [m]."""
        return self.edges[_other_axes(self.axis).index(axis)]

    @property
    def areas(self) -> Floats:
        """Cell areas [m2], first axis major."""
        return np.outer(np.diff(self.edges[0]), np.diff(self.edges[1])).ravel()


class ReturnedLight(NamedTuple):
    """Extrapolated irradiance at the points, and how far halving the patches still moves it.

    finest          irradiance on the finest grid, not extrapolated
    change          largest relative change of the extrapolated irradiance by the last halving
    finest_change   the same of the irradiance not extrapolated; patches   number on the finest grid
    """

    irradiance: Floats
    finest: Floats
    change: float
    finest_change: float
    patches: int


def returned_irradiance(
    room: Room, screen: Screen, points: Floats, *, patch_m: float = 0.6, tolerance: float = 0.002, grids: int = 4
) -> ReturnedLight:
    """Irradiance that the room sends back to points of the screen; patches are halved until the answer stands still.

    points     (n, 3) [m] on the screen; patch_m   largest patch edge of the coarsest grid [m]
    tolerance  largest relative change of the extrapolated answer by one more halving
    returns    ReturnedLight, irradiance shape (n,), in the unit of pi times the screen's radiance
    raises     ValueError for boxes, lamps, colour, a screen outside its wall, or no convergence within `grids` grids
    Source: radiosity equation B = M + rho F B; Richardson extrapolation, as the error falls with patch_m^2.
    """
    _check(room, screen)
    finest: list[Floats] = []
    extrapolated: list[Floats] = []
    for grid in range(grids):
        irradiance, patches = _solve(room, screen, points, patch_m=patch_m, halvings=grid)
        finest.append(irradiance)
        if grid > 0:
            extrapolated.append(finest[-1] + (finest[-1] - finest[-2]) / 3)
        if grid > 1:
            change = _largest_change(extrapolated)
            if change < tolerance:
                return ReturnedLight(extrapolated[-1], finest[-1], change, _largest_change(finest), patches)
    raise ValueError(f"not converged: {grids} grids from {patch_m} m, last change {change:.2g}")


def _check(room: Room, screen: Screen) -> None:
    if room.boxes or room.emitted_radiance:
        raise ValueError("radiosity here knows bare rooms that emit nothing")
    half = screen.width_m / 2 + screen.border_m
    low, high = screen.bottom_m - screen.border_m, screen.bottom_m + screen.height_m + screen.border_m
    if abs(screen.right_m) + half > room.width_m / 2 or low < 0 or high > room.height_m:
        raise ValueError("the screen with its border must lie on the front wall")


def _largest_change(values: list[Floats]) -> float:
    return float(np.max(np.abs(values[-1] / values[-2] - 1)))


def _solve(room: Room, screen: Screen, points: Floats, *, patch_m: float, halvings: int) -> tuple[Floats, int]:
    walls = cut_walls(room, screen, patch_m=patch_m, halvings=halvings)
    reflectance, exitance = _surfaces(room, screen, walls)
    factors = _kept_factors(tuple((name, *wall[:2], *(edges.tobytes() for edges in wall.edges)) for name, wall in walls.items()))
    size = len(exitance)

    def residual(radiosity: Floats) -> Floats:
        return np.asarray(radiosity - reflectance * (factors @ radiosity))

    radiosity, failed = gmres(LinearOperator((size, size), matvec=residual, dtype=float), exitance, rtol=1e-10)
    if failed:
        raise RuntimeError(f"GMRES stopped with code {failed}")
    return _gather(walls, points, radiosity), size


def cut_walls(room: Room, screen: Screen | None, *, patch_m: float, halvings: int = 0) -> dict[str, Wall]:
    """The six walls in cells; the front wall's cells follow the edges of screen, border and zones."""
    x_room = np.array([-room.width_m / 2, room.width_m / 2])
    y_room, z_room = np.array([-room.depth_m, 0.0]), np.array([0.0, room.height_m])

    def cut(stops: Floats) -> Floats:
        return _subdivide(stops, patch_m, 2**halvings)

    # cells shrink towards the screen, where its light falls off fastest: a third of the error of even cells
    y_edges = -room.depth_m * (1 - (cut(y_room) - y_room[0]) / room.depth_m) ** 2

    x_front, z_front = x_room, z_room
    if screen is not None:
        border = screen.border_m * np.array([-1.0, 1.0])
        x_front = np.concatenate([x_room, screen.edges_x_m, screen.edges_x_m[[0, -1]] + border])
        z_front = np.concatenate([z_room, screen.edges_z_m, screen.edges_z_m[[0, -1]] + border])
    return {
        "front": Wall(1, 0.0, (cut(x_front), cut(z_front))),
        "back": Wall(1, -room.depth_m, (cut(x_room), cut(z_room))),
        "left": Wall(0, -room.width_m / 2, (y_edges, cut(z_room))),
        "right": Wall(0, room.width_m / 2, (y_edges, cut(z_room))),
        "ceiling": Wall(2, room.height_m, (cut(x_room), y_edges)),
        "floor": Wall(2, 0.0, (cut(x_room), y_edges)),
    }


def view_factor_matrix(walls: dict[str, Wall]) -> Floats:
    """Factors between all cells [1], shape (n, n), rows sum to 1; walls in the order of SURFACES."""
    areas = [walls[name].areas for name in SURFACES]
    starts = np.concatenate([[0], np.cumsum([len(a) for a in areas])])
    matrix = np.zeros((starts[-1], starts[-1]))
    for i, first in enumerate(SURFACES):
        for j in range(i + 1, len(SURFACES)):
            exchange = _exchange(walls[first], walls[SURFACES[j]])
            rows, columns = slice(starts[i], starts[i + 1]), slice(starts[j], starts[j + 1])
            matrix[rows, columns] = exchange / areas[i][:, None]
            matrix[columns, rows] = exchange.T / areas[j][:, None]
    return matrix


@lru_cache(maxsize=3)  # the grids of one room: finishes and pictures change, its shape seldom does
def _kept_factors(cut: tuple[tuple[str, int, float, bytes, bytes], ...]) -> Floats:
    """`view_factor_matrix` of walls told by name, axis, place and the bytes of their edges."""
    factors = view_factor_matrix({name: Wall(axis, at, (np.frombuffer(a), np.frombuffer(b))) for name, axis, at, a, b in cut})
    factors.flags.writeable = False
    return factors


def _exchange(one: Wall, two: Wall) -> Floats:
    """Area times factor [m2] between the cells of two walls, in each wall's own cell order."""
    if one.axis == two.axis:
        return parallel_exchange(*one.edges, *two.edges, distance_m=abs(one.at_m - two.at_m))
    along = 3 - one.axis - two.axis
    out1, out2 = np.abs(one.on(two.axis) - two.at_m), np.abs(two.on(one.axis) - one.at_m)
    cells = perpendicular_exchange(one.on(along), out1, two.on(along), out2)
    return cells[np.ix_(_own_order(one, along), _own_order(two, along))]


def _own_order(wall: Wall, along: int) -> NDArray[np.int64]:
    """For each cell in the wall's own order, its index in along-major order."""
    shape = [len(edges) - 1 for edges in wall.edges]
    if _other_axes(wall.axis)[0] == along:
        return np.arange(shape[0] * shape[1])
    return np.arange(shape[0] * shape[1]).reshape(shape[1], shape[0]).T.ravel()


def _surfaces(room: Room, screen: Screen, walls: dict[str, Wall]) -> tuple[Floats, Floats]:
    """Reflectance [1] and exitance of every cell, in the order of SURFACES."""
    reflectance = [np.full(len(walls[name].areas), _grey(room.reflectance[name])) for name in SURFACES]
    exitance = [np.zeros_like(values) for values in reflectance]
    centres = [0.5 * (edges[1:] + edges[:-1]) for edges in walls["front"].edges]
    x, z = (grid.ravel() for grid in np.meshgrid(*centres, indexing="ij"))
    column, row_up = np.searchsorted(screen.edges_x_m, x) - 1, np.searchsorted(screen.edges_z_m, z) - 1
    lit = (column >= 0) & (column < 4) & (row_up >= 0) & (row_up < 4)
    inside_x = np.abs(x - screen.right_m) < screen.width_m / 2 + screen.border_m
    inside_z = np.abs(z - screen.bottom_m - screen.height_m / 2) < screen.height_m / 2 + screen.border_m
    reflectance[0][inside_x & inside_z] = _grey(screen.border_reflectance)
    reflectance[0][lit] = _grey(screen.reflectance)
    exitance[0][lit] = np.pi * screen.radiance_map[3 - row_up[lit], column[lit]]
    return np.concatenate(reflectance), np.concatenate(exitance)


def _gather(walls: dict[str, Wall], points: Floats, radiosity: Floats) -> Floats:
    """Irradiance at points of the front wall's plane, by exact factors from point to patch."""
    result = []
    for x, _, z in points:
        factors = [np.zeros(len(walls["front"].areas))]
        for name in SURFACES[1:]:
            wall = walls[name]
            if wall.axis == 1:
                corner = point_facing(a_m=wall.on(0)[:, None] - x, b_m=wall.on(2)[None, :] - z, c_m=-wall.at_m)
            elif wall.axis == 0:
                distance = abs(wall.at_m - x)
                corner = point_perpendicular(a_m=wall.on(1)[:, None], b_m=wall.on(2)[None, :] - z, c_m=distance)
            else:
                distance = abs(wall.at_m - z)
                corner = point_perpendicular(a_m=wall.on(1)[None, :], b_m=wall.on(0)[:, None] - x, c_m=distance)
            factors.append(np.abs(np.diff(np.diff(corner, axis=0), axis=1)).ravel())
        result.append(np.concatenate(factors) @ radiosity)
    return np.array(result)


def _subdivide(stops: Floats, patch_m: float, multiple: int) -> Floats:
    """Edges through all stops, each interval cut evenly; `multiple` = 2^k halves the patches exactly k times."""
    stops = np.unique(np.round(stops, 12))
    parts = [np.linspace(a, b, multiple * int(np.ceil((b - a) / patch_m - 1e-9)), endpoint=False) for a, b in pairwise(stops)]
    return np.concatenate([*parts, stops[-1:]])


def _other_axes(axis: int) -> tuple[int, int]:
    return ((1, 2), (0, 2), (0, 1))[axis]


def _grey(value: object) -> float:
    channels = np.unique(np.asarray(value, dtype=float))
    if len(channels) != 1:
        raise ValueError(f"radiosity here is grey, got {value}")
    return float(channels[0])
