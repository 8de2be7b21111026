"""Light against sound: the sets of finishes that none beats, and what a finish does to reverberation."""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from halfgain.materials.finish import Finish
from halfgain.materials.library import find_finish
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.repaint import Allowed
from halfgain.simulate.command import app
from halfgain.simulate.sound.room import room_sound
from halfgain.simulate.sound.trade import SAME_CONTRAST, SAME_TIME_S, Set, repainted, sounding, thinned, trade, unbeaten

from ..rooms import room

BLACK, PANEL, PINK = find_finish("black matt paint"), find_finish("acoustic panel, white cloth"), Finish("pink", (0.8, 0.3, 0.3))
ALLOWED = [
    Allowed("ceiling", BLACK, 9.0),
    Allowed("ceiling", PANEL, 90.0),
    Allowed("left", BLACK, 9.0),
    Allowed("left", PINK, 11.0),
    Allowed("floor", find_finish("dark carpet"), 40.0),
]


@pytest.fixture(scope="module")
def answers() -> Answers:
    return Answers.of(room(), None, where="", seed=1, paths=32, threads=1)


def random_sets(count: int) -> list[Set]:
    draw = np.random.default_rng(3)
    return [
        Set({}, float(c), float(k), (0.0, 0.0), float(o)) for c, k, o in zip(*draw.uniform(1.0, 9.0, (3, count)), strict=True)
    ]


def beats(a: Set, b: Set) -> bool:
    return a.contrast >= b.contrast and a.off_s <= b.off_s and a.cost <= b.cost and a is not b


def test_the_sets_left_are_those_that_brute_force_leaves() -> None:
    """Source: the definition, every pair compared; steps fine enough that no two are alike."""
    sets = random_sets(300)
    fine = unbeaten(sets, 1e-9)
    assert {id(one) for one in fine} == {id(one) for one in sets if not any(beats(other, one) for other in sets)}
    assert [one.cost for one in fine] == sorted(one.cost for one in fine)
    for one in unbeaten(sets):  # with steps: nothing beats what is left by more than a step
        for other in sets:
            assert not (
                np.log(other.contrast / one.contrast) > SAME_CONTRAST
                and one.off_s - other.off_s > SAME_TIME_S
                and other.cost <= one.cost
            )


def test_a_thinned_list_keeps_its_ends() -> None:
    sets = unbeaten(random_sets(2000))
    few = thinned(sets, 12)
    assert 3 <= len(few) <= 12 < len(sets)
    assert max(one.contrast for one in few) == max(one.contrast for one in sets)
    assert min(one.off_s for one in few) == min(one.off_s for one in sets)
    assert thinned(few, 12) == few


def test_every_set_is_what_the_repainted_room_gives(answers: Answers) -> None:
    """Source: the scene changed by hand and asked anew, its contrast from the ledger, its reverberation from `room_sound`."""
    found = trade(answers, ALLOWED)
    assert (found.tried, found.possible, found.priced) == (18, 18, True)
    assert found.sets[0].changes == {}
    for one in found.sets:
        scene = answers.scene
        for name, finish in one.changes.items():
            scene = repainted(scene, name, finish)
        assert one.mid_s == pytest.approx(room_sound(scene).reverberation.mid_s, rel=1e-12)
        quick = answers.with_finishes(one.changes).quick().checkerboard[0].min()
        assert one.contrast == pytest.approx(quick, rel=1e-9)
        assert one.measured is not None
        assert one.measured.standard_error > 0.0
        assert abs(one.measured.value - one.contrast) <= 4.0 * one.measured.standard_error


def test_no_set_at_all_beats_those_that_are_left(answers: Answers) -> None:
    found = trade(answers, ALLOWED)
    by_surface = {"ceiling": [None, BLACK, PANEL], "left": [None, BLACK, PINK], "floor": [None, find_finish("dark carpet")]}
    for picks in product(*by_surface.values()):
        changes = {name: finish for name, finish in zip(by_surface, picks, strict=True) if finish is not None}
        contrast = answers.with_finishes(changes).quick().checkerboard[0].min()
        cost = sum(
            entry.price_per_m2 * {"ceiling": 24.0, "left": 16.2, "floor": 24.0}[entry.surface]  # type: ignore[operator]
            for entry in ALLOWED
            if changes.get(entry.surface) == entry.finish
        )
        assert any(
            one.contrast >= contrast * (1.0 - 2.0 * SAME_CONTRAST) and one.cost <= cost * (1.0 + 1e-9) for one in found.sets
        )


def test_a_panel_shortens_and_paint_leaves_the_time() -> None:
    scene = room()
    found = sounding(scene, ALLOWED)
    assert found.now_s == room_sound(scene).reverberation.mid_s
    by_name = {(choice.entry.surface, choice.entry.finish.name): choice.mid_s for choice in found.choices}
    assert by_name["ceiling", BLACK.name] == found.now_s
    assert by_name["ceiling", PANEL.name][1] < found.now_s[1]


def test_paint_on_brick_leaves_it_brick_and_instead_of_a_curtain_it_is_a_bare_wall() -> None:
    brick, curtain = room(back='"red brick"'), room(back='"dark curtain"')
    assert repainted(brick, "back", BLACK).room.finish["back"].absorption == find_finish("red brick").absorption
    assert not repainted(curtain, "back", BLACK).room.finish["back"].absorption
    assert sounding(brick, [Allowed("back", BLACK, None)]).choices[0].mid_s == sounding(brick, []).now_s


@pytest.mark.usefixtures("half_drawn")
def test_the_command_tells_reverberation_and_with_sound_the_list(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    allow = tmp_path / "allow.csv"
    allow.write_text(
        'surface,finish,price_per_m2\nceiling,charcoal matt paint,9\nback,"acoustic panel, black cloth",95\nfloor,dark carpet,45\n',
        encoding="utf-8",
    )
    base = ["finishes", "light-lounge", "--allow", str(allow), "--error", "0.1", "--threads", "1"]
    assert app.run([*base, "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert "sound" not in plain
    choices = plain["reverberation"]["choices"]
    assert [choice["surface"] for choice in choices] == ["ceiling", "back", "floor"]
    assert choices[0]["mid_s"] == plain["reverberation"]["now_mid_s"]
    assert choices[1]["mid_s"]["high"] < plain["reverberation"]["now_mid_s"]["high"]
    out = tmp_path / "out"
    assert app.run([*base, "--sound", "--out", str(out)]) == 0
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 80
    assert "Light and sound together" in text
    assert text.count("local code") == 1
    told = json.loads((out / "finishes.json").read_text(encoding="utf-8"))["sound"]
    assert told["tried"] == told["possible"] == 8
    assert told["sets"][0]["changes"] == {}
    assert all(one["checkerboard"]["standard_error"] > 0 for one in told["sets"])
    assert (out / "finishes-sound.png").is_file()
