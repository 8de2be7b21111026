"""What a study reads is what the scene's own measurement says; the same bits in whatever process, order and company."""

from __future__ import annotations

from pathlib import Path

import halfgain as hg
import numpy as np
import pytest
from halfgain.scenes.library import scene_path
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.studies.engines.here import Here
from halfgain.simulate.studies.engines.local import Local
from halfgain.simulate.studies.outcome import StudyResult
from halfgain.simulate.studies.outputs import OutputRow
from halfgain.simulate.studies.plan import plan_of
from halfgain.simulate.studies.read import study_of
from halfgain.simulate.studies.run import run_study
from halfgain.simulate.studies.store import Memory
from halfgain.simulate.studies.work import forget

from .studies import CEILING, DEPTH, FABRIC, LUMENS, SEAT, run, table

OUTPUTS = ["white_cd_m2", "white_mean_cd_m2", "uniformity_ratio", "checkerboard_ratio", "washout_cd_m2", "black_cd_m2"]


def told(result: StudyResult) -> list[tuple[object, ...]]:
    return sorted(tuple(row) for row in result.rows())


def test_every_kind_of_variant_reads_what_measure_reads() -> None:
    """Paint, fabric, seat, geometry: each within the errors of two independent estimates of a fresh trace."""
    result = run(
        table(CEILING, FABRIC, DEPTH, {**SEAT, "minus": "40 cm"} | {"plus_minus": None}, design={"samples": 1}, outputs=OUTPUTS)
    )
    assert not result.failed
    study = result.plan.study
    for place in (0, 5, 11):
        variant = study.variant(place + 1, result.plan.matrix[place])
        scene = study.bases[0].document.with_changes(variant.changes, "")
        fresh = measure(scene, seed=7, error=0.02)
        rows = [row for row in result.rows() if row.variant == place + 1]
        assert len(rows) == len(scene.seats) * (len(OUTPUTS) + 3)  # three of them also in the lamps' light
        for row in rows:
            reading = next(seat for seat in fresh.seats if seat.name == row.seat)
            values = reading.values if row.state == "dark" else next(s for s in reading.states if s.name == row.state).values
            other = values[row.figure]
            error = np.hypot(row.value.standard_error, other.standard_error) + row.value.bias_bound + other.bias_bound
            assert abs(row.value.value - other.value) <= 4.5 * error + 1e-9, row


def test_a_repainted_or_dimmed_variant_is_that_of_the_loader() -> None:
    """The short way past the loader gives what the long way gives: to rounding, on the same paths."""
    lumens = {"name": "light", "level": [{"name": "a", "set": {"projector.light_output_lm": 1000.0}}]}
    longer = {"name": "light", "level": [{"name": "a", "set": {"projector.light_output_lm": 1000.0, "projector.in_use": 0.7}}]}
    short, long = (run(table(CEILING, factor)) for factor in (lumens, longer))
    for one, other in zip(told(short), told(long), strict=True):
        assert one[-1] == pytest.approx(other[-1], rel=1e-9, abs=1e-12)


def test_the_same_bits_in_this_process_in_others_in_any_company_and_order() -> None:
    given = table(CEILING, FABRIC, DEPTH, outputs=OUTPUTS)
    here = told(run(given, Here()))
    forget()
    assert told(run(given, Local(2))) == here
    forget()
    fewer = told(run(table({**CEILING, "values": [0.5]}, FABRIC, {**DEPTH, "values": [6.4]}, outputs=OUTPUTS), Here()))
    assert [row[2:] for row in fewer] == [row[2:] for row in here if row[1][0] == 0.5 and row[1][2] == 6.4]  # type: ignore[index]


def test_differences_within_one_geometry_are_paired() -> None:
    """The same paths: the difference of two lumens is exact where the figures are not."""
    result = run(table(LUMENS))
    stack = result.figure(OutputRow("front left", "dark", "white_cd_m2"))
    assert stack[1] == pytest.approx(2.0 * stack[0], rel=1e-12)


def test_the_asked_error_is_met_by_what_is_asked_alone() -> None:
    result = run(table(CEILING, error=0.005, outputs=["checkerboard_ratio"]))
    assert max(row.value.standard_error / row.value.value for row in result.rows()) <= 0.005


def test_what_is_in_the_store_is_not_done_again() -> None:
    store = Memory()
    first = run(table(CEILING), store=store)
    more = run(table({**CEILING, "values": [*CEILING["values"], 0.7]}), store=store)
    assert (first.known, more.known) == (0, 3)
    assert set(told(first)) <= set(told(more))


def test_variants_that_cannot_be_are_named_and_the_others_are_there() -> None:
    result = run(table({"key": "room.depth_m", "values": [6.2, 3.0, 6.4]}))
    assert list(result.failed) == [2]
    assert "outside the room" in result.failed[2]
    assert {row.variant for row in result.rows()} == {1, 3}


def test_five_scenes_are_one_factor() -> None:
    result = run({"scenes": ["long-lounge", "dark-room"], "error": 0.05, "outputs": ["checkerboard_ratio"]})
    assert [row.factors[0] for row in result.rows()][:1] == ["long-lounge"]
    seats = {row.seat for row in result.rows()}
    assert {"front left", "rear 4"} <= seats


def test_materials_made_in_code_travel_to_other_processes() -> None:
    mine = hg.fit(view_deg=[0, 15, 30, 45, 60], gain=[1.6, 1.42, 0.98, 0.55, 0.33]).to_fabric("mine")
    given = table({"key": "screen.fabric", "values": ["matt white", mine]})
    assert told(run(given, Local(1))) == told(run(given))


def test_materials_of_the_scenes_own_libraries_travel_without_their_files(tmp_path: Path) -> None:
    """What the plan was made of is in the jobs: the library may be gone when a worker loads the scene."""
    library = tmp_path / "mine.toml"
    library.write_text(
        '[[fabric]]\nname = "my pearl"\ngain = 1.3\nhalf_gain_deg = 40\nkind = "angular-reflective"\nalbedo = 0.7\n'
        '[[finish]]\nname = "my paint"\nreflectance = 0.33\n',
        encoding="utf-8",
    )
    text = scene_path("long-lounge").read_text("utf-8").replace('back = "warm white emulsion"', 'back = "my paint"')
    (tmp_path / "room.toml").write_text(f'libraries = ["mine.toml"]\n{text}', encoding="utf-8")
    fabrics = {"key": "screen.fabric", "values": ["matt white", "my pearl"]}
    walls = {"key": "room.finish.left", "values": ["my paint", 0.33]}
    plan = plan_of(study_of(table(fabrics, walls, scene="room.toml"), tmp_path))
    library.unlink()
    forget()
    result = run_study(plan, Here(), Memory())
    assert not result.failed
    values: dict[tuple[object, ...], dict[object, float]] = {}
    for row in result.rows():
        values.setdefault((row.factors[0], row.seat, row.state, row.figure), {})[row.factors[1]] = row.value.value
    assert {key[0] for key in values} == {"matt white", "my pearl"}
    assert all(
        len(each) == 2 and each["my paint"] == each[0.33] for each in values.values()
    )  # the same paint by name and by number
