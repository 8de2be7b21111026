"""The one command for all speeds: its options, its rows, what is reckoned in it, and that it times what users start."""

from __future__ import annotations

import math
import os
import sys
import time
import zipfile
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from halfgain.simulate.light import workers

from benchmarks import parts, report, scale, speed, start_up
from benchmarks.__main__ import main, parser
from benchmarks.figures import Figure, lines_of, middle_of
from benchmarks.jobs import GROUPS
from benchmarks.state import state_of_the_machine


def test_options() -> None:
    asked = parser().parse_args(["--quick", "--only", "start", "light", "--against", "HEAD~1"])
    assert (asked.quick, asked.only, asked.against, asked.scale, asked.live) == (True, ["start", "light"], "HEAD~1", False, False)
    assert parser().parse_args([]).only is None
    with pytest.raises(SystemExit) as caught:
        parser().parse_args(["--only", "nothing"])
    assert caught.value.code == 2


@pytest.mark.parametrize(
    ("arguments", "allowed"),
    [(["--only", "lamps"], "pictures, report"), (["--only", "report", "--against", "HEAD"], "lamps, light")],
)
def test_parts_that_a_table_does_not_have_are_refused(
    arguments: list[str], allowed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == 2
    assert allowed in capsys.readouterr().err


def test_an_unknown_commit_ends_with_one_line_and_status_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--against", "no-such-commit"]) == 2
    said = capsys.readouterr().err
    assert "no such commit" in said
    assert said.count("\n") == 1


def test_only_the_asked_parts_are_measured(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    for name in parts.PARTS:
        monkeypatch.setitem(parts.PARTS, name, lambda quick, name=name: iter([Figure(f"{name} {quick}", 1.0, "s")]))
    assert main(["--only", "folds", "--quick"]) == 0
    printed = capsys.readouterr().out
    assert "folds True" in printed
    assert "start True" not in printed
    assert "transport" in parts.PARTS
    assert {"light", "answers", "pictures", "lamps", "folds"} <= set(GROUPS)


def test_the_machine_is_described() -> None:
    lines = state_of_the_machine()
    assert [line.split()[0] for line in lines] == ["commit", "processor", "load", "python", "packages"]
    assert all(f"{name} " in lines[-1] for name in ("numba", "numpy"))


def test_rows_say_whether_their_aim_is_met() -> None:
    rows = lines_of(
        [
            Figure("a", 0.4321, "s", aim=0.5),
            Figure("b", 0.6, "s", aim=0.5),
            Figure("c", 41.0, "times", aim=80.0, more_is_better=True),
            Figure("d", -0.8123, "", error=0.0456, aim=-0.75),
            Figure("e", 12345.6, "ms"),
        ]
    )
    assert rows[0].split() == ["a", "0.432", "s", "aim", "<=", "0.5"]
    assert rows[1].split()[-2:] == ["not", "met"]
    assert rows[2].split() == ["c", "41", "times", "aim", ">=", "80", "not", "met"]
    assert rows[3].split() == ["d", "-0.812", "+-", "0.0456", "aim", "<=", "-0.75"]
    assert rows[4].split() == ["e", "12,346", "ms"]


def test_the_exponent_and_the_time_at_an_error_of_a_power_law() -> None:
    # Expected: error = 3 / paths^0.8 and CPU = 2 ms + 1 us a path, put in by hand; log-log interpolation is exact for powers alone
    trials = [speed.Trial(n, 1e-6 * n, np.full(16, (3.0 * n**-0.8) ** 2)) for n in (64, 128, 256, 512, 1024, 2048, 4096, 8192)]
    power, error = speed.exponent(trials)
    assert power == pytest.approx(-0.8, abs=1e-12)
    assert error == pytest.approx(0.0, abs=1e-9)
    assert speed.at(trials, 0.01) == pytest.approx(1e-6 * 300.0**1.25, rel=1e-12)
    with pytest.raises(ValueError, match="left an error"):
        speed.at(trials, 1e-9)
    assert speed.power_at_the_end(trials)[0] == pytest.approx(-0.8, rel=1e-12)
    ours = speed.Ours({t: speed.at(trials, t) for t in speed.TARGETS}, dict.fromkeys(speed.TARGETS, 0.1), tuple(trials))
    power, error = speed.power_of_time(ours)
    assert power == pytest.approx(-0.8, rel=1e-12)
    # Expected: the derivative of the slope by each time's logarithm, 10 % of each, to first order
    assert error == pytest.approx(0.8 * 0.1 * math.sqrt(2.0) / math.log(0.3**-1.25), rel=1e-12)


def test_how_sure_the_power_at_the_end_is() -> None:
    # Expected: the scatter of that power over fresh repeats of a power law
    rng = np.random.default_rng(8)

    def power() -> tuple[float, float]:
        pair = [speed.Trial(n, 1e-6 * n, (3.0 * n**-0.8) ** 2 * rng.chisquare(3, 32) / 3.0) for n in (512, 1024)]
        return speed.power_at_the_end(pair)

    found = np.array([power() for _ in range(600)])
    assert np.sqrt(np.mean(found[:, 1] ** 2)) == pytest.approx(found[:, 0].std(), rel=0.15)


def test_how_sure_a_time_to_an_error_is() -> None:
    # Expected: the scatter of that time over fresh repeats; mean squares of three values each, errors of a power law
    rng, paths = np.random.default_rng(3), (64, 128, 256, 512, 1024, 2048, 4096)

    def trials() -> list[speed.Trial]:
        return [speed.Trial(n, 1e-6 * n, (3.0 * n**-0.8) ** 2 * rng.chisquare(3, 16) / 3.0) for n in paths]

    found = [trials() for _ in range(300)]
    scatter = np.std([np.log(speed.at(each, 0.01)) for each in found])
    said = np.sqrt(np.mean([speed.unsure_at(each, 0.01) ** 2 for each in found]))
    assert said == pytest.approx(scatter, rel=0.25)


def test_a_time_beyond_the_trials() -> None:
    # Expected: a power law put in by hand is exact; with scattered errors, the scatter of that time over fresh trials
    seconds, rng = (0.1, 0.4, 1.5), np.random.default_rng(5)

    def trials(scatter: float) -> list[Any]:
        return [SimpleNamespace(cpu_seconds=s, error=0.02 * s**-0.5 * math.exp(scatter * rng.normal())) for s in seconds]

    assert speed.beyond(trials(0.0), 0.003, 0.1).cpu_s == pytest.approx((0.02 / 0.003) ** 2, rel=1e-12)
    found = [speed.beyond(trials(0.02), 0.003, 0.04) for _ in range(2000)]
    assert np.mean([each.unsure for each in found]) == pytest.approx(np.std([math.log(each.cpu_s) for each in found]), rel=0.1)


def test_the_middle_of_samples_has_its_error() -> None:
    # Expected: sqrt(pi / 2) s / sqrt(n) by hand; and the scatter of medians of many normal samples
    assert middle_of("a", [1.0, 2.0, 3.0], "s")[1:4] == (2.0, "s", pytest.approx(math.sqrt(math.pi / 6.0)))
    assert middle_of("a", [1.0], "s").error is None
    drawn = np.random.default_rng(4).normal(10.0, 1.0, (2000, 101))
    said = np.mean([middle_of("a", list(each), "s").error for each in drawn[:200]])
    assert said == pytest.approx(np.std(np.median(drawn, axis=1)), rel=0.05)


def test_gain_of_threads_on_paper() -> None:
    # Expected: Amdahl's law by hand
    assert scale.on_paper(0.0, 8) == pytest.approx(8.0)
    assert scale.on_paper(0.1, 4) == pytest.approx(1.0 / 0.325)
    assert scale.on_paper(1.0, 64) == pytest.approx(1.0)


def test_the_serial_share_is_what_no_thread_gets(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = 0.0

    def busy(seconds: float) -> None:
        nonlocal clock
        clock += seconds

    monkeypatch.setattr(time, "thread_time", lambda: clock)

    def job() -> None:
        busy(0.03)
        workers.in_ranges(lambda low, high: busy(0.09), 10, 1)
        workers.in_ranges(lambda low, high: busy(0.03), 1, 1)  # one piece cannot be shared

    plain = workers.in_ranges
    assert scale.serial_share(job) == pytest.approx(0.4)
    assert workers.in_ranges is plain


def test_peak_memory_is_that_of_the_command_not_of_who_started_it() -> None:
    # Expected: help needs no arrays; the kernel counts for a child what its parent held, which is 400 MiB here
    ballast = np.ones(50 * 1024 * 1024)
    assert 10.0 < start_up.timed(["--help"]).peak_mib < 200.0
    assert ballast.nbytes / 2**20 == 400.0
    with pytest.raises(RuntimeError, match="left with status 2"):
        start_up.timed(["measure", "no-such-scene"])


def test_first_answers_are_timed_from_the_wheel_alone_with_and_without_its_machine_code(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wheel, code = tmp_path / "a.whl", "halfgain/materials/kernels/machine_code/a.kernel"
    with zipfile.ZipFile(wheel, "w") as archive:
        archive.writestr("halfgain/__init__.py", "")
        archive.writestr(code, "code")
    seen = []

    def timed(command: list[str], *, cache: str, environment: dict[str, str]) -> start_up.Used:
        site = Path(environment["PYTHONPATH"])
        seen.append((command, (site / code).exists(), Path(cache).exists(), bool(list(site.rglob("*.pyc")))))
        Path(cache).mkdir()
        return start_up.Used(1.0, 2.0, 3.0)

    monkeypatch.setattr(start_up, "timed", timed)
    start_up.first_answers("black-box", str(wheel), rounds=2)
    assert seen == [(["measure", "black-box"], with_code, False, True) for with_code in (True, False, True, False)]


def test_a_page_is_timed_by_the_entry_point_that_users_start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Linear algebra on one thread is set there alone; without it the page took half as much CPU time again."""
    seen = tmp_path / "seen"
    python = tmp_path / "python"
    python.write_text(
        f"#!{sys.executable}\n"
        "import os, sys\n"
        "from halfgain.simulate.command import commands\n"
        "def instead(arguments):\n"
        f"    open({str(seen)!r}, 'w').write(' '.join([os.environ.get('OPENBLAS_NUM_THREADS', 'unset'), *arguments]))\n"
        "    return 0\n"
        "commands.run_command = instead\n"
        "code, sys.argv = sys.argv[2], ['-c', *sys.argv[3:]]\n"
        "exec(code)\n"
    )
    python.chmod(0o755)
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    used = report.page(str(python), "light-lounge")
    assert seen.read_text().startswith("1 report light-lounge --threads 2 --out ")
    assert used.cpu_s > 0.0
    assert os.environ.get("OPENBLAS_NUM_THREADS") is None
