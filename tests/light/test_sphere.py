"""A spherical room on the production kernels: triangles, tree, ledger, map, walk, screen re-hits and connections against closed forms.

Source: in a sphere every point sees every other with the same configuration factor dA / (4 pi R^2), so returned light is
uniform and E = rho_s Phi / (A (1 - mean reflectance)) (integrating-sphere theory; derivation in this docstring).
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
import pytest
import trimesh
from halfgain.materials.solving.solve import fabric_from_pair
from halfgain.simulate.light.charts import Spacing
from halfgain.simulate.light.geometry import DIFFUSE, SCREEN, Geometry
from halfgain.simulate.light.irradiance_cache import zone_map
from halfgain.simulate.light.ledger import Ledger, Starts, trace
from halfgain.simulate.light.mapgrid import MapGrid, line
from halfgain.simulate.light.next_event import connect, lit_patches
from halfgain.simulate.light.patches import frozen, make_geometry
from halfgain.simulate.light.pieces import Pieces
from halfgain.simulate.light.projector import ProjectorArrays
from halfgain.simulate.light.screen_samples import LitScreen, blank_samples
from halfgain.simulate.light.vectors import screen_tangents
from halfgain.simulate.light.walk import Finishes, Lighting, walk

from tests.statistics import mean_and_error, within_standard_errors

RADIUS, SCREEN_AREA, GAIN, LUMENS, NATIVE = 2.2, 2.25, 0.9, 1000.0, 1000.0
WALLS = (0.05, 0.20, 0.50)  # reflectances that are three colour channels of one walk
NO_PROJECTOR = ProjectorArrays(
    *(frozen(np.zeros(s)) for s in (3, (4, 3), 4, 4, 3)), frozen(np.zeros((0, 3))), frozen(np.zeros(2, np.uint8))
)


class Sphere(NamedTuple):
    """An icosphere with a lit cap: geometry, middles and areas of its triangles, the cap's, and its lit halves."""

    geometry: Geometry
    middle: np.ndarray
    area: np.ndarray
    patch: np.ndarray
    half: np.ndarray

    @property
    def lux(self) -> np.ndarray:
        """(cap, 2) illuminance of the cap's triangles for white and for the half-lit picture [lx]."""
        white = LUMENS / self.area[self.patch].sum()
        return np.stack([np.full(len(self.patch), white), white * self.half], axis=1)

    def starts(self) -> Starts:
        """Nine of the cap's middles."""
        at = self.patch[np.linspace(0, len(self.patch) - 1, 9).astype(int)]
        frames = [screen_tangents(tuple(self.geometry.normal[i])) for i in at]
        right, up = (np.array([f[k] for f in frames]) for k in range(2))
        return Starts(self.middle[at], right, up, self.geometry.normal[at], at.astype(np.int32))


def triangles_as_pieces(corner: np.ndarray, u: np.ndarray, v: np.ndarray, *, surface: np.ndarray, role: np.ndarray) -> Geometry:
    """Triangles corner + a u + b v, each a patch with itself for its only piece, as a mesh's are in scenes: found in the tree."""
    patches, tree = (
        make_geometry(corner=corner, edge_u=u, edge_v=v, triangle=np.ones(len(corner)), surface=surface, role=role, asked=asked)
        for asked in ("nothing", "tree")
    )
    own, none = np.arange(len(corner), dtype=np.int32), np.zeros(0, np.int32)
    of_patch = (own, np.full_like(own, -1), own, np.zeros(len(own) + 1, np.int32), none)
    pieces = Pieces(*map(frozen, (tree.plane, tree.edge_u, tree.edge_v, *of_patch)))
    found = {name: getattr(tree, name) for name in ("tree_bounds", "tree_child", "tree_count", "tree_patch")}
    return patches._replace(pieces=pieces, **found)


@cache
def sphere_of(subdivisions: int) -> Sphere:
    """The sphere with a cap about -y, facing +y, grown to the screen's area."""
    mesh = trimesh.creation.icosphere(subdivisions=subdivisions, radius=RADIUS)
    corners = mesh.triangles
    middle, area = corners.mean(axis=1), mesh.area_faces
    order = np.argsort(middle[:, 1] + 1e-9 * middle[:, 0])
    cap = np.zeros(len(corners), bool)
    cap[order[: np.searchsorted(np.cumsum(area[order]), SCREEN_AREA)]] = True
    edges = (corners[:, 0], corners[:, 2] - corners[:, 0], corners[:, 1] - corners[:, 0])  # the inside reflects
    geometry = triangles_as_pieces(*edges, surface=np.where(cap, 1, 0), role=np.where(cap, SCREEN, DIFFUSE))
    patch = np.flatnonzero(cap)
    sector = np.floor(np.arctan2(middle[patch, 2], middle[patch, 0]) / (np.pi / 4)).astype(int) % 2
    half = np.where(sector == 0, 1.0, 0.0)
    half *= 0.5 * area[patch].sum() / (half * area[patch]).sum()  # exactly half the flux, wherever the triangles' edges run
    return Sphere(geometry, middle, area, patch, half)


@cache
def paths_in(subdivisions: int, paths: int, survival: float) -> Ledger:
    """Paths from the cap of the sphere; they know no reflectance, so one ledger serves walls of all kinds."""
    ball = sphere_of(subdivisions)
    return trace(ball.geometry, ball.starts(), seed=3, replications=16, low_path=0, paths=paths, survival=survival, threads=2)


@cache
def sphere(
    subdivisions: int, paths: int, walls: tuple[float, ...] = WALLS, survival: float = 0.6
) -> tuple[np.ndarray, float, float]:
    """Returned illuminance (replications, 2, walls) [lx] for the white and the half-lit cap, the cap's area, and the sphere's [m2]."""
    ball = sphere_of(subdivisions)
    starts = ball.starts()
    fabric = fabric_from_pair(name="test", gain=GAIN, kind="diffuse").arrays()
    ledger = paths_in(subdivisions, paths, survival)
    count = len(starts.place)
    seats = np.tile([0.0, 0.0, 1.0], (count, 1, 1))
    sums = connect(
        ball.geometry, starts, seats, NO_PROJECTOR, lit_patches(ball.geometry, kinds=2, lux=ball.lux), np.ones((1, 2)),
        finishes_of(walls), fabric, ledger, seed=3, low_path=0, self_lit=True, threads=2,
    )  # fmt: skip
    luminance = sums.reshape(16, count, 2, 2, len(walls))  # replication, start, surface, picture, channel (one seat)
    back = luminance.sum(axis=2).mean(axis=1) / paths * np.pi / GAIN
    return back, float(ball.area[ball.patch].sum()), float(ball.area.sum())


def finishes_of(walls: tuple[float, ...]) -> Finishes:
    """Walls of so many reflectances, a colour channel each; the cap's row is not used."""
    return Finishes(np.array([walls, np.zeros(len(walls))]), np.ones(len(walls)))


def grid_on(ball: Sphere) -> MapGrid:
    """Three by three nodes on every triangle of the wall, u and v in 0, 1/2, 1; those with u + v > 1 lie beyond it, in its plane."""
    triangles = np.flatnonzero(ball.geometry.role == DIFFUSE)
    first = np.full(len(ball.middle), -1, np.int32)
    first[triangles] = 9 * np.arange(len(triangles))
    three_even = line(Spacing(0.0, 2, 0.0))
    u, v = (a.ravel()[:, None] for a in np.meshgrid(three_even.axis, three_even.axis, indexing="ij"))
    place = [ball.geometry.corner[i] + u * ball.geometry.edge_u[i] + v * ball.geometry.edge_v[i] for i in triangles]
    three, none = np.full(len(first), 3, np.int32), np.zeros(len(first), np.int32)
    nodes, pool = np.concatenate(place), np.where(first >= 0, first // 9, -1).astype(np.int32)
    return MapGrid(
        *map(
            frozen,
            (first, three, three, none, none, three_even.axis, nodes, np.repeat(triangles, 9).astype(np.int32), nodes, pool),
        ),
        *map(frozen, (none, none, three_even.bins, three_even.per_cell)),
    )


def samples_of(ball: Sphere) -> LitScreen:
    """One sample a triangle of the cap, in two zones: what the half-lit picture lights, and the rest; filled up with samples of no flux."""
    side = int(np.ceil(np.sqrt(len(ball.patch))))
    lit = blank_samples(
        2 * side**2, first=np.zeros(1, np.int64), side=np.array([side]), zone_place=np.zeros((2, 3)), zone_size=np.ones(1)
    )
    for zone, chosen in enumerate((ball.half > 0.0, ball.half == 0.0)):
        at = ball.patch[chosen]
        rows = zone * side**2 + np.arange(len(at))
        lit.place[rows], lit.normal[rows], lit.patch[rows] = ball.middle[at], ball.geometry.normal[at], at
        lit.flux[rows] = LUMENS * ball.area[at] / ball.area[ball.patch].sum()
    return lit


@cache
def map_on(subdivisions: int) -> tuple[MapGrid, np.ndarray]:
    """The nodes on the wall and what each zone of the cap throws on them, (nodes, 2) [lx]; no reflectance of the wall is in it."""
    ball = sphere_of(subdivisions)
    fabric, grid = fabric_from_pair(name="test", gain=GAIN, kind="diffuse").arrays(), grid_on(ball)
    return grid, zone_map(ball.geometry, grid, samples_of(ball), fabric, test_blocked=False, threads=2)


@cache
def walked(subdivisions: int, paths: int) -> np.ndarray:
    """The same by the production walk over a map of first reflections, without the cap's own light on itself: (replications, 2, WALLS) [lx]."""
    ball = sphere_of(subdivisions)
    starts, (grid, zones) = ball.starts(), map_on(subdivisions)
    fabric = fabric_from_pair(name="test", gain=GAIN, kind="diffuse").arrays()
    pictures = np.array([[1.0, ball.half.max()], [1.0, 0.0]])
    lighting = Lighting(node_lx=zones @ pictures, zone=np.ones((1, 2)))
    ledger = paths_in(subdivisions, paths, 0.6)
    count = len(starts.place)
    sums = walk(
        ball.geometry, starts, np.tile([0.0, 0.0, 1.0], (count, 1, 1)), grid, lighting,
        finishes_of(WALLS), fabric, ledger, (np.zeros(0, np.float32), np.zeros(0, np.uint8)), threads=2,
    )  # fmt: skip
    return sums.reshape(16, count, 2, 4, len(WALLS))[..., :2, :].sum(axis=2).mean(axis=1) / paths * np.pi / GAIN


def without_own_light(wall: float, paths: int) -> tuple[np.ndarray, np.ndarray, float]:
    """Returned illuminance [lx] for white and for the half-lit picture, its standard errors, and the expected one for white; wall  one of WALLS.

    The light that the hollow cap throws on itself is left out, as the walk of a flat screen has none.
    Source: I = w rho_w D / (1 - mean reflectance), D = rho_s Phi / A, w the wall's share of the area A (derived).
    """
    walls, channel = 4 * np.pi * RADIUS**2, WALLS.index(wall)
    share = 1 - SCREEN_AREA / walls
    mean = GAIN * (1 - share) + wall * share
    (coarse, coarse_error), (fine, fine_error) = (
        mean_and_error(walked(subdivisions, paths)[..., channel]) for subdivisions in (4, 5)
    )
    exact = share * wall * GAIN * LUMENS / walls / (1 - mean)
    return (4 * fine - coarse) / 3, np.hypot(4 * fine_error, coarse_error) / 3, exact


@pytest.mark.long
@pytest.mark.parametrize("wall", WALLS)
def test_map_and_walk_in_a_spherical_room(wall: float) -> None:
    value, error, exact = without_own_light(wall, 256)
    for picture, part in enumerate((1.0, 0.5)):
        within_standard_errors(value[picture], error[picture], part * exact, bias=1e-3 * part * exact)
        assert error[picture] < 0.005 * part * exact


@pytest.mark.long
@pytest.mark.parametrize(
    "wall, illuminance, contrast", [(0.05, 8.0628024, 53.190798), (0.20, 9.5673532, 45.347680), (0.50, 15.2639981, 29.265055)]
)
def test_checkerboard_contrast_of_a_spherical_room(wall: float, illuminance: float, contrast: float) -> None:
    # Expected: R 2.2 m, cap 2.25 m2 of reflectance 0.9, 1000 lm, native contrast 1000; closed form, recomputed here
    walls = 4 * np.pi * RADIUS**2
    mean = (GAIN * SCREEN_AREA + wall * (walls - SCREEN_AREA)) / walls
    white_lx = LUMENS / SCREEN_AREA
    exact = GAIN * LUMENS * (0.5 + 0.5 / NATIVE) / (walls * (1 - mean))
    assert exact == pytest.approx(illuminance, rel=1e-7)
    assert (white_lx + exact) / (white_lx / NATIVE + exact) == pytest.approx(contrast, rel=1e-7)

    found, errors, contrasts, contrast_errors = [], [], [], []
    for subdivisions in (4, 5):
        every, cap, _ = sphere(subdivisions, 512)
        back = every[..., WALLS.index(wall)]
        lit_lx = LUMENS / cap
        board = back[:, 1] + (back[:, 0] - back[:, 1]) / NATIVE
        mean_lx, error = mean_and_error(board)
        found.append(mean_lx)
        errors.append(error)
        ratio = (lit_lx + board) / (lit_lx / NATIVE + board)
        contrasts.append(ratio.mean())
        contrast_errors.append(ratio.std(ddof=1) / 4)
    # the facets' area, and with it the light, is off by a term in edge length squared: a quarter at each subdivision
    within_standard_errors((4 * found[1] - found[0]) / 3, np.hypot(4 * errors[1], errors[0]) / 3, exact, bias=1e-3 * exact)
    within_standard_errors(
        (4 * contrasts[1] - contrasts[0]) / 3,
        np.hypot(4 * contrast_errors[1], contrast_errors[0]) / 3,
        contrast,
        bias=1e-3 * contrast,
    )
    assert errors[1] < 0.01 * exact


def integrating_sphere(subdivisions: int = 4) -> tuple[float, float, float]:
    """Illuminance [lx], its standard error and the expected one where wall and screen are alike.

    Source: E = Phi rho / (4 pi R^2 (1 - rho)) (integrating-sphere textbook formula).
    """
    back, _, area = sphere(subdivisions, 128, (GAIN,), survival=0.9)  # 0.9^2 / 0.6 > 1 would have no variance to speak of
    value, error = mean_and_error(back[:, 0, 0])
    return float(value), float(error), LUMENS * GAIN / (area * (1 - GAIN))


def test_integrating_sphere_multiplier() -> None:
    value, error, exact = integrating_sphere()
    within_standard_errors(value, error, exact, bias=2e-3 * exact)  # facets of this mesh: 0.2 %
    assert error < 0.01 * exact
