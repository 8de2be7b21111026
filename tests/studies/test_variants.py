"""From factors to variants: combinations, rows, samples; tolerances about what each variant has."""

from __future__ import annotations

import halfgain as hg
import numpy as np
import pytest
from halfgain.simulate.studies.moves import Moves
from halfgain.simulate.studies.plan import plan_of
from halfgain.simulate.studies.read import study_of

from .studies import CEILING, DEPTH, FABRIC, LUMENS, SEAT, table


def shown(given: dict[str, object]) -> list[tuple[object, ...]]:
    return [each.shown for each in study_of(given).variants()]


def test_levels_make_every_combination_the_last_factor_running_fastest() -> None:
    assert shown(table(CEILING, LUMENS))[:3] == [(0.05, 1000.0), (0.05, 2000.0), (0.5, 1000.0)]


def test_rows_take_levels_together() -> None:
    two = {"key": "room.finish.ceiling", "values": [0.1, 0.2]}
    assert shown(table(two, LUMENS, design={"combine": "rows"})) == [(0.1, 1000.0), (0.2, 2000.0)]


def test_a_grid_by_ratio_has_equal_ratios() -> None:
    factor = {"key": "projector.light_output_lm", "first": 500, "last": 4000, "steps": 4, "spacing": "ratio"}
    assert shown(table(factor)) == [(500.0,), (1000.0,), (2000.0,), (4000.0,)]


def test_levels_that_are_sampled_come_equally_often_in_a_latin_hypercube() -> None:
    found = shown(table(CEILING, LUMENS, design={"combine": "sampled", "samples": 12}))
    assert len(found) == 12
    assert [sum(each[1] == lumens for each in found) for lumens in (1000.0, 2000.0)] == [6, 6]


def test_every_combination_of_levels_has_the_same_draws() -> None:
    found = shown(table(LUMENS, {"key": "room.finish.ceiling", "low": 0.1, "high": 0.8}, design={"samples": 5}))
    assert [each[1] for each in found[:5]] == [each[1] for each in found[5:]]


@pytest.mark.parametrize("scene", ["long-lounge", hg.load_scene("long-lounge").change("room.depth_cm", 600)])
def test_tolerances_are_about_what_the_scene_has_whatever_its_unit(scene: object) -> None:
    depth = {"key": "room.depth_m", "plus_minus": "5 cm"}
    lumens = {"key": "projector.light_output_lm", "minus": "30 %"}
    found = np.array(shown(table(depth, lumens, scene=scene, design={"samples": 50})), float)
    assert (np.abs(found[:, 0] - 6.0) <= 0.05 + 1e-12).all()
    assert np.ptp(found[:, 0]) > 0.09
    assert (np.abs(found[:, 1] - 0.85 * 1800) <= 0.15 * 1800).all()


def test_a_tolerance_is_about_the_level_that_a_variant_has() -> None:
    """Gain +-10 % of each of two fabrics, with all else that their sheets state."""
    gain = {"key": "screen.fabric.gain", "plus_minus": "10 %"}
    study = study_of(table({"key": "screen.fabric", "values": ["pearl", "silver"]}, gain, design={"samples": 8}))
    for variant in study.variants():
        scene = study.bases[0].document.with_changes(variant.changes, "")
        sheet = 1.4 if variant.shown[0] == "pearl" else 2.2
        assert scene.screen.fabric.gain == pytest.approx(float(variant.shown[1]), rel=1e-9)
        assert abs(float(variant.shown[1]) / sheet - 1.0) <= 0.1
        assert scene.screen.fabric.half_gain_deg == (38.0 if variant.shown[0] == "pearl" else 25.0)


def test_a_place_moves_along_its_axis_alone() -> None:
    study = study_of(table(SEAT, design={"samples": 4}))
    for variant in study.variants():
        right, out, up = variant.changes[0].value
        assert (right, up) == (-0.65, 1.1)
        assert abs(out - 3.3) <= 0.05


def test_paint_stays_within_nought_and_one_and_keeps_its_colour() -> None:
    wall = {"key": "room.finish.left", "sd": 0.5}
    colour = hg.load_scene("long-lounge").with_finish("left", (0.2, 0.5, 0.4))
    found = [
        each.changes[0].value["reflectance"] for each in study_of(table(wall, scene=colour, design={"samples": 40})).variants()
    ]
    assert all(0.0 <= part <= 1.0 for parts in found for part in parts)
    assert len({tuple(parts) for parts in found}) > 20


def test_keys_together_take_one_value_and_named_levels_set_many() -> None:
    walls = {"keys": ["room.finish.left", "room.finish.right"], "values": [0.1, 0.2]}
    level = {"name": "light", "set": {"room.finish.back": 0.8, "projector.in_use": 0.5}}
    paint = {"name": "paint", "level": [{"name": "as it is", "set": {}}, level]}
    changes = [{change.path[-1]: change.value for change in each.changes} for each in study_of(table(walls, paint)).variants()]
    assert changes[0] == {"left": 0.1, "right": 0.1}
    assert changes[3] == {"left": 0.2, "right": 0.2, "back": 0.8, "in_use": 0.5}


def test_factors_tell_what_they_move_and_each_geometry_is_planned_once() -> None:
    plan = plan_of(study_of(table(CEILING, FABRIC, DEPTH, SEAT, design={"samples": 2})))
    assert plan.moves == (Moves.PAINT, Moves.FABRIC, Moves.PATHS, Moves.PLACES)
    assert plan.counts == (2, 4, 8, 24)
    jobs = [piece.job for piece in plan.pieces({}) if piece.job is not None]
    assert len(jobs) == 2
    assert [{change.path for change in job.reference} for job in jobs] == [{("room", "depth_m")}] * 2
    assert sum(len(job.tasks) for job in jobs) == 24


def test_variants_of_the_same_contents_are_done_once() -> None:
    factor = {
        "name": "paint",
        "level": [{"name": "a", "set": {"room.finish.ceiling": 0.2}}, {"name": "b", "set": {"room.finish.ceiling": 0.2}}],
    }
    pieces = list(plan_of(study_of(table(factor))).pieces({}))
    assert sorted(piece.same is not None for piece in pieces) == [False, True]
