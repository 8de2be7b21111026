"""The JSON document: the format's keys, no NaN, the same bits at any number of threads."""

from __future__ import annotations

import dataclasses
import json
import math
from typing import Any

import pytest
from halfgain.materials.fabric import DIFFUSE
from halfgain.scenes.load import load_scene
from halfgain.simulate.measuring.estimate import Estimate
from halfgain.simulate.measuring.measure import Measurement, measure
from halfgain.simulate.output.measure.document import document, to_json

# Source of all keys below: the project's contract for `measure --json`.
TOP = {"format", "version", "seed", "paths", "elapsed_s", "scene", "screen", "seats"}
SCREEN = {"width_m", "height_m", "area_m2", "fabric", "gain", "half_gain_deg", "albedo", "illuminance_lx"}
PLAIN = {"distance_m", "view_angle_deg", "gain_towards_seat", "picture_width_deg", "picture_top_deg", "hidden_share"}
SEAT = PLAIN | {
    "name",
    "angle_from_lobe_axis_deg",
    "white_cd_m2",
    "direct_cd_m2",
    "black_cd_m2",
    "uniformity",
    "contrast",
    "washout",
    "shift_uv",
    "states",
}
SURFACES = {"front", "back", "left", "right", "ceiling", "floor", "screen"}


def _estimates(part: Any) -> list[dict[str, Any]]:
    if isinstance(part, dict):
        if "standard_error" in part:
            return [part]
        return [found for value in part.values() for found in _estimates(value)]
    return [found for value in part for found in _estimates(value)] if isinstance(part, list) else []


def test_every_key_of_the_contract_is_there_for_every_library_scene(any_measurement: Measurement) -> None:
    read = json.loads(to_json(document(any_measurement)))
    scene = any_measurement.scene
    assert read.keys() >= TOP
    assert read["format"] == "halfgain.measure/1"
    assert read["scene"].keys() >= {"title", "sha256"}
    assert read["screen"].keys() >= SCREEN
    assert all(isinstance(read["screen"]["illuminance_lx"][key], float) for key in ("centre", "mean"))
    assert [seat["name"] for seat in read["seats"]] == [seat.name for seat in scene.seats]
    for seat in read["seats"]:
        assert seat.keys() >= SEAT
        assert all(isinstance(seat[key], float) for key in PLAIN)
        assert (seat["angle_from_lobe_axis_deg"] is None) == (scene.screen.fabric.kind == DIFFUSE)
        for luminance in ("white_cd_m2", "direct_cd_m2"):
            assert seat[luminance].keys() >= {"centre", "mean", "min", "max"}
        assert seat["contrast"].keys() >= {"full_on_off", "checkerboard", "checkerboard_one_pattern"}
        assert seat["washout"].keys() >= {"cd_m2", "share"}
        assert seat["washout"]["share"].keys() >= SURFACES | {box.name for box in scene.room.objects}
        assert [len(seat["shift_uv"][key]) for key in ("white", "washout")] == [2, 2]
        assert [state["name"] for state in seat["states"]] == [light.name for light in scene.lights]
        for state in seat["states"]:
            assert state.keys() >= {"name", "white_cd_m2", "black_cd_m2", "full_on_off", "checkerboard"}


def test_every_estimate_is_a_finite_value_with_a_standard_error(any_measurement: Measurement) -> None:
    found = _estimates(document(any_measurement)["seats"])
    assert len(found) > 20 * len(any_measurement.seats)
    for estimate in found:
        assert estimate.keys() == {"value", "standard_error", "bias_bound"}
        assert all(isinstance(part, float) and math.isfinite(part) for part in estimate.values())
        assert estimate["standard_error"] >= 0.0


def test_direct_light_and_native_contrast_are_exact(lounge: Measurement) -> None:
    for seat in document(lounge)["seats"]:
        assert all(part["standard_error"] == 0.0 for part in seat["direct_cd_m2"].values())
        assert seat["contrast"]["full_on_off"] == {"value": 3000.0, "standard_error": 0.0, "bias_bound": 0.0}
        assert seat["contrast"]["full_on_off_note"] == "the projector's own; finishes cannot change it"


def test_black_box_reads_what_follows_by_hand() -> None:
    # Source: L = g E / pi and, with 10 cd/m2 of ambient light, contrast (L + 10) / (L / Cn + 10); the file states E.
    scene = load_scene("black-box")
    read = document(measure(scene, error=0.2))
    lux = scene.projector.light_output_lm * (scene.projector.in_use or 1.0) / read["screen"]["area_m2"]
    white = lux / math.pi
    assert read["screen"]["illuminance_lx"]["centre"] == pytest.approx(lux, rel=1e-12)
    seat = read["seats"][0]
    assert seat["white_cd_m2"]["centre"]["value"] == pytest.approx(white, rel=1e-12)
    state = seat["states"][0]
    expected = (white + 10.0) / (white / scene.projector.native_contrast + 10.0)
    assert state["full_on_off"]["value"] == pytest.approx(expected, rel=1e-6)


def test_what_is_not_finite_becomes_null(lounge: Measurement) -> None:
    broken = lounge.seats[0].with_values(uniformity_ratio=Estimate(math.nan, math.inf))
    text = to_json(document(dataclasses.replace(lounge, seats=(broken, *lounge.seats[1:]))))
    read = json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} in JSON"))
    assert read["seats"][0]["uniformity"] == {"value": None, "standard_error": None, "bias_bound": 0.0}


def test_whole_document_has_the_same_bits_at_one_two_and_four_threads() -> None:
    texts = set()
    for threads in (1, 2, 4):
        content = document(measure(load_scene("wide-row"), seed=5, error=0.05, threads=threads))
        assert content.pop("elapsed_s") > 0.0
        texts.add(to_json(content))
    assert len(texts) == 1


def test_another_seed_gives_other_bits_within_the_error() -> None:
    # 4 joint standard errors and both bias bounds: odds of a false alarm below 1e-3 for 15 degrees of freedom
    one, two = (measure(load_scene("long-lounge"), seed=seed, error=0.05).seats[0].checkerboard for seed in (1, 2))
    assert one.value != two.value
    joint = math.hypot(one.standard_error, two.standard_error)
    assert abs(one.value - two.value) < 4.0 * joint + one.bias_bound + two.bias_bound
