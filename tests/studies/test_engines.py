"""Workers that die cost nothing but time: those of this machine, and those of a Dask cluster."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from typing import Any

import halfgain as hg
import pytest
from halfgain.simulate.command.app import run as command
from halfgain.simulate.studies.engines import local as local_engine
from halfgain.simulate.studies.engines.engine import Outcome
from halfgain.simulate.studies.engines.local import Local
from halfgain.simulate.studies.job import Job, StudyError
from halfgain.simulate.studies.outcome import StudyResult
from halfgain.simulate.studies.plan import plan_of
from halfgain.simulate.studies.read import study_of
from halfgain.simulate.studies.run import run_study
from halfgain.simulate.studies.store import Memory

from tests.needs import needs

from .studies import CEILING, DEPTH, FABRIC, run, table

GIVEN = table(CEILING, {"key": "room.depth_m", "values": [6.1, 6.2, 6.3, 6.4, 6.5, 6.6]})


def told(result: StudyResult) -> list[tuple[object, ...]]:
    return sorted(tuple(row) for row in result.rows())


@pytest.fixture(scope="module")
def here() -> list[tuple[object, ...]]:
    """The study in this process."""
    return told(run(GIVEN))


def kill_one(engine: Local) -> None:
    """Waits for a worker, then ends it as hard as can be."""
    deadline = time.monotonic() + 60.0
    while not engine.processes and time.monotonic() < deadline:
        time.sleep(0.01)
    time.sleep(0.3)
    os.kill(engine.processes[0].pid, signal.SIGKILL)


def test_a_local_worker_that_is_killed_loses_nothing(here: list[tuple[object, ...]]) -> None:
    engine = Local(2)
    killer = threading.Thread(target=kill_one, args=(engine,))
    killer.start()
    result = run(GIVEN, engine)
    killer.join()
    assert not result.failed
    assert told(result) == here


def test_a_variant_that_takes_its_workers_with_it_is_named_and_the_others_are_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every worker that meets the depth of 6.4 m dies of it; its job is cut until the variants alone are left."""
    asked = local_engine._asked

    def deadly(process: Any, job: Job) -> Any:
        if any(change.path == ("room", "depth_m") and change.value == 6.4 for task in job.tasks for change in task.changes):
            process.kill()
        return asked(process, job)

    monkeypatch.setattr(local_engine, "_asked", deadly)
    store = Memory()
    result = run(table(FABRIC, DEPTH), Local(1), store)
    assert list(result.failed) == [2, 4]
    assert "worker was lost" in result.failed[2]
    assert {row.variant for row in result.rows()} == {1, 3}
    monkeypatch.undo()
    again = run(table(FABRIC, DEPTH), store=store)
    assert not again.failed
    assert again.known == 2


def test_a_worker_whose_parent_is_gone_ends_without_a_word() -> None:
    """As after Ctrl-C while it is still loading: nobody listens to its first answer."""
    reading, writing = os.pipe()
    os.close(reading)
    command = [sys.executable, "-m", "halfgain.simulate.studies.engines.worker"]
    done = subprocess.run(command, stdin=subprocess.DEVNULL, stdout=writing, stderr=subprocess.PIPE, text=True, check=False)
    os.close(writing)
    assert (done.returncode, done.stderr) == (0, "")


def test_workers_that_cannot_start_end_the_study_with_a_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(local_engine.sys, "executable", "/bin/false")
    with pytest.raises(StudyError, match="before they can do anything"):
        run(table(CEILING), Local(2))


def test_workers_of_another_version_are_refused() -> None:
    plan = plan_of(study_of(table(CEILING)))
    other = type(plan)(
        plan.study,
        plan.matrix,
        plan.order,
        plan.moves,
        plan.ask.__class__(**{**plan.ask.__dict__, "code": "0" * 64}),
        plan.carried,
    )
    with pytest.raises(StudyError, match="another version"):
        run_study(other, Local(1), Memory())


def test_no_more_jobs_are_taken_than_are_in_hand() -> None:
    """Memory stays bounded: whoever does not read the outcomes stops the supply."""
    taken = []

    def jobs() -> Iterator[Job]:
        plan = plan_of(study_of(table({"key": "room.finish.ceiling", "first": 0.01, "last": 0.9, "steps": 40})))
        (job,) = [piece.job for piece in plan.pieces({}) if piece.job is not None]
        for task in job.tasks:
            taken.append(task)
            yield Job(job.base, job.reference, job.ask, (task,))

    outcomes = Local(1).run(jobs())
    first = next(outcomes)
    time.sleep(0.5)
    assert isinstance(first, Outcome)
    assert len(taken) <= 5
    outcomes.close()  # type: ignore[attr-defined]


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """A scheduler and two worker processes of this machine."""
    distributed = needs("distributed")
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=60) as found:
        yield found


@pytest.mark.long
def test_a_cluster_gives_the_same_bits_also_when_a_worker_is_killed(cluster: Any, here: list[tuple[object, ...]]) -> None:
    from halfgain.simulate.studies.engines.cluster import Cluster

    result = hg.study(GIVEN, cluster=cluster.scheduler_address)
    assert told(result) == here
    engine = Cluster(cluster.scheduler_address)
    victim = next(iter(engine._client.run(os.getpid).values()))
    threading.Timer(0.3, os.kill, (victim, signal.SIGKILL)).start()
    result = run(GIVEN, engine)
    engine.close()
    assert not result.failed
    assert told(result) == here


def test_an_address_where_nobody_answers_is_refused(
    tmp_path: Any, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    needs("distributed")
    from halfgain.simulate.studies.engines import cluster as door

    monkeypatch.setattr(door, "CONNECT_S", 1)
    file = tmp_path / "study.toml"
    file.write_text(
        'scene = "long-lounge"\nerror = 0.1\n[[factor]]\nkey = "room.finish.ceiling"\nvalues = [0.2]\n', encoding="utf-8"
    )
    assert command(["study", str(file), "--cluster", "tcp://127.0.0.1:9", "--out", str(tmp_path / "out")]) == 2
    assert "no Dask scheduler with a worker answers at tcp://127.0.0.1:9" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
