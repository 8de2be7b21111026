"""Rooms and furniture given as triangles: the same light as boxes, whatever the triangles; sheets of two sides; parts on walls."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import trimesh
from halfgain.scenes.load import load_scene
from halfgain.scenes.rooms.groups import Triangles, grouped
from halfgain.simulate.light.eyes import eyes_of
from halfgain.simulate.light.geometry import STACK, blocked, nearest_hit
from halfgain.simulate.light.ledger import trace
from halfgain.simulate.light.next_event import connect, lit_patches
from halfgain.simulate.light.patches import LaidPart, make_pieced_geometry, rectangle, room_shell
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.measuring.solver import Prepared, measuring_points, prepare, stacked, traced_sums

from ..rooms import room

PATHS = 256
ROOT = Path(__file__).parents[2]


def triangulated(geometry: object, side: int, which: range) -> Triangles:
    """Parallelograms `which` of a geometry as side x side x 2 triangles each, the diagonals in turn one way and the other."""
    corners, faces, surface = [], [], []
    for k in which:
        for i in range(side):
            for j in range(side):
                at = len(corners)
                corners += [
                    geometry.corner[k] + (i + x) / side * geometry.edge_u[k] + (j + y) / side * geometry.edge_v[k]
                    for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))
                ]
                faces += (
                    [[at, at + 1, at + 2], [at, at + 2, at + 3]]
                    if (i + j) % 2
                    else [[at, at + 1, at + 3], [at + 1, at + 2, at + 3]]
                )
                surface += [geometry.surface[k]] * 2
    count = len(faces)
    return Triangles(np.array(corners), np.array(faces), np.array(surface), np.zeros(count, int), np.zeros(count, bool))


def with_walls_of_triangles(arrays: SceneArrays, side: int) -> SceneArrays:
    """A box room whose six walls are 12 side^2 triangles."""
    geometry = arrays.geometry
    rest = np.arange(6, len(geometry.role))
    mesh = triangulated(geometry, side, range(6))
    found = make_pieced_geometry(
        corner=geometry.corner[rest], edge_u=geometry.edge_u[rest], edge_v=geometry.edge_v[rest],
        surface=geometry.surface[rest], role=geometry.role[rest], meshes=[(mesh, grouped(mesh))],
    )  # fmt: skip
    return arrays._replace(geometry=found, objects=True)


def with_mesh(arrays: SceneArrays, mesh: trimesh.Trimesh, surface: int, *, sheet: bool = False) -> SceneArrays:
    """A mesh more in a room, of an existing surface's finish."""
    geometry, count = arrays.geometry, len(mesh.faces)
    triangles = Triangles(
        np.asarray(mesh.vertices), np.asarray(mesh.faces), np.full(count, surface), np.zeros(count, int), np.full(count, sheet)
    )
    found = make_pieced_geometry(
        corner=geometry.corner, edge_u=geometry.edge_u, edge_v=geometry.edge_v, surface=geometry.surface, role=geometry.role,
        meshes=[(triangles, grouped(triangles))], box=geometry.box,
    )  # fmt: skip
    return arrays._replace(geometry=found, objects=True)


def cushion(subdivisions: int) -> trimesh.Trimesh:
    """A rounded block 1.8 m wide, seen from outside, on the floor of the library's rooms."""
    ball = trimesh.creation.icosphere(subdivisions)
    corners = np.sign(ball.vertices) * np.abs(ball.vertices) ** 0.7
    return trimesh.Trimesh(corners * [0.9, 0.45, 0.44] + [0.9, -2.2, 0.45], ball.faces, process=False)


def prepared_of(arrays: SceneArrays) -> Prepared:
    return prepare(arrays, measuring_points(arrays), threads=2)


def mean_of(replicates: np.ndarray) -> tuple[float, float]:
    """Returned white over points, seats and channels [cd/m2], and its standard error by the jackknife."""
    found = replicates.sum(axis=3)[..., 0, :].mean(axis=(1, 2, 3))
    left_out = found[1:-1]
    spread = (len(left_out) - 1) / len(left_out) * ((left_out - left_out.mean()) ** 2).sum()
    return float(found[0]), float(np.sqrt(spread))


def returned(arrays: SceneArrays, *, paths: int = PATHS, seed: int = 1) -> tuple[float, float]:
    return mean_of(stacked(traced_sums(prepared_of(arrays), seed=seed, low_path=0, paths=paths, threads=2), paths))


def connected(arrays: SceneArrays, *, paths: int, seed: int = 5) -> tuple[float, float]:
    """The same without map and pooling: next-event connections, unbiased."""
    prepared = prepared_of(arrays)
    ledger = trace(
        arrays.geometry,
        prepared.starts,
        seed=seed,
        replications=16,
        low_path=0,
        paths=paths,
        survival=prepared.survival,
        threads=2,
    )
    sums = connect(
        arrays.geometry, prepared.starts, prepared.points.seats, arrays.projector, lit_patches(arrays.geometry, kinds=2),
        prepared.lighting.zone, prepared.finishes, arrays.fabric, ledger, seed=seed, low_path=0, self_lit=False, threads=2,
    )  # fmt: skip
    found = sums.reshape(16, 25, *sums.shape[1:]).sum(axis=3)[..., 0, :].mean(axis=(1, 2, 3)) / paths
    return float(found.mean()), float(found.std(ddof=1) / 4.0)


def agree(one: tuple[float, float], other: tuple[float, float], slack: float = 0.0) -> None:
    assert abs(one[0] - other[0]) < 3.0 * np.hypot(one[1], other[1]) + slack * other[0], (one, other)


@pytest.mark.parametrize("name", ["dark-room", "light-lounge"])
def test_walls_of_12_192_and_6912_triangles_give_the_light_of_a_box(name: str) -> None:
    # Expected: the same room as a box; 0.1 % for the map, which looks from a hair off the walls
    arrays = flatten(load_scene(name))
    box = returned(arrays)
    for side in (1, 4, 24):
        found = with_walls_of_triangles(arrays, side)
        assert len(found.geometry.corner) == len(arrays.geometry.corner)  # coplanar triangles are one patch again
        agree(returned(found), box, 0.001)


def with_bright_furniture(arrays: SceneArrays) -> SceneArrays:
    """All at 0.05 but the left wall's finish, which the furniture of these tests has."""
    reflectance = np.full_like(arrays.reflectance, 0.05)
    reflectance[2] = 0.7
    return arrays._replace(reflectance=reflectance)


@pytest.mark.parametrize("subdivisions", [3, 5])
def test_round_furniture_gives_what_connections_without_a_map_find(subdivisions: int) -> None:
    # Expected: unbiased next-event connections on the same triangles
    found = with_mesh(with_bright_furniture(flatten(load_scene("wide-row"))), cushion(subdivisions), 2)
    agree(returned(found), connected(found, paths=1024), 0.002)


def light_of_170_000_triangles() -> tuple[float, float]:
    """Returned white [cd/m2] and its error with furniture of 170,000 triangles."""
    mesh = cushion(7)
    mesh = trimesh.Trimesh(mesh.vertices, mesh.faces[:170_000], process=False)
    assert len(mesh.faces) == 170_000
    return returned(with_mesh(with_bright_furniture(flatten(load_scene("wide-row"))), mesh, 2))


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read as Linux tells it")
def test_furniture_of_170_000_triangles_takes_less_than_a_gibibyte() -> None:
    # The kernel's own peak of the program's memory: ru_maxrss begins at what the process that starts it had
    peak = "int(next(line.split()[1] for line in open('/proc/self/status') if line.startswith('VmHWM')))"
    program = (
        "from tests.light.test_triangles import light_of_170_000_triangles as light; value, error = light(); "
        f"print(value, error, {peak})"
    )
    found = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True)
    value, error, kibibytes = map(float, found.stdout.split())
    assert 0.0 < error < 0.01 * value
    assert kibibytes < 1024 * 1024


def test_a_thin_sheet_reflects_on_both_sides() -> None:
    # A wall-to-wall sheet half-way down the room, black walls: light of the front side only comes back from it, the back is not seen;
    # turned round it must be the same, and without its second side nothing comes back
    arrays = flatten(room(front=0.0, back=0.0, left=0.0, right=0.0, ceiling=0.0, floor=0.0, lens="[0.0, 2.0, 2.2]",
                          seats='[[seat]]\nname = "m"\neye_m = [0.0, 1.5, 1.2]'))  # fmt: skip
    arrays = arrays._replace(reflectance=np.where(np.arange(len(arrays.reflectance))[:, None] == 1, 0.8, arrays.reflectance))
    corners = np.array([[-2.0, -3.0, 0.0], [2.0, -3.0, 0.0], [2.0, -3.0, 2.7], [-2.0, -3.0, 2.7]])
    one = trimesh.Trimesh(corners, [[0, 1, 2], [0, 2, 3]], process=False)
    other = trimesh.Trimesh(corners, [[0, 2, 1], [0, 3, 2]], process=False)
    both = [returned(with_mesh(arrays, mesh, 1, sheet=True)) for mesh in (one, other)]
    agree(both[0], both[1])
    single = [returned(with_mesh(arrays, mesh, 1))[0] for mesh in (one, other)]
    assert min(single) == 0.0
    assert max(single) == pytest.approx(both[0][0], rel=0.01)


def part_on_the_floor(box: np.ndarray | None) -> object:
    """An empty room of 4 x 6 x 2.5 m with a rug on the floor and a smaller one on it."""
    corner, u, v = room_shell(4.0, 6.0, 2.5)
    for low, x, y in (((-1.0, -4.0, 0.0), 2.0, 2.0), ((0.0, -3.0, 0.0), 0.5, 0.5)):
        one = rectangle(low, (x, 0, 0), (0, y, 0))
        corner, u, v = (np.concatenate(pair) for pair in zip((corner, u, v), one, strict=True))
    return make_pieced_geometry(
        corner=corner, edge_u=u, edge_v=v, surface=np.arange(8), role=np.zeros(8), parts=[LaidPart(6, 5), LaidPart(7, 5)], box=box
    )


@pytest.mark.parametrize("box", [np.array([[-2.0, -6.0, 0.0], [2.0, 0.0, 2.5]]), None], ids=["shell", "in the tree"])
def test_a_ray_meets_the_uppermost_part_of_a_surface(box: np.ndarray | None) -> None:
    geometry, stack = part_on_the_floor(box), np.empty(STACK, np.int32)
    for place, patch in (((-1.5, -1.0), 5), ((-0.5, -3.5), 6), ((0.25, -2.75), 7), ((0.75, -2.25), 6)):
        t, found, u, v = nearest_hit(geometry, (*place, 1.0), (0.0, 0.0, -1.0), np.int64(-1), stack)
        assert (t, found) == (pytest.approx(1.0), patch)
        there = geometry.corner[found] + u * geometry.edge_u[found] + v * geometry.edge_v[found]
        assert there == pytest.approx([*place, 0.0], abs=1e-12)


def test_a_ray_from_a_part_does_not_meet_the_floor_under_it() -> None:
    geometry, stack = part_on_the_floor(None), np.empty(STACK, np.int32)
    low = np.array([0.9, 0.1, 1e-9])
    origin, direction = (0.1, -2.9, -1e-12), tuple(low / np.linalg.norm(low))
    assert nearest_hit(geometry, origin, direction, np.int64(7), stack)[1] == 3
    assert not blocked(geometry, origin, (0.0, 0.0, 1.0), 2.0, np.int64(7), np.int64(-1), stack)


def test_nodes_beyond_a_patch_look_from_its_nearest_place() -> None:
    # An L of two triangles' worth of floor: the frame's far corner lies beyond it
    corners = np.array([[0.0, 0, 0], [2, 0, 0], [2, 1, 0], [1, 1, 0], [1, 2, 0], [0, 2, 0]])
    faces = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5]])
    mesh = Triangles(corners, faces, np.zeros(4, int), np.zeros(4, int), np.zeros(4, bool))
    groups = grouped(mesh)
    assert len(groups.corner) == 1
    none = np.zeros((0, 3))
    geometry = make_pieced_geometry(
        corner=none, edge_u=none, edge_v=none, surface=np.zeros(0, int), role=np.zeros(0, int), meshes=[(mesh, groups)]
    )
    place = np.array([[0.5, 0.5, 0.0], [1.8, 1.5, 0.0]])
    eye = eyes_of(geometry, np.zeros(2, int), place)
    assert eye[0] == pytest.approx(place[0], abs=2e-4)
    assert eye[1] == pytest.approx([1.8, 1.0, 0.0], abs=2e-4)
    assert (eye[:, 2] > 0.0).all()


def test_a_finely_bent_sheet_does_not_become_one_patch() -> None:
    turn = np.linspace(0.0, np.pi, 2000)
    rim = np.stack([np.cos(turn), np.sin(turn), np.zeros_like(turn)], axis=1)
    corners = np.concatenate([rim, rim + np.array([0.0, 0.0, 1.0])])
    i, n = np.arange(len(turn) - 1), len(turn)
    faces = np.concatenate([np.stack([i, i + 1, i + n], axis=1), np.stack([i + 1, i + n + 1, i + n], axis=1)])
    count = len(faces)
    groups = grouped(Triangles(corners, faces, np.zeros(count, int), np.zeros(count, int), np.zeros(count, bool)))
    assert len(groups.corner) > 100
