"""Checks of chance: samplers against their densities, and how often an interval holds the truth."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from halfgain.materials.lobes.profile import MIRROR

from benchmarks.check import Check
from tests.commissioning import test_check as site
from tests.light import test_coverage as intervals
from tests.materials.lobe_cases import CASES, LEAST_P, LIGHTS, sampled


def samplers() -> Iterator[Check]:
    """Smallest p of Pearson's chi-square over all lobe families and angles of incidence."""
    found = {(name, axis, angle): sampled(name, axis, angle).p for name, axis in CASES for angle in LIGHTS}
    name, axis, angle = worst = min(found, key=lambda c: found[c])
    yield Check(
        f"samplers against their densities, smallest p of {len(found)} chi-square tests: {name}, "
        f"{'mirror' if axis == MIRROR else 'source'} axis, light at {angle} degrees",
        f"above {LEAST_P:g}",
        found[worst],
        0.0,
        "Pearson's chi-square, rare bins pooled by Cochran's rule",
    )


def coverage() -> Iterator[Check]:
    """Share of 95 % intervals that hold the truth: paths fixed, and stopped by the rule."""
    for title, runs, compute in (
        ("runs of fixed length", intervals.RUNS, lambda: intervals.coverage(32)),
        ("runs stopped at the asked error", intervals.STOPPED_RUNS, intervals.coverage_of_stopped_runs),
    ):
        shares = compute()
        name = max(shares, key=lambda n: abs(shares[n] - 0.95))
        yield Check(
            f"95 % intervals that hold the truth in {runs:,} {title}; worst of {', '.join(shares)}: {name}",
            0.95,
            shares[name],
            float(np.sqrt(0.95 * 0.05 / runs)),
            "definition of the interval; Student's t",
        )


def site_coverage() -> Iterator[Check]:
    """Share of the 95 % intervals of `check` that hold the truth, over all parameters of rooms drawn from what is held beforehand."""
    keys, held, _ = site.coverage(site.ROOMS)
    rooms = held.mean(axis=1)
    yield Check(
        f"95 % intervals of `check` that hold the truth, {len(keys)} parameters of {len(rooms)} rooms and meters drawn beforehand",
        0.95,
        float(rooms.mean()),
        float(rooms.std(ddof=1) / np.sqrt(len(rooms))),
        "definition of the interval; light paths of the readings drawn apart",
    )
