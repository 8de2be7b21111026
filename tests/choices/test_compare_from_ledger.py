"""`compare --ledger`: the same differences as a fresh comparison, and refusals by name of what moves light paths."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path

import pytest
from halfgain.scenes.library import scene_path
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.ledger_file import Kept
from halfgain.simulate.choices.axes import axes_of
from halfgain.simulate.choices.comparison import Comparison, compare
from halfgain.simulate.choices.variants import variants_of
from halfgain.simulate.command import app

from .scenes import document

FAST = ["--error", "0.1", "--threads", "1"]
LIGHT = '[[light]]\nname = "lamps"\nscreen_lx = 10\n'
CASES = {
    "fabric": {"fabric": ["matt white", "pearl", "louvred short-throw"]},
    "finish": {"finish": ["ceiling=0.7", "ceiling=charcoal matt paint"]},
    "projector": {"vary": ["projector.light_output_lm=1500,2600", "projector.native_contrast=1000,4000"]},
    "light state": {"light": ["lamps=5", "lamps=80"]},
    "fabric and finish": {"fabric": ["matt white", "grey 0.8"], "finish": ["back=0.2", "back=0.8"]},
    "flat hangs": {"hang": ["fixed frame", "tab-tensioned"]},
}


@cache
def kept() -> Kept:
    """A ledger of the test room, long enough for light finishes, of another seed than the fresh comparisons."""
    return Answers.of(document().scene, seed=11, paths=64, survival=0.8, threads=1).stage.kept


def both(case: str, *, error: float = 0.02) -> tuple[Comparison, Comparison]:
    axes = axes_of(**CASES[case])  # type: ignore[arg-type]
    variants = variants_of(document(lights=LIGHT), axes)
    fresh = compare(axes, variants, seed=1, error=error)
    return fresh, compare(axes, variants, error=error, ledger=(kept(), "room.npz"))


@pytest.mark.parametrize("case", CASES)
def test_differences_agree_with_a_comparison_that_traced_its_own_paths(case: str) -> None:
    # Source: the fresh comparison walks other random numbers; 3 joint standard errors and both bias bounds
    fresh, answered = both(case)
    assert answered.ledger is not None
    assert answered.seed == 11
    count = 0
    for ours, theirs in zip(answered.differences, fresh.differences, strict=True):
        for a, b in zip(ours, theirs, strict=True):
            assert (a.seat, a.figure) == (b.seat, b.figure)
            for one, other in ((a.value, b.value), (a.absolute, b.absolute)):
                joint = math.hypot(one.standard_error, other.standard_error)
                margin = 3.0 * joint + one.bias_bound + other.bias_bound + 1e-9 * abs(b.value.value)
                assert abs(one.value - other.value) <= margin, f"{a.seat}, {a.figure}: {one} against {other}"
                count += 1
    assert count > 10


def test_differences_from_one_ledger_are_paired() -> None:
    # two nearly equal paints: errors added in squares would drown the difference, common paths keep it
    axes = axes_of(finish=["ceiling=0.50", "ceiling=0.51"])
    answered = compare(axes, variants_of(document(), axes), error=0.2, ledger=(kept(), "room.npz"))
    contrast = next(d for d in answered.differences[1] if d.figure.key == "checkerboard_ratio")
    assert contrast.found
    assert contrast.absolute.standard_error < 0.2 * contrast.value.standard_error


def test_a_ledger_too_short_for_the_error_is_traced_anew_and_says_so() -> None:
    few = Answers.of(document().scene, seed=3, paths=4, survival=0.6, threads=1).stage.kept
    axes = axes_of(fabric=["matt white", "silver"])
    answered = compare(axes, variants_of(document(), axes), error=0.01, ledger=(few, "room.npz"))
    assert answered.met
    assert any("traced anew" in sentence for sentence in answered.ledger.retraced)
    assert len({each.measurement.paths for each in answered.paired}) == 1, "all variants on the same paths"
    assert answered.paired[0].measurement.paths > few.paths


@pytest.fixture(scope="module")
def lounge(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("ledger") / "lounge.npz"
    assert app.run(["trace", "light-lounge", "--ledger", str(path), *FAST]) == 0
    return path


@pytest.mark.usefixtures("undrawn")
def test_other_seats_are_answered_from_the_ledger(lounge: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    arguments = ["--seat-position", "armchair=[1.5, 2.6, 1.05]", "--ledger", str(lounge), "--out", str(out)]
    assert app.run(["compare", "light-lounge", *arguments, *FAST]) == 0
    assert "armchair" in capsys.readouterr().out


MOVES = [
    (["--size", "width 2 m"], ["screen.width_m"]),
    (["--hang", "motorised", "--hang", "fixed frame"], ["the cloth's shape (hang, folds)"]),
    (["--vary", "projector.lens_m=[0,4,2.15]"], ["projector.lens_m"]),
    (["--vary", "room.depth_m=5.4,6"], ["room.depth_m"]),
]


@pytest.mark.parametrize(("arguments", "named"), MOVES, ids=lambda value: value[0])
def test_what_moves_light_paths_is_refused_by_name(
    arguments: list[str], named: list[str], lounge: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert app.run(["compare", "light-lounge", *arguments, "--ledger", str(lounge), "--out", str(out), *FAST]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert all(name in said.err for name in named)
    assert not out.exists()


def test_the_command_says_where_its_paths_come_from(lounge: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["compare", "light-lounge", "--fabric", "matt white", "--fabric", "pearl", "--ledger", str(lounge)]
    assert app.run([*arguments, *FAST]) == 0
    assert "all from" in " ".join(capsys.readouterr().out.split())
    lighter = ["compare", "light-lounge", "--finish", "ceiling=0.95", "--ledger", str(lounge)]
    assert app.run([*lighter, "--json", *FAST]) == 0
    captured = capsys.readouterr()
    assert "a finish of reflectance 0.95 asks for paths that go on" in captured.err
    assert "traced anew" in captured.err
    assert "the file is as it was" in captured.err
    assert json.loads(captured.out)["ledger"]["traced_anew"]
    other = tmp_path / "other.toml"
    other.write_text(scene_path("light-lounge").read_text().replace("depth_cm = 540", "depth_cm = 560"))
    assert app.run(["compare", str(other), "--fabric", "pearl", "--ledger", str(lounge), *FAST]) == 2
    assert (
        'cannot answer for "as it stands" (room.depth_m is 5.6, in the ledger 5.4), nor for 1 other variant;'
        in capsys.readouterr().err
    )
    assert app.run(["compare", "light-lounge", "--fabric", "pearl", "--ledger", str(tmp_path / "none.npz"), *FAST]) == 2
    assert "no such ledger file" in capsys.readouterr().err
