"""The tree and the patch tests against a plain search and against trimesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from halfgain.simulate.light.geometry import STACK, Geometry, blocked, nearest_hit, patch_hit
from halfgain.simulate.light.patches import box_faces, make_geometry, rectangle, room_shell


def mesh_geometry(mesh: trimesh.Trimesh) -> Geometry:
    corners = mesh.triangles
    count = len(corners)
    return make_geometry(
        corner=corners[:, 0],
        edge_u=corners[:, 1] - corners[:, 0],
        edge_v=corners[:, 2] - corners[:, 0],
        triangle=np.ones(count),
        surface=np.zeros(count),
        role=np.zeros(count),
    )


def furnished() -> Geometry:
    parts = [
        room_shell(4, 6, 2.5),
        box_faces((-1, -4, 0), (1, -3.2, 0.85)),
        box_faces((-1.9, -3, 0), (-1.5, -2, 0.5)),
        rectangle((-1.2, -0.1, 0.75), (2.4, 0, 0), (0, 0, 1.35)),
    ]
    corner, u, v = (np.concatenate(p) for p in zip(*parts, strict=True))
    zero = np.zeros(len(corner))
    box = np.array([[-2.0, -6.0, 0.0], [2.0, 0.0, 2.5]])
    return make_geometry(corner=corner, edge_u=u, edge_v=v, triangle=zero, surface=zero, role=zero, box=box)


def rays(rng: np.random.Generator, low: list[float], high: list[float], count: int) -> tuple[np.ndarray, np.ndarray]:
    direction = rng.normal(size=(count, 3))
    return rng.uniform(low, high, (count, 3)), direction / np.linalg.norm(direction, axis=1, keepdims=True)


def test_nearest_hit_equals_a_plain_search_over_all_patches() -> None:
    geometry = furnished()
    stack = np.empty(STACK, np.int32)
    origins, directions = rays(np.random.default_rng(1), [-2, -6, 0], [2, 0, 2.5], 500)
    for o, d in zip(origins, directions, strict=True):
        t, patch, u, v = nearest_hit(geometry, tuple(o), tuple(d), -1, stack)
        hits = [(patch_hit(geometry.plane, i, tuple(o), tuple(d), np.inf)[0], i) for i in range(len(geometry.corner))]
        best, expected = min((s, i) for s, i in hits if s > 0)
        assert t == pytest.approx(best, abs=1e-9)
        place = geometry.corner[patch] + u * geometry.edge_u[patch] + v * geometry.edge_v[patch]
        np.testing.assert_allclose(place, o + t * d, atol=1e-9)
        assert patch == expected or t == pytest.approx(best, abs=1e-12)


def moeller_trumbore(corners: np.ndarray, origin: np.ndarray, direction: np.ndarray) -> float:
    """Nearest distance of a ray to triangles (n, 3, 3), infinity when it misses.

    Source: Moeller and Trumbore, J. Graphics Tools 2(1), 1997 (from memory): another formula than the kernels'.
    """
    edge1, edge2 = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    p = np.cross(direction, edge2)
    determinant = (edge1 * p).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        s = origin - corners[:, 0]
        u = (s * p).sum(axis=1) / determinant
        q = np.cross(s, edge1)
        v = (q @ direction) / determinant
        t = (edge2 * q).sum(axis=1) / determinant
        good = (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 1e-7)
    return float(np.where(good, t, np.inf).min())


def test_nearest_hit_on_a_mesh_equals_another_formula() -> None:
    mesh = trimesh.creation.torus(1.0, 0.35, major_sections=24, minor_sections=12)
    geometry = mesh_geometry(mesh)
    stack = np.empty(STACK, np.int32)
    origins, directions = rays(np.random.default_rng(2), [-2, -2, -1], [2, 2, 1], 1000)
    hits = 0
    for o, d in zip(origins, directions, strict=True):
        expected = moeller_trumbore(mesh.triangles, o, d)
        t, patch, _, _ = nearest_hit(geometry, tuple(o), tuple(d), -1, stack)
        assert (patch >= 0) == np.isfinite(expected)
        if patch >= 0:
            assert t == pytest.approx(expected, abs=1e-8)
            hits += 1
    assert 200 < hits < 800


def test_every_ray_from_inside_a_closed_mesh_hits_it() -> None:
    geometry = mesh_geometry(trimesh.creation.icosphere(subdivisions=3))
    stack = np.empty(STACK, np.int32)
    for d in rays(np.random.default_rng(3), [0, 0, 0], [1, 1, 1], 2000)[1]:
        assert nearest_hit(geometry, (0.1, -0.2, 0.05), tuple(d), -1, stack)[1] >= 0


def test_blocked_agrees_with_the_nearest_hit() -> None:
    geometry = furnished()
    stack = np.empty(STACK, np.int32)
    rng = np.random.default_rng(4)
    starts, ends = rng.uniform([-2, -6, 0], [2, 0, 2.5], (2, 1000, 3))
    seen = [0, 0]
    for a, b in zip(starts, ends, strict=True):
        reach = float(np.linalg.norm(b - a))
        d = tuple((b - a) / reach)
        expected = nearest_hit(geometry, tuple(a), d, -1, stack)[0] < reach
        assert blocked(geometry, tuple(a), d, reach, -1, -1, stack) == expected
        seen[expected] += 1
    assert min(seen) > 50


def test_a_patch_without_area_is_refused() -> None:
    with pytest.raises(ValueError, match="patch 0 has no area"):
        make_geometry(
            corner=np.zeros((1, 3)),
            edge_u=np.ones((1, 3)),
            edge_v=np.ones((1, 3)),
            triangle=np.zeros(1),
            surface=np.zeros(1),
            role=np.zeros(1),
        )


def test_kernels_refuse_to_write_their_input() -> None:
    with pytest.raises(ValueError, match="read-only"):
        furnished().corner[0, 0] = 1.0
