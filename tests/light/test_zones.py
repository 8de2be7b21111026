"""Zones that a node sees whole, in part or not at all: boxes against every sample of a zone, one by one."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.light.edges import hide_behind, lay_node, sight_scratch
from halfgain.simulate.light.irradiance_cache import level_for, sight_of, source_of
from halfgain.simulate.light.mapgrid import make_grid
from halfgain.simulate.light.raster_places import netted_samples
from halfgain.simulate.light.zones import CLEAR, CUT, HIDDEN, level_zones
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import picture_samples

from tests.rooms import box_object, room

CRATE = box_object("crate", [0.2, 0.3, 0.0], [0.6, 0.9, 1.6], 0.5)
SHELF = box_object("shelf", [-1.4, 1.2, 0.5], [-0.7, 1.4, 1.1], 0.5)
WAVES = '[screen.fabric]\nkind = "diffuse"\ngain = 0.9\n[[screen.fold]]\nkind = "wave"\namplitude_mm = 2\nwavelength_mm = 300'


@pytest.mark.parametrize("fabric", ["", WAVES], ids=["flat", "folded"])
def test_marks_hold_for_every_sample_and_levels_for_every_zone(fabric: str) -> None:
    # Expected: each sample by itself, hidden by some patch (space_behind) or below the horizon; levels by `level_for`
    arrays = flatten(room(objects=CRATE + SHELF, gap=0.1, **({"fabric": fabric} if fabric else {})))
    grid = make_grid(arrays.geometry, arrays.projector, cells=8, shell=True)
    lit = picture_samples(arrays, (2, 4, 8))
    source = source_of(arrays.geometry, grid, lit, test_blocked=True)
    samples, scratch = source.samples, sight_scratch(lit, source.occluders, pieced=False)
    kinds = {CLEAR: 0, CUT: 0, HIDDEN: 0}
    for node in range(0, len(grid.place), 3):
        sight = sight_of(source, node, scratch)
        lay_node(source, sight, scratch)
        level_zones(lit, source.zones, sight, 1.5, scratch.zones)
        away = np.linalg.norm(lit.zone_place - grid.place[node], axis=1)
        assert scratch.zones.level.tolist() == [level_for(1.5 * float(lit.zone_size[0] / d), lit.side) for d in away]
        for level in (*range(len(lit.side)), len(lit.side)) if lit.scattered[1] else range(len(lit.side)):
            many = int(lit.scattered[1] if level == len(lit.side) else lit.side[level] ** 2)
            first = int(lit.scattered[0] if level == len(lit.side) else lit.first[level])
            before = (samples[:3, first : first + 16 * many].T - grid.place[node]) @ np.array(sight.normal) > 0.0
            free = np.ones(16 * many)
            for k in range(sight.blockers):
                hide_behind(scratch.spaces[k], samples, first, 16 * many, free, 0)
            seen = (before & (free > 0.0)).reshape(16, many)
            for zone, mark in enumerate(scratch.zones.mark):
                assert mark != CLEAR or seen[zone].all()
                assert mark != HIDDEN or not seen[zone].any()
                kinds[int(mark)] += 1
    assert min(kinds.values()) > 100, kinds


def test_scattered_samples_of_folded_cloth_stand_each_for_one_part_of_a_zone() -> None:
    # Expected: 8 x 8 parts of a zone hold one each, and together the flux and the mean normal of the zone's Gauss points
    across, down, share = netted_samples((4, 4))
    part = (np.floor(8 * across) + 32 * np.floor(8 * down)).astype(int)
    assert sorted(part) == list(range(1024))
    assert share.reshape(16, 64).sum(axis=1) == pytest.approx(np.ones(16))
    arrays = flatten(room(gap=0.1, fabric=WAVES))
    lit = picture_samples(arrays, (2, 4, 8))
    first, many = lit.scattered.tolist()
    assert many == 64
    flux = lit.flux[:, None] * np.column_stack([np.ones(len(lit.flux)), lit.normal])
    zones = flux[first : first + 16 * many].reshape(16, many, 4).sum(axis=1)
    assert zones == pytest.approx(flux[: 16 * 4].reshape(16, 4, 4).sum(axis=1), rel=1e-9, abs=1e-9)
    assert np.ptp(lit.normal[first : first + 16 * many], axis=0).max() > 0.01  # the folds' own slopes
