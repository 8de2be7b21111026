"""Folded cloth in the room's light: the mesh against the exact cloth, limits, and two ways to count light from cloth to cloth."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.scenes.cloth.surface import cloth_of
from halfgain.scenes.geometry import screen_frame
from halfgain.scenes.load import load_scene
from halfgain.simulate.folds.landing import land_on
from halfgain.simulate.folds.maps import on_screen, picture_grid
from halfgain.simulate.light.direct import cloth_points
from halfgain.simulate.light.geometry import STACK, blocked, nearest_hit
from halfgain.simulate.light.ledger import trace
from halfgain.simulate.light.mesh import make_relief
from halfgain.simulate.light.next_event import connect, lit_patches
from halfgain.simulate.light.spill import spilt_light
from halfgain.simulate.light.walk import walk
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_pictures
from scipy.stats import qmc

from tests.rooms import ANGULAR, lowered, room

STACK_ARRAY = np.empty(STACK, np.int32)


def folds(*tables: str, fabric: str = '[screen.fabric]\nkind = "diffuse"\ngain = 0.9') -> str:
    """A fabric and [[screen.fold]] tables, for the room's `fabric` field."""
    return "\n".join([fabric, *(f"[[screen.fold]]\n{table}" for table in tables)])


GENTLE = 'kind = "wave"\namplitude_mm = 2\nwavelength_mm = 300\ncrests = 20'
STEEP = 'kind = "wave"\namplitude_mm = 40\nwavelength_mm = 300'


def arrays_of(*tables: str, gap: float = 0.1, **changes: object) -> SceneArrays:
    return flatten(room(gap=gap, fabric=folds(*tables), **changes))


def test_the_mesh_is_fine_and_on_the_cloth():
    arrays = arrays_of(GENTLE)
    relief = arrays.geometry.relief
    assert 2 * (relief.height.shape[0] - 1) * (relief.height.shape[1] - 1) >= 80_000
    assert relief.step.max() <= 0.3 / 40


@pytest.mark.parametrize("table", [GENTLE, STEEP, 'kind = "random"\namplitude_mm = 3\nwavelength_mm = 150\nseed = 2'])
def test_rays_land_where_the_exact_cloth_is(table):
    """Against simulate/folds, which has no mesh: places within the chord of a cell, slopes within a thousandth."""
    scene = room(gap=0.1, fabric=folds(table))
    arrays, cloth = flatten(scene), cloth_of(scene.screen)
    nominal = picture_grid(scene, 97, 53).nominal
    points = cloth_points(arrays.geometry, arrays.projector, nominal[:, 0], nominal[:, 1])
    exact = land_on(cloth, on_screen(scene, scene.projector.lens_m), nominal[:, 0], nominal[:, 1])
    good = exact.on_cloth & (points.patch >= 0)
    assert good.mean() > 0.97
    centre, *axes = arrays.projector.frame
    place, normal = (points.place - centre) @ np.array(axes).T, points.normal @ np.array(axes).T
    far = np.abs(place - np.stack([exact.right, exact.up, exact.out], axis=1))[good]
    assert far.max() < 0.003 * (cloth.highest_m - cloth.lowest_m)
    ahead = np.where(good, normal[:, 2], 1.0)
    slopes = np.stack([-normal[:, 0] / ahead - exact.slope_right, -normal[:, 1] / ahead - exact.slope_up])
    assert np.abs(slopes[:, good]).max() < 0.006 * cloth.steepest


def test_no_ray_slips_through_the_mesh():
    """20 000 rays from the room at places inside the sheet's edge: all meet it, from the front, near the plane."""
    arrays = arrays_of(STEEP)
    rng = np.random.default_rng(8)
    frame = arrays.projector.frame
    for _ in range(20_000):
        target = frame[0] + rng.uniform(-1.05, 1.05) * frame[1] + rng.uniform(-0.55, 0.55) * frame[2]
        start = frame[0] + rng.uniform(-1.5, 1.5) * frame[1] + rng.uniform(-0.6, 1.2) * frame[2] + rng.uniform(1, 4) * frame[3]
        way = target - start
        length = np.linalg.norm(way)
        t, patch, _, _ = nearest_hit(arrays.geometry, tuple(start), tuple(way / length), np.int64(-1), STACK_ARRAY)
        assert patch == arrays.geometry.relief.patch[0]
        assert abs((start + t * way / length - frame[0]) @ frame[3]) <= 0.04 + 1e-9


def test_rays_that_pass_the_edge_go_on_to_the_wall():
    arrays = arrays_of(STEEP, 'kind = "concave edges"\ndepth_mm = 60')
    frame = arrays.projector.frame
    inside, outside = frame[0] + 1.12 * frame[1], frame[0] + 1.17 * frame[1]
    for place, expected in ((inside, int(arrays.geometry.relief.patch[0])), (outside, 0)):
        start = place + 2.0 * frame[3]
        _, patch, _, _ = nearest_hit(arrays.geometry, tuple(start), tuple(-frame[3]), np.int64(-1), STACK_ARRAY)
        assert patch == expected


def test_crests_shadow_valleys():
    """A segment just over the nominal plane across crests of 40 mm is blocked, one well above them is not."""
    arrays = arrays_of(STEEP)
    frame = arrays.projector.frame
    for out, expected in ((0.02, True), (0.041, False)):
        start = frame[0] - 0.5 * frame[1] + out * frame[3]
        assert blocked(arrays.geometry, tuple(start), tuple(frame[1]), 1.0, np.int64(-1), np.int64(-1), STACK_ARRAY) is expected


def test_vanishing_folds_are_a_flat_screen():
    """Amplitude of a nanometre: illuminance, gains, map and sums agree with the flat screen's to 1e-5."""
    flat = lowered(room(gap=0.1))
    bent = lowered(room(gap=0.1, fabric=folds('kind = "wave"\namplitude_mm = 1e-6\nwavelength_mm = 300')))
    assert np.allclose(bent[1].direct_lx, flat[1].direct_lx, rtol=1e-6)
    assert np.allclose(bent[1].gain, flat[1].gain, rtol=1e-6)
    assert np.allclose(bent[2].lighting.node_lx, flat[2].lighting.node_lx, rtol=2e-3, atol=1e-4 * flat[2].lighting.node_lx.max())
    both = []
    for arrays, points, prepared in (flat, bent):
        ledger = trace(arrays.geometry, prepared.starts, seed=3, replications=4, low_path=0, paths=64, survival=0.6)
        spill = spilt_light(arrays.geometry, arrays.projector, ledger)
        both.append(
            walk(
                arrays.geometry,
                prepared.starts,
                points.seats,
                prepared.grid,
                prepared.lighting,
                prepared.finishes,
                arrays.fabric,
                ledger,
                spill,
            ).sum()
        )
    assert both[1] == pytest.approx(both[0], rel=2e-3)


@pytest.mark.long
@pytest.mark.parametrize("fabric", ["diffuse", "angular"])
def test_light_from_cloth_to_cloth_is_counted_once(fabric):
    """Folds of slope 0.84: map and paths against unbiased connections of every hit, the cloth's own light included."""
    sheet = ANGULAR if fabric == "angular" else '[screen.fabric]\nkind = "diffuse"\ngain = 0.9'
    arrays = flatten(room(gap=0.1, fabric=folds(STEEP, fabric=sheet), front=0.3, back=0.3, left=0.3, right=0.3, ceiling=0.3))
    points = measuring_points(arrays)
    prepared = prepare(arrays, points, cells=20)  # what is compared moves by 0.1 % to 32 cells
    replications, paths = 16, 512
    ledger = trace(
        arrays.geometry, prepared.starts, seed=5, replications=replications, low_path=0, paths=paths, survival=0.6, threads=2
    )
    spill = spilt_light(arrays.geometry, arrays.projector, ledger, threads=2)
    mapped = walk(
        arrays.geometry,
        prepared.starts,
        points.seats,
        prepared.grid,
        prepared.lighting,
        prepared.finishes,
        arrays.fabric,
        ledger,
        spill,
        threads=2,
    )
    zone = traced_pictures()
    joined = connect(
        arrays.geometry,
        prepared.starts,
        points.seats,
        arrays.projector,
        lit_patches(arrays.geometry, kinds=2),
        zone,
        prepared.finishes,
        arrays.fabric,
        ledger,
        seed=5,
        low_path=0,
        self_lit=True,
        threads=2,
    )
    lit = points.direct_lx > 0
    for name, surfaces in (("cloth", [len(arrays.surfaces) - 1]), ("room", range(len(arrays.surfaces) - 2))):
        ours = mapped[:, 0, list(surfaces), 0, 0].sum(axis=1).reshape(replications, 25)[:, lit].mean(axis=1) / paths
        theirs = joined[:, 0, list(surfaces), 0, 0].sum(axis=1).reshape(replications, 25)[:, lit].mean(axis=1) / paths
        error = math.hypot(ours.std(ddof=1), theirs.std(ddof=1)) / 4
        assert abs(ours.mean() - theirs.mean()) < 4 * error + 0.01 * ours.mean(), name
        assert ours.mean() > 0
    cloth = mapped[:, 0, -1, 0, 0].mean() / paths
    assert cloth > 0.02 * points.direct_lx.mean() / math.pi * 0.9  # cloth at such slopes sees several per cent of itself


def test_the_cloth_sees_as_much_of_itself_as_geometry_says():
    """Even light on a corrugation: the share of a point's view that cloth takes, mean over area, is 1 - flat area / true area.

    Source: reciprocity of view factors between a convex opening and the surface behind it (F_open = 1), long grooves; the
    sheet's finite edge is kept away from.
    """
    arrays = arrays_of(STEEP)
    relief = arrays.geometry.relief
    seen, weight = 0.0, 0.0
    from halfgain.scenes.cloth.mechanics import excess_length
    from halfgain.simulate.light.screen_grid import sheet_normal, sheet_place

    for across, upward, out, turn in qmc.Sobol(4, seed=4).random(4096):
        u, v = 0.375 + 0.25 * across, 0.45 + 0.1 * upward
        n = np.array(sheet_normal(relief, u, v))
        area = 1.0 / float(n @ relief.frame[3])
        place = np.array(sheet_place(relief, u, v))
        a = np.cross(n, [0.3, 0.5, 0.8])
        a /= np.linalg.norm(a)
        b = np.cross(n, a)
        r, t = math.sqrt(out), 2 * math.pi * turn
        way = r * math.cos(t) * a + r * math.sin(t) * b + math.sqrt(1 - r * r) * n
        weight += area
        seen += area * blocked(arrays.geometry, tuple(place), tuple(way), 0.8, relief.patch[0], np.int64(-1), STACK_ARRAY)
    stretch = 1 + excess_length(amplitude_m=0.04, wavelength_m=0.3)
    error = 0.0015  # of so many rays of the sequence (0.0013 over six scramblings); 40,000 independent ones have 0.0017
    assert seen / weight == pytest.approx(1 - 1 / stretch, abs=4 * error + 0.004)


def test_threads_change_no_bit():
    arrays, points, prepared = lowered(room(gap=0.1, fabric=folds(GENTLE)))
    results = []
    for threads in (1, 3):
        ledger = trace(
            arrays.geometry, prepared.starts, seed=2, replications=2, low_path=0, paths=64, survival=0.6, threads=threads
        )
        spill = spilt_light(arrays.geometry, arrays.projector, ledger, threads=threads)
        results.append(
            walk(
                arrays.geometry,
                prepared.starts,
                points.seats,
                prepared.grid,
                prepared.lighting,
                prepared.finishes,
                arrays.fabric,
                ledger,
                spill,
                threads=threads,
            )
        )
    assert np.array_equal(*results)


def test_halving_the_cells_changes_less_than_one_per_cent():
    """The default mesh is fine enough. Direct luminance modulation of the grid, default against cells half as large."""
    scene = room(gap=0.1, fabric=folds(GENTLE))
    cloth = cloth_of(scene.screen)
    arrays = flatten(scene)

    finer = arrays.geometry._replace(
        relief=make_relief(cloth, screen_frame(scene), int(arrays.geometry.relief.patch[0]), finer=2.0)
    )
    nominal = picture_grid(scene, 160, 90).nominal
    from halfgain.simulate.light.direct import direct_light, directions_to

    found = []
    for geometry in (arrays.geometry, finer):
        points = cloth_points(geometry, arrays.projector, nominal[:, 0], nominal[:, 1])
        found.append(direct_light(arrays.projector, points, directions_to(points, arrays.eyes), arrays.fabric)[1])
    flat = flatten(room(gap=0.1))
    points = cloth_points(flat.geometry, flat.projector, nominal[:, 0], nominal[:, 1])
    even = direct_light(flat.projector, points, directions_to(points, flat.eyes), flat.fabric)[1]
    good = (found[0] > 0) & (found[1] > 0)
    change = (found[0] - found[1])[good] / even[good]
    assert np.abs(change).max() < 0.01 * np.abs(found[1][good] / even[good] - 1).max()


def test_the_steepest_slope_of_a_mesh_is_that_of_its_steepest_triangle() -> None:
    made = load_scene("light-lounge")
    relief = make_relief(cloth_of(made.screen, "high"), screen_frame(made), 0)
    right, up = np.diff(relief.height, axis=1) / relief.step[0], np.diff(relief.height, axis=0) / relief.step[1]
    lower, upper = np.hypot(right[:-1], up[:, :-1]), np.hypot(right[1:], up[:, 1:])
    assert relief.reach[2] == max(lower.max(), upper.max()) > 0.0
