"""Kernels are compiled once for what they only read, whether others could write to it or not. Expected: the arrays' own flags."""

from __future__ import annotations

import numpy as np
from halfgain.simulate.light.irradiance_cache import node_irradiance
from halfgain.simulate.light.readonly import read_only
from halfgain.simulate.light.screen_samples import land
from halfgain.simulate.light.walk import Finishes
from halfgain.simulate.light.walk_cells import walk_replications
from halfgain.simulate.measuring.solver import traced_sums

from tests.rooms import lowered, room


def test_views_are_closed_and_the_callers_arrays_stay_open() -> None:
    mine = Finishes(np.ones((2, 1)), np.ones(1))
    closed = read_only((mine, 3, (mine.tint,)))
    assert isinstance(closed[0], Finishes)
    assert closed[1] == 3
    assert not closed[0].reflectance.flags.writeable
    assert not closed[2][0].flags.writeable
    assert np.shares_memory(closed[0].reflectance, mine.reflectance)
    assert mine.reflectance.flags.writeable
    assert read_only(closed[2][0]) is closed[2][0]


def test_open_and_frozen_arrays_share_one_version_of_a_kernel() -> None:
    _, _, prepared = lowered(room())
    first = traced_sums(prepared, seed=1, low_path=0, paths=1, replications=1)
    versions = [kernel.versions for kernel in (walk_replications, land, node_irradiance)]
    open_ones = prepared._replace(finishes=Finishes(*(np.array(each) for each in prepared.finishes)))
    assert np.array_equal(traced_sums(open_ones, seed=1, low_path=0, paths=1, replications=1), first)
    assert [kernel.versions for kernel in (walk_replications, land, node_irradiance)] == versions
