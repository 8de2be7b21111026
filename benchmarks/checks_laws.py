"""Checks of laws: a furnace, a balance of energy, reciprocity, and what holds in any room."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
from halfgain.materials.fabric_table import FabricTable
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from benchmarks.check import Check
from tests.light import test_closed_rooms as closed
from tests.light import test_furnace as furnace
from tests.light import test_properties as laws
from tests.materials.test_materials_energy import (
    FABRICS,
    INCIDENCES_DEG,
    OTHER_LOBES,
    PAIRS,
    TURNS_DEG,
    albedos_by_incidence,
    both_ways,
)
from tests.statistics import mean_and_error

ROOMS = 12  # drawn for each law


def fabrics() -> dict[str, Any]:
    """The library's fabrics and the tests' own of every other sort."""
    own = {
        ", ".join(f"{k} = {v}" for k, v in stated.items()): FabricTable.model_validate(stated).to_fabric()
        for stated in OTHER_LOBES
    }
    return {**FABRICS, **own}


def energy() -> Iterator[Check]:
    """Furnace, largest albedo and balance."""
    seen = {kind: mean_and_error(furnace.radiance(kind)[0]) for kind in furnace.FABRICS}
    away = np.array([np.abs(mean - 1 / np.pi) for mean, _ in seen.values()])
    worst, view = np.unravel_index(away.argmax(), away.shape)
    kind = list(seen)[worst]
    angle, turn = furnace.VIEWS_DEG[view]
    yield Check(
        f"furnace (walls emit 1 - rho, the screen 1 - rho(w_o)): radiance; worst of {len(seen)} fabrics in {away.shape[1]} "
        f"directions: {kind}, {angle} degrees from the normal, turned {turn}",
        1 / np.pi,
        seen[kind][0][view],
        seen[kind][1][view],
        "1 / pi, Kirchhoff's law in a closed isothermal cavity",
    )
    largest = {name: max(albedos_by_incidence(fabric)) + fabric.open_area for name, fabric in fabrics().items()}
    name = max(largest, key=lambda n: largest[n])
    yield Check(
        f"largest albedo and open area of {len(largest)} fabrics at {len(INCIDENCES_DEG) * len(TURNS_DEG)} incidences: {name}",
        "at most 1 (2e-4)",
        largest[name],
        0.0,
        "energy conservation; grooves are read from a table good to 2e-4",
    )
    for title, crate in (("empty room", False), ("room with a crate", True)):
        mean, error = mean_and_error(closed.absorbed_light_start_by_start(24, crate=crate))
        yield Check(
            f"{title}, the screen sends out 900 lm: light absorbed by all surfaces, lm",
            900.0,
            float(mean),
            float(error),
            "first law",
        )


def reciprocity() -> Iterator[Check]:
    """Of the BRDFs, and of the light that a room returns."""
    there = {name: both_ways(fabric) for name, fabric in fabrics().items()}
    differ = {name: float((np.abs(f[:, 0] - f[:, 1]) / np.maximum(f.max(axis=1), 1e-300)).max()) for name, f in there.items()}
    name = max(differ, key=lambda n: differ[n])
    yield Check(
        f"BRDF there and back, largest relative difference in {len(differ)} fabrics x {PAIRS} random pairs: {name}",
        0.0,
        differ[name],
        0.0,
        "Helmholtz reciprocity",
    )
    back = closed.exchange_of_two_patches(24, 1024)
    mean, error = mean_and_error(back[:, 0, 1] / back[:, 1, 0])
    yield Check(
        "returned light from one patch of the screen to another over the reverse",
        1.0,
        float(mean),
        float(error),
        "Helmholtz reciprocity",
    )


def over_drawn_rooms(strategies: dict[str, Any], compute: Callable[..., Any]) -> list[Any]:
    """What compute gives for ROOMS rooms drawn from a property test's own strategies, the same in every run."""
    found: list[Any] = []

    @settings(max_examples=ROOMS, derandomize=True, deadline=None, database=None, phases=(Phase.generate,))
    @given(st.fixed_dictionaries(strategies))
    def run(drawn: dict[str, Any]) -> None:
        found.append(compute(**drawn))

    run()
    return found


def largest_deviation(found: list[dict[str, float]], *names: str) -> tuple[str, float]:
    """Figure with the largest relative deviation among names, and that deviation [1]."""
    return max(((name, away[name]) for away in found for name in names), key=lambda pair: pair[1])


def mirrored() -> Check:
    """The ratio that lies farthest from 1 by its own standard error."""
    ratios = []
    for pair in over_drawn_rooms(laws.MIRRORED, laws.mirrored_room):
        for name, figure in {
            "checkerboard contrast": lambda r: r.checkerboard,
            "wash-out": lambda r: r.washout,
            "mean white": lambda r: r.white["mean"],
        }.items():
            here, there = (figure(reading) for reading in pair)
            error = np.hypot(here.standard_error, there.standard_error) / there.value
            ratios.append((here.value / there.value, float(error), name))
    ratio, error, name = max(ratios, key=lambda r: abs(r[0] - 1) / r[1])
    return Check(
        f"a room's figures over those of its mirror image; farthest of {len(ratios)} by its error: {name}",
        1.0,
        ratio,
        error,
        "mirror symmetry (derived)",
    )


def any_room() -> Iterator[Check]:
    """Laws of any room, on rooms drawn at random."""
    pairs = [pair for two in over_drawn_rooms(laws.LIGHTER, laws.lighter_room) for pair in zip(*two, strict=True)]
    yield Check(
        f"one surface lighter by up to 0.05: least relative rise of wash-out in {len(pairs)} seats",
        "at least 0",
        min(after.washout.value / before.washout.value - 1 for before, after in pairs),
        0.0,
        "paths weigh as products of reflectances (derived)",
    )
    yield mirrored()
    scaled = over_drawn_rooms(laws.SCALED, laws.scaled_room)
    brighter = over_drawn_rooms(laws.BRIGHTER, laws.brighter_room)
    for law, found, names, source in (
        ("lengths times k: direct luminance times k^2", scaled, ("direct",), "inverse square law"),
        (
            "lengths times k: returned light times k^2 and contrast",
            scaled,
            ("washout", "black", "checkerboard"),
            "inverse square law",
        ),
        (
            "lumens times k: luminance over k, and contrast",
            brighter,
            ("white", "washout", "checkerboard"),
            "light adds up (derived)",
        ),
    ):
        name, away = largest_deviation(found, *names)
        case = f": {name}" if len(names) > 1 else ""
        yield Check(f"{law}; largest relative deviation in {len(found)} rooms{case}", 0.0, away, 0.0, source)
    contrasts = [reading.checkerboard.value for reading in over_drawn_rooms(laws.ALBEDO, laws.black_room)]
    yield Check(
        f"black room, {len(contrasts)} albedos: checkerboard contrast farthest from the lens's own",
        laws.BLACK_ROOM_NATIVE,
        max(contrasts, key=lambda c: abs(c - laws.BLACK_ROOM_NATIVE)),
        0.0,
        "nothing comes back (derived)",
    )
