"""Rooms with known answers: configuration factors, a balance of energy, reciprocity; the furnace has its own file."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.light.irradiance_cache import zone_map
from halfgain.simulate.light.ledger import Ledger, Starts, trace
from halfgain.simulate.light.mapgrid import MapGrid, make_grid
from halfgain.simulate.light.screen_samples import light_the_screen
from halfgain.simulate.light.vectors import tangents
from halfgain.simulate.light.walk import Lighting, walk
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.measuring.solver import Prepared

from tests.outside.view_factors import parallel_rectangles, perpendicular_rectangles, point_facing, point_perpendicular
from tests.rooms import box_object, lowered, room
from tests.statistics import mean_and_error, within_standard_errors

NO_SPILL = (np.zeros(0, np.float32), np.zeros(0, np.uint8))


def starts_at(geometry: object, patch: int, u: np.ndarray, v: np.ndarray) -> Starts:
    """Starts on a patch at shares u, v (n,) of its edges."""
    place = geometry.corner[patch] + u[:, None] * geometry.edge_u[patch] + v[:, None] * geometry.edge_v[patch]
    right, up = tangents(tuple(geometry.normal[patch]))
    n = len(u)
    return Starts(
        place, np.tile(right, (n, 1)), np.tile(up, (n, 1)), np.tile(geometry.normal[patch], (n, 1)), np.full(n, patch, np.int32)
    )


def starts_on(geometry: object, patch: int, side: int, rng: np.random.Generator | None = None) -> Starts:
    """side x side starts at the middles of a patch's cells, or with rng anywhere in them."""
    cell = np.arange(side)
    u, v = (a.ravel() + (0.5 if rng is None else rng.random(side**2)) for a in np.meshgrid(cell, cell))
    return starts_at(geometry, patch, u / side, v / side)


def first_surface_shares(geometry: object, ledger: Ledger, surfaces: int) -> np.ndarray:
    """(replications, surfaces) share of the paths whose first hit lies on each surface; the small screen counts as front wall."""
    first = geometry.surface[ledger.patch[ledger.first]].reshape(16, -1)
    first = np.where(first == surfaces - 1, 0, first)
    return np.stack([(first == s).mean(axis=1) for s in range(surfaces)], axis=1)


def bare_box() -> SceneArrays:
    """A room 5 wide, 4 deep, 2.5 high [m]; surfaces front, back, left, right, ceiling, floor; a small screen far in the corner."""
    seat = '[[seat]]\nname = "a"\neye_m = [1.0, 3.0, 1.0]'
    scene = room(
        width=5.0, depth=4.0, height=2.5, screen_width=0.2, bottom=0.01, screen_right=-2.39, lens="[0.0, 2.0, 1.0]", seats=seat
    )
    return flatten(scene)


def traced_shares(arrays: SceneArrays, starts: Starts, paths: int) -> tuple[np.ndarray, np.ndarray]:
    """Share of the first hits on each surface (surfaces,), and its standard error."""
    ledger = trace(arrays.geometry, starts, seed=1, replications=16, low_path=0, paths=paths, survival=0.5)
    return mean_and_error(first_surface_shares(arrays.geometry, ledger, len(arrays.surfaces)))


@pytest.mark.parametrize(
    "start, end, factor",
    [
        # Expected: Howell's catalogue C-11 and C-14 (numbers from memory), tests/outside/view_factors.py
        (5, 4, parallel_rectangles(a_m=5, b_m=4, c_m=2.5)),
        (4, 5, parallel_rectangles(a_m=4, b_m=5, c_m=2.5)),
        (5, 0, perpendicular_rectangles(h_m=2.5, l_m=5, w_m=4)),
        (5, 2, perpendicular_rectangles(h_m=2.5, l_m=4, w_m=5)),
        (2, 3, parallel_rectangles(a_m=4, b_m=2.5, c_m=5)),
    ],
)
def test_first_hits_share_out_as_configuration_factors(start: int, end: int, factor: float) -> None:
    arrays = bare_box()
    mean, error = traced_shares(arrays, starts_on(arrays.geometry, start, 12), 64)
    within_standard_errors(mean[end], error[end], factor, bias=5e-4)  # starts at cell middles, 12 x 12
    assert error[end] < 2e-3


# a point on the floor of `bare_box`, 1.2 m from the left wall and 1.5 m from the front wall [m]
FROM_LEFT_M, FROM_FRONT_M = 1.2, 1.5
# Lambert's contour integral (textbook, from memory): the sum over the corners seen from the foot of the perpendicular
POINT_FACTORS = {
    4: sum(float(point_facing(a_m=a, b_m=b, c_m=2.5)) for a in (1.2, 3.8) for b in (1.5, 2.5)),  # ceiling
    0: sum(float(point_perpendicular(a_m=2.5, b_m=b, c_m=1.5)) for b in (1.2, 3.8)),  # front
    3: sum(float(point_perpendicular(a_m=2.5, b_m=b, c_m=3.8)) for b in (1.5, 2.5)),  # right
}


def traced_from_the_point(paths: int) -> tuple[np.ndarray, np.ndarray]:
    """Share of the first hits from that point on each surface (surfaces,), and its standard error."""
    arrays = bare_box()
    geometry = arrays.geometry
    away = np.array([FROM_LEFT_M - 2.5, FROM_FRONT_M, 0.0]) - geometry.corner[5]
    edges = (geometry.edge_u[5], geometry.edge_v[5])
    starts = starts_at(geometry, 5, *(np.array([abs(away @ e) / (e @ e)]) for e in edges))
    return traced_shares(arrays, starts, paths)


@pytest.mark.parametrize("end", POINT_FACTORS)
def test_first_hits_from_a_point_share_out_as_point_to_rectangle_factors(end: int) -> None:
    mean, error = traced_from_the_point(4096)
    within_standard_errors(mean[end], error[end], POINT_FACTORS[end])
    assert error[end] < 2e-3


def wall_map_over_the_point_factor() -> np.ndarray:
    """Illuminance from a diffuse white screen over E = L pi F, at every node of the map on the back wall."""
    arrays, _, _ = lowered(room())
    lit = light_the_screen(arrays.geometry, arrays.projector)
    grid = make_grid(arrays.geometry, arrays.projector, cells=24, shell=True)
    total = zone_map(arrays.geometry, grid, lit, arrays.fabric, test_blocked=False).sum(axis=1)
    width, height, bottom = 2.4, 1.35, 0.7
    exitance = 0.9 * 1000.0 / (width * height)
    back = grid.patch == 1
    ratios = []
    for place, lux in zip(grid.place[back], total[back], strict=True):
        depth = 6.0 - 0.001
        x, z = np.array([-width / 2, width / 2]) - place[0], np.array([bottom, bottom + height]) - place[2]
        factor = sum(
            sx * sz * point_facing(a_m=x[i], b_m=z[j], c_m=depth) for i, sx in ((0, -1), (1, 1)) for j, sz in ((0, -1), (1, 1))
        )
        ratios.append(lux / (exitance * factor))
    return np.array(ratios)


def test_wall_map_of_a_diffuse_screen_equals_the_point_to_rectangle_factor() -> None:
    # Expected: E = L pi F, point under a corner of a facing rectangle, four corners (Lambert's contour integral)
    assert wall_map_over_the_point_factor() == pytest.approx(1.0, rel=2e-4)


@pytest.mark.parametrize("wall", [2, 3, 4, 5])
def test_wall_map_near_the_screen_is_right_to_a_thousandth(wall: int) -> None:
    # Expected: the same irradiance by brute force, 400 x 225 points of the screen (independent sum, no Gauss rule)
    arrays, _, _ = lowered(
        room(width=2.5, bottom=0.05, height=1.5, lens="[0.0, 4.0, 1.2]", seats='[[seat]]\nname = "a"\neye_m = [0.0, 4.5, 1.0]')
    )
    lit = light_the_screen(arrays.geometry, arrays.projector)
    grid = make_grid(arrays.geometry, arrays.projector, cells=24, shell=True)
    total = zone_map(arrays.geometry, grid, lit, arrays.fabric, test_blocked=False).sum(axis=1)
    x, z = (np.arange(800) + 0.5) / 800 * 2.4 - 1.2, (np.arange(450)[:, None] + 0.5) / 450 * 1.35 + 0.05
    lux, normal = 0.9 * 1000.0 / (x.size * z.size) / np.pi, arrays.geometry.normal[wall]
    nodes = np.flatnonzero((grid.patch == wall) & (total > 0.02 * total.max()))[::17]
    assert len(nodes) > 5
    for node in nodes:
        right, out, up = grid.place[node][0] - x, grid.place[node][1] + 0.001, grid.place[node][2] - z
        square = right**2 + (out**2 + up**2)
        cosines = max(-out, 0.0) * np.maximum(-(right * normal[0] + (out * normal[1] + up * normal[2])), 0)
        assert total[node] == pytest.approx((lux * cosines / square**2).sum(), rel=1e-3)


def surface_starts(
    geometry: object, patches: list[int], count: int, rng: np.random.Generator | None = None
) -> tuple[Starts, np.ndarray]:
    """count x count starts on each patch, at cell middles or with rng anywhere in a cell, and the area [m2] each stands for."""
    parts = [starts_on(geometry, p, count, rng) for p in patches]
    area = [np.linalg.norm(np.cross(geometry.edge_u[p], geometry.edge_v[p])) / count**2 for p in patches]
    return Starts(*(np.concatenate(a) for a in zip(*parts, strict=True))), np.repeat(area, count**2)


def closed_room(crate: bool) -> tuple[SceneArrays, Prepared, int]:
    """Arrays and map of a room whose diffuse screen sends out 900 lm, and the screen's patch."""
    box = box_object("crate", [0.4, 2.0, 0.0], [1.4, 2.8, 0.9], 0.35) if crate else ""
    arrays, _, prepared = lowered(room(objects=box, gap=0.001, border=0.0))
    return arrays, prepared, int(np.flatnonzero(arrays.geometry.role)[0])


def behind_the_screen(starts: Starts) -> np.ndarray:
    """Whether a start lies on the front wall behind the screen, where it is dark (starts,)."""
    x, z = starts.place[:, 0], starts.place[:, 2]
    return (starts.patch == 0) & (np.abs(x) < 1.2) & (z > 0.7) & (z < 2.05)


def returned_lux(arrays: SceneArrays, prepared: Prepared, starts: Starts, ledger: Ledger) -> np.ndarray:
    """Irradiance (replications, starts) [lx] of starts from the room, without the screen's own light."""
    n, paths, surfaces = len(starts.place), int(ledger.paths[0]), len(prepared.finishes.reflectance)
    seats = np.tile([0.0, 0.0, 1.0], (n, 1, 1))
    light = (prepared.grid, prepared.lighting, prepared.finishes)
    sums = walk(arrays.geometry, starts, seats, *light, arrays.fabric, ledger, NO_SPILL, threads=2)
    # a diffuse "fabric" of gain g turns arriving light into L = g E / pi
    return sums.reshape(-1, n, surfaces, 4)[..., 0].sum(axis=2) / paths * np.pi / 0.9


def absorptance(arrays: SceneArrays, prepared: Prepared, starts: Starts, screen: int) -> np.ndarray:
    """What is not given back where each start lies (starts,) [1]."""
    rho = prepared.finishes.reflectance[:, 0]
    return 1.0 - np.where(starts.patch == screen, 0.9, rho[arrays.geometry.surface[starts.patch]])


def absorbed_at_once(arrays: SceneArrays, prepared: Prepared, screen: int, count: int) -> float:
    """Light [lm] that walls and box take of what the screen sends them directly, a sum over count x count middles a patch."""
    fine, area = surface_starts(arrays.geometry, [*range(1, screen)], count)
    return float((starts_direct(arrays, fine) * area * absorptance(arrays, prepared, fine, screen)).sum())


def absorbed_light() -> np.ndarray:
    """Light (replications,) [lm] that walls, a crate and the screen absorb of the 900 lm that a diffuse screen sends out."""
    arrays, prepared, screen = closed_room(crate=True)
    geometry = arrays.geometry
    starts, area = surface_starts(geometry, [*range(screen), screen], 12)
    area[behind_the_screen(starts)] = 0.0  # the sliver that cell middles misjudge is dark, too
    area[starts.patch == 0] *= (4.0 * 2.7 - 2.4 * 1.35) / area[starts.patch == 0].sum()
    ledger = trace(geometry, starts, seed=3, replications=16, low_path=0, paths=64, survival=0.6, threads=2)
    absorbed = returned_lux(arrays, prepared, starts, ledger) * area * absorptance(arrays, prepared, starts, screen)
    return absorbed.sum(axis=1) + absorbed_at_once(arrays, prepared, screen, 64)  # direct light varies faster and costs less


def absorbed_light_start_by_start(count: int, *, crate: bool) -> np.ndarray:
    """The same from 16 independent draws of the starts' places, each start walked alone (16,) [lm].

    A fit over one start's own paths has their mean, so nothing is left of the bias of a fit shared by starts all over a wall.
    """
    arrays, prepared, screen = closed_room(crate)
    rng = np.random.default_rng(5)
    absorbed = np.full(
        16, absorbed_at_once(arrays, prepared, screen, 192)
    )  # 1e-4 of it from 256 x 256, a tenth of a standard error
    for draw in range(16):
        starts, area = surface_starts(arrays.geometry, [*range(screen), screen], count, rng)
        weight = np.where(behind_the_screen(starts), 0.0, area * absorptance(arrays, prepared, starts, screen))
        for i in np.flatnonzero(weight):
            alone = Starts(*(a[i : i + 1] for a in starts))
            ledger = trace(arrays.geometry, alone, seed=10**5 * draw + int(i), replications=1, low_path=0, paths=16, survival=0.6)
            absorbed[draw] += returned_lux(arrays, prepared, alone, ledger)[0, 0] * weight[i]
    return absorbed


def test_energy_of_a_closed_room_balances() -> None:
    # Expected: first law. What the screen sends out is absorbed by walls, boxes and the screen.
    mean, error = mean_and_error(absorbed_light())
    within_standard_errors(
        mean, error, 900.0, bias=900.0 * 1e-3
    )  # midpoints: 12 x 12 a wall for indirect, 64 x 64 for direct light
    assert error < 0.003 * 900.0


def test_energy_of_a_closed_room_balances_start_by_start() -> None:
    # Expected: first law, as above
    mean, error = mean_and_error(absorbed_light_start_by_start(6, crate=True))
    within_standard_errors(mean, error, 900.0)
    assert error < 0.003 * 900.0


def starts_direct(arrays: object, starts: Starts) -> np.ndarray:
    """Irradiance [lx] of starts from the white screen, by the same kernel as the map's nodes."""
    none = np.zeros(0, np.int32)
    grid = MapGrid(
        none,
        none,
        none,
        none,
        none,
        np.zeros(0),
        starts.place,
        starts.patch,
        starts.place,
        none,
        none,
        none,
        none.astype(np.int16),
        np.zeros((2, 0)),
    )
    lit = light_the_screen(arrays.geometry, arrays.projector)
    return zone_map(arrays.geometry, grid, lit, arrays.fabric, test_blocked=True, threads=2).sum(axis=1)


def exchange_of_two_patches(side: int = 6, paths: int = 1024) -> np.ndarray:
    """Light (replications, at, from) that two patches of a diffuse screen, top left and low right, get back from each other.

    side   starts on side x side cell middles of each patch;  paths   from each of them and replication
    """
    arrays, points, prepared = lowered(room(right=0.1, left=0.7, ceiling=0.8, floor=0.1))
    geometry, frame = arrays.geometry, arrays.projector.frame
    width, height = 2.4 / 4, 1.35 / 4
    patches = {"top left": (0, 0), "low right": (3, 2)}
    zone_row, zone_column = np.divmod(np.arange(192), 16)
    zone = np.stack([((zone_row // 3 == r) & (zone_column // 4 == c)) for c, r in patches.values()], axis=1).astype(float)
    s = (np.arange(side) + 0.5) / side
    a, b = (x.ravel() for x in np.meshgrid(s, s))
    place = np.concatenate([
        frame[0] + ((c + a) * width - 1.2)[:, None] * frame[1] + (0.675 - (r + b) * height)[:, None] * frame[2] for c, r in patches.values()
    ])  # fmt: skip
    n = len(place)
    starts = Starts(place, *(np.tile(frame[i], (n, 1)) for i in (1, 2, 3)), np.full(n, points.cloth.patch[0], np.int32))
    zones = zone_map(geometry, prepared.grid, light_the_screen(geometry, arrays.projector), arrays.fabric, test_blocked=False)
    lighting = Lighting(zones @ zone, zone)
    ledger = trace(geometry, starts, seed=4, replications=16, low_path=0, paths=paths, survival=0.6, threads=2)
    seats = np.tile([0.0, 0.0, 1.0], (n, 1, 1))
    sums = walk(geometry, starts, seats, prepared.grid, lighting, prepared.finishes, arrays.fabric, ledger, NO_SPILL, threads=2)
    return sums.reshape(16, 2, side**2, len(prepared.finishes.reflectance), 4)[..., :2].sum(axis=3).mean(axis=2) / paths


def test_returned_light_is_reciprocal_between_two_patches_of_the_screen() -> None:
    # Expected: Helmholtz reciprocity: lumens that b gets back for one lumen from a equal those that a gets from b
    back = exchange_of_two_patches()
    ratio = back[:, 0, 1] / back[:, 1, 0]  # at "top left" from "low right" over the reverse
    mean, error = mean_and_error(ratio)
    within_standard_errors(mean, error, 1.0, bias=1e-3)  # 6 x 6 starts a patch
    assert error < 0.01
    asymmetry = back[:, 0, 0].mean() / back[:, 1, 1].mean()
    assert abs(asymmetry - 1) > 0.1  # the room is not symmetric, so the check can fail
