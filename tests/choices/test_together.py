"""Variants on the same light paths: bits of `measure` kept, closed forms met, differences surer than values."""

from __future__ import annotations

import pickle

import numpy as np
import pytest
from halfgain.simulate.choices import together
from halfgain.simulate.choices.axes import axes_of
from halfgain.simulate.choices.comparison import Comparison, compare
from halfgain.simulate.choices.differences import difference, differences
from halfgain.simulate.choices.figures import contrast_in, figure_of, seat_figures
from halfgain.simulate.choices.together import fingerprint, measure_together
from halfgain.simulate.choices.variants import VariantText, variants_of
from halfgain.simulate.measuring.estimate import estimate
from halfgain.simulate.measuring.measure import measure

from ..statistics import within_standard_errors
from .scenes import black, document, library


def compared(scene: VariantText, error: float = 0.1, **options: list) -> Comparison:
    axes = axes_of(**options)
    return compare(axes, variants_of(scene, axes), error=error)


def test_one_scene_alone_gives_the_bits_of_measure() -> None:
    scene = library("light-lounge").scene
    alone, paired = measure(scene, error=0.2), measure_together([scene], error=0.2)[0]
    assert paired.measurement.paths == alone.paths
    assert repr(paired.measurement.seats) == repr(alone.seats)


def test_all_of_a_measurement_is_read_when_it_is_asked_for_and_once(monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    true = together.assembled
    monkeypatch.setattr(together, "assembled", lambda seats, **more: read.append(seats.scene.title) or true(seats, **more))
    scenes = [library(name).scene for name in ("black-box", "dark-room")]
    first, second = measure_together(scenes, error=0.9)
    assert (first.met, read) == (True, [])
    assert first.measurement is first.measurement
    assert read == [scenes[0].title]
    again = pickle.loads(pickle.dumps(second)).measurement
    assert repr(again.seats) == repr(second.measurement.seats)
    assert again.error_reached == second.error_reached


def test_contrast_in_ambient_light_has_the_bits_of_the_checkerboard() -> None:
    seats = measure_together([library("light-lounge").scene], error=0.9)[0].seats
    for screen_lx in (0.0, 3.7):
        ambient = seats.ambient(1, screen_lx)[:16]
        assert np.array_equal(contrast_in(seats, 1, screen_lx), seats.checkerboard(1, ambient)[0])
        lit, dark, _ = seats.board_levels(slice(None), seats.ambient(slice(None), screen_lx)[:16])
        assert np.array_equal(lit[:, :, 1].sum(axis=1) / dark[:, :, 1].sum(axis=1), contrast_in(seats, 1, screen_lx))


def test_figures_are_those_that_measure_reads() -> None:
    paired = measure_together([library("light-lounge").scene], error=0.2)[0]
    for i, reading in enumerate(paired.measurement.seats):
        found = {figure: estimate(stack) for figure, stack in seat_figures(paired.seats, i).items()}
        assert found[figure_of("white_cd_m2")] == reading.white["centre"]
        assert found[figure_of("uniformity_ratio")] == reading.uniformity
        assert found[figure_of("checkerboard_ratio")] == reading.checkerboard
        assert found[figure_of("washout_cd_m2")] == reading.washout
        assert found[figure_of("black_cd_m2")].value == pytest.approx(reading.black.value, rel=1e-14)
        for state in reading.states:
            assert found[figure_of("white_cd_m2", state.name)] == state.white
            assert found[figure_of("full_on_off_ratio", state.name)] == state.full_on_off
            assert found[figure_of("checkerboard_ratio", state.name)] == state.checkerboard


def test_same_bits_at_any_thread_count() -> None:
    axes = axes_of(fabric=["matt white", "silver"])
    scenes = [variant.scene for variant in variants_of(document(), axes)]
    one, two = (measure_together(scenes, error=0.2, threads=threads) for threads in (1, 2))
    for a, b in zip(one, two, strict=True):
        assert np.array_equal(a.seats.by_surface, b.seats.by_surface)


def test_a_shared_map_gives_the_bits_of_a_map_of_its_own() -> None:
    axes = axes_of(finish=["back=0.5", "back=0.1"])
    scenes = [variant.scene for variant in variants_of(document(), axes)]
    both = measure_together(scenes, error=0.2)
    other = measure_together([scenes[1], scenes[1]], error=0.2)  # no scene to share with but itself
    assert both[1].measurement.paths == other[0].measurement.paths
    assert np.array_equal(both[1].seats.by_surface, other[0].seats.by_surface)


def test_white_is_linear_in_lumens_and_contrast_is_not_touched() -> None:
    # Source: luminance is linear in the illuminance; a contrast in the dark is a ratio
    found = compared(document(), light_output=[1000.0, 1500.0])
    for each in found.differences[1]:
        if each.figure.key in ("white_cd_m2", "black_cd_m2", "washout_cd_m2"):
            assert each.relative.value == pytest.approx(0.5, rel=1e-9)
            assert each.relative.standard_error < 1e-9
            assert each.found
        else:
            assert abs(each.relative.value) < 1e-9
            assert not each.found


def test_nothing_is_found_between_a_scene_and_itself() -> None:
    scene = document().scene
    one, two = measure_together([scene, scene], error=0.2)
    assert not any(each.found for each in differences(one, two))


def test_in_a_black_room_contrast_does_not_depend_on_a_diffuse_gain() -> None:
    # Source: white and ambient light scale alike (derived); physics of grey screens
    light = '[[light]]\nname = "lamp"\nscreen_lx = 20'
    vary = ["screen.fabric={kind='diffuse', gain=1.0},{kind='diffuse', gain=0.5}"]
    found = compared(black(lights=light), vary=vary)
    for each in found.differences[1]:
        if each.figure.key in ("checkerboard_ratio", "full_on_off_ratio", "uniformity_ratio"):
            assert abs(each.relative.value) < 1e-9
            assert not each.found
        elif each.figure.key != "washout_cd_m2":
            assert each.relative.value == pytest.approx(-0.5, rel=1e-9)


def test_full_on_off_with_ambient_light_is_the_closed_form() -> None:
    # Source: (E + Ea) / (E / Cn + Ea), diffuse screen in a room that gives nothing back (derived)
    scene = black(lights='[[light]]\nname = "lamp"\nscreen_lx = 20')
    paired = measure_together([scene.scene], error=0.2)[0]
    lux = paired.measurement.illuminance_lx["centre"]
    got = estimate(seat_figures(paired.seats, 0)[figure_of("full_on_off_ratio", "lamp")]).value
    assert got == pytest.approx((lux + 20) / (lux / 2000.0 + 20), rel=1e-9)
    assert contrast_in(paired.seats, 0, 0.0)[0] == pytest.approx(2000.0, rel=1e-9)


def test_shared_paths_make_a_difference_surer_than_independent_ones_and_both_agree() -> None:
    # Source: var(a - b) = var a + var b - 2 cov (definition); an independent seed as the other estimate
    axes = axes_of(finish=["back=0.5", "back=0.45"])
    scenes = [variant.scene for variant in variants_of(document(), axes)]
    one, two = measure_together(scenes, error=0.02)
    other = measure_together([scenes[1]], error=0.02, seed=99)[0]
    figure = figure_of("checkerboard_ratio")
    first, second, third = (seat_figures(each.seats, 0)[figure] for each in (one, two, other))
    paired = difference("middle", figure, first, second)
    independent = np.hypot(estimate(first).standard_error, estimate(third).standard_error)
    assert paired.found
    assert paired.absolute.standard_error < 0.5 * independent
    gap = paired.absolute.value - (third[0] - first[0])
    within_standard_errors(gap, float(np.hypot(paired.absolute.standard_error, independent)), 0.0)


def test_fingerprints_tell_arrays_apart() -> None:
    a = np.arange(3.0)
    assert fingerprint((a, 1)) == fingerprint((a.copy(), 1))
    assert fingerprint((a, 1)) != fingerprint((a.astype(np.float32), 1))
    assert fingerprint((a,), (1,)) != fingerprint((a, 1))
