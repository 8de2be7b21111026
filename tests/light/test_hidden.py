"""What a patch hides from a node, as half-spaces, against segments that are cut one by one; groups of patches for rays."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.light.edges import hide_behind, space_behind
from halfgain.simulate.light.geometry import STACK, Geometry, nearest_hit, patch_hit
from halfgain.simulate.light.patches import GROUP, make_geometry


def scattered_patches(rng: np.random.Generator, count: int, surfaces: int) -> Geometry:
    """Parallelograms and triangles in turn, somewhere in a cube of 2 m."""
    corner, edge_u, edge_v = rng.uniform(-1, 1, (3, count, 3)) * np.array([0.7, 1.0, 1.0])[:, None, None]
    return make_geometry(
        corner=corner,
        edge_u=edge_u,
        edge_v=edge_v,
        triangle=np.arange(count) % 2.0,
        surface=np.arange(count) % surfaces,
        role=np.zeros(count),
    )


def test_hidden_spaces_hold_the_samples_whose_segments_a_patch_cuts() -> None:
    rng = np.random.default_rng(1)
    geometry = scattered_patches(rng, 40, 1)
    samples = np.ascontiguousarray(rng.uniform(-1.5, 1.5, (7, 400)))
    spaces, cut = np.empty((1, 20)), 0
    for i in range(40):
        eye = tuple(rng.uniform(-1.5, 1.5, 3))
        space_behind(geometry.plane, geometry.edge_u, geometry.edge_v, i, eye, spaces[0])
        sent = np.ones(400)
        hide_behind(spaces[0], samples, 0, 400, sent, 0)
        ways = [tuple(np.array(eye) - sample) for sample in samples[:3].T]
        expected = [
            patch_hit(geometry.plane, i, tuple(sample), way, 1.0 - 1e-9)[0] > 0
            for sample, way in zip(samples[:3].T, ways, strict=True)
        ]
        np.testing.assert_array_equal(sent == 0.0, expected)
        cut += sum(expected)
    assert cut > 200


def test_a_patch_hides_nothing_from_a_place_in_its_own_plane() -> None:
    geometry = make_geometry(
        corner=np.zeros((1, 3)),
        edge_u=np.array([[1.0, 0, 0]]),
        edge_v=np.array([[0, 1.0, 0]]),
        triangle=np.zeros(1),
        surface=np.zeros(1),
        role=np.zeros(1),
    )
    spaces, sent = np.empty((1, 20)), np.ones(300)
    space_behind(geometry.plane, geometry.edge_u, geometry.edge_v, 0, (0.3, -0.4, 0.0), spaces[0])
    hide_behind(spaces[0], np.random.default_rng(2).uniform(-2, 2, (7, 300)), 0, 300, sent, 0)
    assert sent.all()


@pytest.mark.parametrize(("count", "surfaces"), [(60, 7), (3 * GROUP * STACK, 2)])
def test_groups_hold_every_patch_once_and_its_bounds(count: int, surfaces: int) -> None:
    geometry = scattered_patches(np.random.default_rng(3), count, surfaces)
    first, members = geometry.group_first, geometry.group_patch
    assert len(first) - 1 <= STACK
    np.testing.assert_array_equal(np.sort(members), np.arange(count))
    for group in range(len(first) - 1):
        mine = members[first[group] : first[group + 1]]
        assert len(set(geometry.surface[mine].tolist())) == 1
        ends = [
            geometry.corner[mine],
            geometry.corner[mine] + geometry.edge_u[mine],
            geometry.corner[mine] + geometry.edge_v[mine],
        ]
        assert (np.min(ends, axis=(0, 1)) >= geometry.group_bounds[:3, group]).all()
        assert (np.max(ends, axis=(0, 1)) <= geometry.group_bounds[3:, group]).all()
    target = geometry.corner[5] + 0.3 * (geometry.edge_u[5] + geometry.edge_v[5])
    eye = target + 1e-3 * geometry.normal[5]
    assert nearest_hit(geometry, tuple(eye), tuple(-geometry.normal[5]), -1, np.empty(STACK, np.int32))[1] == 5


def test_more_surfaces_than_a_ray_has_marks_for_are_refused() -> None:
    with pytest.raises(ValueError, match="surfaces of whole patches"):
        scattered_patches(np.random.default_rng(4), STACK + 1, STACK + 1)
