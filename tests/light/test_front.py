"""Rays side by side against each ray by itself: solids of any slant, loose patches, pieces, rays that begin on faces or inside bodies."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np
import pytest
from halfgain.scenes.load import load_scene
from halfgain.simulate.light.front import RayFront, meet, new_front, turn_to_meet
from halfgain.simulate.light.front_pieces import FEW_PIECES
from halfgain.simulate.light.geometry import STACK, Geometry, nearest_hit
from halfgain.simulate.light.numbers import LANES
from halfgain.simulate.light.patches import box_faces, make_geometry, room_shell
from halfgain.simulate.light.solids import solids_of
from halfgain.simulate.measuring.flatten import flatten

from ..rooms import room
from .test_triangles import cushion, with_mesh

MIDDLE = np.array([0.0, -3.0, 1.2])
Parts = list[tuple[np.ndarray, np.ndarray, np.ndarray]]


def slanted(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Six faces of a slanted box in the middle of a room [m], fronts outwards."""
    turn, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    shear = turn * np.sign(np.linalg.det(turn)) @ (np.eye(3) + 0.3 * rng.uniform(-1, 1, (3, 3))) * rng.uniform(0.2, 0.6, 3)
    middle = MIDDLE + rng.uniform(-0.8, 0.8, 3)
    corner, u, v = (np.asarray(part) @ shear.T for part in box_faces((-0.5, -0.5, -0.5), (0.5, 0.5, 0.5)))
    return corner + middle, u, v


def room_of(bodies: Parts, loose: int, rng: np.random.Generator, *, shell: bool = True) -> Geometry:
    """A room 4 x 6 x 2.5 m, or none, with bodies and some loose patches, every second of them a triangle."""
    parts = [*([room_shell(4, 6, 2.5)] if shell else []), *bodies]
    corner, u, v = (np.concatenate(part) for part in zip(*parts, strict=True))
    surface = np.concatenate([np.arange(6) if i == 0 and shell else np.full(len(p[0]), 10 + i) for i, p in enumerate(parts)])
    extra = rng.uniform(-1, 1, (3, loose, 3)) * np.array([1.5, 0.5, 0.5])[:, None, None]
    extra[0] += MIDDLE
    triangle = np.concatenate([np.zeros(len(corner)), np.arange(loose) % 2.0])
    corner, u, v = (np.concatenate([a, b]) for a, b in zip((corner, u, v), extra, strict=True))
    surface = np.concatenate([surface, np.full(loose, 99)])
    box = np.array([[-2.0, -6.0, 0.0], [2.0, 0.0, 2.5]]) if shell else None
    return make_geometry(
        corner=corner, edge_u=u, edge_v=v, triangle=triangle, surface=surface, role=np.zeros(len(corner)), box=box
    )  # fmt: skip


def fronts(geometry: Geometry, rng: np.random.Generator, rounds: int) -> Iterator[RayFront]:
    """Fronts that begin anywhere or on the fronts of what they have met, patch -1 where they are to begin anew."""
    front = new_front()
    front.patch[:] = -1
    for _ in range(rounds):
        fresh = front.patch < 0
        anywhere = rng.uniform([-2, -6, 0], [2, 0, 2.5], (LANES, 3))
        anywhere[: LANES // 2] = MIDDLE + rng.uniform(-1, 1, (LANES // 2, 3))
        front.place[:] = np.where(fresh, anywhere.T, front.place + front.reach * front.way)
        front.skip[:] = front.patch
        front.own[:] = np.where(fresh, -1, geometry.solid_of[front.patch])
        way = rng.normal(size=(3, LANES))
        normal = geometry.normal[front.patch].T
        way *= np.where(~fresh & ((way * normal).sum(axis=0) < 0.0), -1.0, 1.0)  # off the front
        front.way[:] = way / np.linalg.norm(way, axis=0)
        meet(geometry, front, np.int64(LANES))
        yield front


@pytest.mark.parametrize(("bodies", "loose", "shell"), [(0, 0, True), (7, 9, True), (5, 4, False), (3, 65, True)])
def test_rays_side_by_side_meet_what_each_meets_alone(bodies: int, loose: int, shell: bool) -> None:
    rng = np.random.default_rng(5)
    geometry = room_of([slanted(rng) for _ in range(bodies)], loose, rng, shell=shell)
    assert len(geometry.solid) == bodies
    assert len(geometry.loose) == loose
    stack, met, inside = np.empty(STACK, np.int32), 0, 0
    for front in fronts(geometry, rng, 12):
        for i in range(LANES):
            origin, way = tuple(front.place[:, i]), tuple(front.way[:, i])
            t, patch, u, v = nearest_hit(geometry, origin, way, np.int64(front.skip[i]), stack)
            assert patch == front.patch[i]
            if patch < 0:
                continue
            assert [t, u, v] == pytest.approx([front.reach[i], front.u[i], front.v[i]], abs=1e-9)
            met += patch >= 6
            inside += geometry.solid_of[patch] >= 0 and geometry.normal[patch] @ front.way[:, i] > 0.0
        turn_to_meet(geometry, front, np.int64(LANES))
        seen = front.patch >= 0
        faces = np.einsum("ij,ji->i", geometry.normal[front.patch[seen]], front.way[:, seen])
        assert (faces < 0.0).all()
        np.testing.assert_array_equal(front.steps[0, seen], np.floor(np.clip(front.u[seen], 0, 1) * 65535 + 0.5))
    assert (met > 100) == (bodies + loose > 0)
    assert (inside > 4) == (bodies > 0)


@pytest.mark.parametrize("name", ["attic", "l-living-room", "sheet", "many"])
def test_rays_side_by_side_meet_the_pieces_that_each_meets_alone(name: str) -> None:
    """A roof with bodies and parts of surfaces, folded cloth too, a sheet of two sides, and pieces so many that each ray asks the tree.

    From inside a body that stands on the floor, its bottom and the floor are met at one distance: which, no light tells.
    """
    if name in ("sheet", "many"):
        geometry = with_mesh(flatten(room()), cushion(0 if name == "sheet" else 1), 1, sheet=name == "sheet").geometry
    else:
        geometry = flatten(load_scene(name)).geometry
    assert (len(geometry.pieces.plane) > FEW_PIECES) == (name == "many")
    stack, other, met, seen = np.empty(STACK, np.int32), 0, 0, set()
    for front in fronts(geometry, np.random.default_rng(6), 12):
        for i in range(LANES):
            t, patch, u, v = nearest_hit(
                geometry, tuple(front.place[:, i]), tuple(front.way[:, i]), np.int64(front.skip[i]), stack
            )
            met += patch >= 0
            seen.add(int(patch))
            assert (patch < 0) == (front.patch[i] < 0)
            if patch >= 0:
                assert t == pytest.approx(front.reach[i], abs=1e-9)
            if patch != front.patch[i]:
                other += 1
                assert geometry.normal[patch] @ geometry.normal[front.patch[i]] == pytest.approx(-1.0)
            elif patch >= 0:
                assert [u, v] == pytest.approx([front.u[i], front.v[i]], abs=1e-9)
        turn_to_meet(geometry, front, np.int64(LANES))
    assert met > 2000
    assert other < met / 100
    assert len(seen) > 20


def test_only_bodies_with_six_outer_faces_are_solids() -> None:
    corner, u, v = slanted(np.random.default_rng(2))
    first, member, none = np.array([0, 6], np.int32), np.arange(6, dtype=np.int32)[::-1].copy(), np.zeros(6)
    assert len(solids_of(corner, u, v, none, first, member).solid) == 1
    assert len(solids_of(corner, v, u, none, first, member).solid) == 0  # fronts inwards: a room
    moved = corner.copy()
    moved[2] += 1e-3
    assert len(solids_of(moved, u, v, none, first, member).solid) == 0
    twice = np.array([0, 1, 2, 3, 4, 4], np.int32)
    found = solids_of(corner, u, v, none, first, twice)
    assert len(found.solid) == 0
    np.testing.assert_array_equal(found.loose, twice)
    flat = solids_of(corner[:1].repeat(6, 0), u[:1].repeat(6, 0), v[:1].repeat(6, 0), none, first, member)
    assert len(flat.solid) == 0


BOXES = [((-1.0, -3.5, 0.0), (0.5, -2.5, 0.75)), ((0.5, -4.0, 0.25), (1.0, -2.0, 1.25)), ((-1.5, -5.0, 0.0), (-1.0, -4.5, 2.0))]


def along_axes(geometry: Geometry, rng: np.random.Generator, in_planes: bool) -> tuple[np.ndarray, np.ndarray]:
    """Origins [m] and unit directions (n, 3) of rays along one axis or in a plane of two, of either sign of nought; in_planes: in that
    of a face, which lies across an axis."""
    ends = np.concatenate([geometry.corner, geometry.corner + geometry.edge_u + geometry.edge_v])
    low, high = ends.min(axis=0) + 1e-3, ends.max(axis=0) - 1e-3
    origin, way = rng.uniform(low, high, (LANES, 3)), rng.normal(size=(LANES, 3))
    first, second = rng.integers(3, size=LANES), rng.integers(3, size=LANES)
    rays = np.arange(LANES)
    way[rays, first] = way[rays, second] = 0.0
    way[rng.random((LANES, 3)) < 0.5] *= -1.0
    if in_planes:
        for axis in range(3):
            faces = np.unique(ends[:, axis])
            faces = faces[(faces > low[axis]) & (faces < high[axis])]
            mine = first == axis
            origin[mine, axis] = rng.choice(faces, mine.sum())
    return origin, way / np.linalg.norm(way, axis=1)[:, None]


def beside(origin: np.ndarray, way: np.ndarray) -> Iterator[np.ndarray]:
    """Places a hair beside a ray's origin, across the axes that the ray does not run along."""
    steps = [(-1e-6, 0.0, 1e-6) if part == 0.0 else (0.0,) for part in way]
    return (origin + np.array(step) for step in itertools.product(*steps))


@pytest.mark.parametrize("in_planes", [False, True])
@pytest.mark.parametrize("name", ["boxes", "attic", "light-lounge"])
def test_rays_along_faces_meet_what_rays_beside_them_meet(name: str, in_planes: bool) -> None:
    """A ray along a body's side passes it by or meets it as its neighbours do; in the plane of a side it is the limit of those on either hand.

    Solids, pieces and folded cloth; 0 / 0 on the way to a side that is never reached must not hide the sides that are.
    """
    rng = np.random.default_rng(8)
    bodies = [tuple(np.asarray(part) for part in box_faces(*box)) for box in BOXES]
    geometry = room_of(bodies, 0, rng) if name == "boxes" else flatten(load_scene(name)).geometry
    stack, front, met = np.empty(STACK, np.int32), new_front(), 0
    front.skip[:] = front.own[:] = -1
    for _ in range(4):
        origin, way = along_axes(geometry, rng, in_planes)
        front.place[:], front.way[:] = origin.T, way.T
        meet(geometry, front, np.int64(LANES))
        met += int((front.patch >= 6).sum())
        for i in range(LANES):
            alone, _, _, _ = nearest_hit(geometry, tuple(origin[i]), tuple(way[i]), np.int64(-1), stack)
            if not in_planes:
                assert front.reach[i] == pytest.approx(alone, abs=1e-9)
            near = [nearest_hit(geometry, tuple(at), tuple(way[i]), np.int64(-1), stack)[0] for at in beside(origin[i], way[i])]
            for reach in (alone, front.reach[i]):
                assert any(reach == other or abs(reach - other) < 1e-3 for other in near)
    assert met > 50
