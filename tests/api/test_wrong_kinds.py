"""What is of the wrong kind is refused by name before anything runs, in one line with the value and what is allowed."""

from __future__ import annotations

from collections.abc import Callable

import halfgain as hg
import numpy as np
import pytest

SCENE = hg.load_scene("black-box")

CALLS: list[tuple[Callable[[], object], str]] = [
    (lambda: hg.measure(3), "measure: scene: cannot be used (got 3; allowed a Scene, a name of the library or a file's path)"),
    (lambda: hg.measure(None), "measure: scene: cannot be used (got None; allowed"),
    (lambda: hg.measure(SCENE, error="a"), 'halfgain: error: is no relative standard error (got "a"; allowed above 0, below 1)'),
    (lambda: hg.measure(SCENE, threads=-2), "measure: threads: cannot be used (got -2; allowed a whole number from 0, or None)"),
    (lambda: hg.measure(SCENE, progress="on"), 'measure: progress: cannot be used (got "on"; allowed a function, or None)'),
    (lambda: hg.trace(SCENE, lightest=None), "trace: lightest: cannot be used (got None; allowed a number)"),
    (lambda: hg.load_scene(7), "load_scene: path_or_name: cannot be used (got 7; allowed"),
    (lambda: hg.scene_from_text(None), "scene_from_text: text: cannot be used (got None; allowed a text)"),
    (lambda: hg.fabric(7), "fabric: name: cannot be used (got 7; allowed a text, or None)"),
    (lambda: hg.fabric("pearl", libraries="my.toml"), "fabric: libraries: cannot be used"),
    (lambda: hg.finish(None), "finish: name: cannot be used (got None; allowed a name, or a reflectance"),
    (lambda: hg.fit(view_deg=[0, "a"], gain=[1, 2]), 'fit: view_deg: cannot be used (got [0, "a"]; allowed a list of numbers'),
    (lambda: hg.compare(SCENE, finish=3), "compare: finish: cannot be used (got 3; allowed a mapping of names to lists of values"),
    (lambda: hg.compare(SCENE, vary={"room.width_m": 3}), "compare: vary: cannot be used (got a table; allowed a mapping"),
    (lambda: hg.advise(SCENE, children="no"), 'advise: children: cannot be used (got "no"; allowed True or False)'),
    (lambda: hg.advise(SCENE, fabrics=[3]), "advise: fabrics: cannot be used (got [3]; allowed a list of names)"),
    (lambda: hg.advise(SCENE, weights={"white": "much"}), "advise: weights: cannot be used"),
    (lambda: hg.report(SCENE, use="cinema"), 'use: "cinema" is not allowed (allowed dedicated'),
    (lambda: hg.report(SCENE, first_aim="brightness"), 'aim: "brightness" is no aim (allowed white'),
    (lambda: hg.report(SCENE, prices={"no such": 3}), "prices: name: is no hang"),
    (lambda: hg.report(SCENE, budget=3), "budget: is no wish (allowed use"),
    (lambda: hg.picture(SCENE, field_deg=float("nan")), "picture: field_deg: cannot be used (got nan; allowed 10 to 130, or None)"),
    (lambda: hg.picture(SCENE, width=3), "picture: width: cannot be used (got 3; allowed a whole number from 16 to 8192)"),
    (lambda: hg.place(SCENE, white_cd_m2="bright"), "place: white_cd_m2: cannot be used"),
    (lambda: hg.sound(SCENE, speaker_gap_m=["a"]), "sound: speaker_gap_m: cannot be used"),
    (lambda: hg.study(7), "study: study: cannot be used (got 7; allowed a study file's path, or a mapping)"),
    (lambda: hg.check(SCENE, [1]), "readings: holds a row that is no mapping"),
    (lambda: hg.open_ledger(None, SCENE), "open_ledger: file: cannot be used (got None"),
    (lambda: hg.save_ledger(3, "x.npz"), "save_ledger: answers: cannot be used (got 3; allowed what trace or open_ledger gave)"),
    (lambda: hg.serve(SCENE, port="http", block=False), 'serve: port: cannot be used (got "http"; allowed a whole number)'),
    (lambda: SCENE.change(3, 1), "change: key: cannot be used (got 3; allowed a dotted key"),
    (lambda: SCENE.change({3: 4}), "change: key: cannot be used"),
    (lambda: SCENE.with_finish("ceiling", [1, "a", 0]), 'room.finish.ceiling.reflectance: reflectance must lie between 0 and 1 (got [1.0, "a", 0.0]'),
    (lambda: SCENE.with_finish(3, 0.2), "with_finish: surface: cannot be used (got 3; allowed a text)"),
    (lambda: SCENE.with_fold_scale("half"), "screen.hanging.amplitude_scale: "),
    (lambda: SCENE.with_seat("sofa", None), "with_seat: eye_m: cannot be used (got None; allowed a list of three numbers)"),
]  # fmt: skip


@pytest.mark.parametrize("call, told", CALLS, ids=[told.partition(" cannot")[0] for _, told in CALLS])
def test_a_wrong_kind_is_told_in_one_line(call: Callable[[], object], told: str) -> None:
    with pytest.raises(hg.Error) as fault:
        call()
    assert told in str(fault.value)
    assert "\n" not in str(fault.value)


def test_a_seat_s_place_cannot_be_nothing() -> None:
    scene = hg.load_scene("long-lounge")
    with pytest.raises(hg.Error, match=r"eye_m.*got None"):
        scene.change('seat."front left".eye_m', None)


def test_answers_refuse_wrong_kinds() -> None:
    answers = hg.trace(SCENE, error=0.5)
    for call, told in (
        (lambda: answers.precise("a"), 'precise: error: cannot be used (got "a"; allowed a number)'),
        (lambda: answers.with_light_output(None), "with_light_output: light_output_lm: cannot be used (got None"),
        (lambda: answers.with_paths(2.5), "with_paths: paths: cannot be used (got 2.5; allowed a whole number from 1"),
        (lambda: answers.with_scene("black-box"), 'with_scene: scene: cannot be used (got "black-box"; allowed a Scene)'),
        (lambda: answers.with_finishes(3), "with_finishes: paints: cannot be used"),
        (lambda: answers.with_contrast(native="x"), "with_contrast: native: cannot be used"),
    ):
        with pytest.raises(hg.Error) as fault:
            call()
        assert told in str(fault.value)


def test_numbers_of_numpy_are_numbers() -> None:
    assert SCENE.with_light_output(np.float32(900.0)).projector.light_output_lm == 900.0
    assert hg.finish(np.float64(0.4)).reflectance == (0.4, 0.4, 0.4)
    assert hg.finish("felt", reflectance=np.array([0.1, 0.2, 0.3])).reflectance == (0.1, 0.2, 0.3)
    seat = SCENE.seats[0]
    assert SCENE.with_seat(seat.name, np.array(seat.eye_m)) == SCENE
    assert hg.measure(SCENE, seed=np.int64(1), error=np.float32(0.5), threads=np.int64(1)).seed == 1
