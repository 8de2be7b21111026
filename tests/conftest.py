"""Which worker runs which tests: module by module, the longest first, so that both end at about the same time.

How long a module takes stands in seconds.json, and which tests are `long` in long.json: as many of the longest as must be left out for
the others to take QUICK_S. `HALFGAIN_WRITE_SECONDS=1 pytest` writes both anew.
Compiled kernels are kept on disk and shared, whichever worker compiled them; those that nearly all tests need are compiled at the
start, where many tests are asked for: walk and tracing by one worker, the map by the other, so that neither waits for what the other
compiles. Linear algebra runs in one thread, as in the command line: the two
workers' own threads of it waited for each other in loops, for half of the CPU time and more where a test reads many runs (measured).
Python keeps modules compiled beside their sources, whatever the environment says: without, each of the hundreds of processes that tests
start reads all of the project's text anew, and each worker that of all tests (0.2 s and 7 s of CPU).
"""

from __future__ import annotations

import gc
import json
import os
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from halfgain.simulate.command.one_thread_blas import one_thread_blas

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False
one_thread_blas()  # before numpy is imported; the workers inherit it
gc.set_threshold(5_000, 10, 10)  # what tests make is looked through for circles less often: 2 % of the time
SECONDS, LONG = Path(__file__).with_name("seconds.json"), Path(__file__).with_name("long.json")
QUICK_S = 100.0  # of both workers together, so that `pytest -m "not long"` ends within 90 s on two cores, imports included
# one browser and one server, or one page, serve all tests of a folder; the library's scenes are measured, and the same folds judged,
# once; the sources are parsed once
TOGETHER = ("tests/live/", "tests/page/", "tests/command/", "tests/choices/", "tests/test_")
A_TEST_S = 0.3  # of a module that was not measured yet
MANY = 200  # tests
WORKER = os.environ.get("PYTEST_XDIST_WORKER", "")  # of pytest-xdist; empty in a run without
COMPILED_FIRST = ("light-lounge", "black-box")  # folded and in colour; flat and grey: other versions of the kernels
_took: dict[str, float] = defaultdict(float)  # seconds, by scope
_took_alone: dict[str, float] = defaultdict(float)  # by test


@pytest.fixture
def coarse() -> Iterator[None]:
    """Large cells, few rays, for tests of what does not hang on how finely the light is worked out."""
    from tests.coarse import make_coarse

    with pytest.MonkeyPatch.context() as patch:
        make_coarse(patch.setattr)
        yield


@pytest.fixture
def undrawn() -> Iterator[None]:
    """Charts are put together but not drawn: for tests of the files, the words and the figures beside them."""
    from tests.outputs import dots_for_charts

    with dots_for_charts():
        yield


@pytest.fixture
def half_drawn() -> Iterator[None]:
    """Charts have a fourth of the pixels: for tests that look whether anything is drawn, not how finely."""
    from tests.outputs import half_the_dots

    with half_the_dots():
        yield


def scope_of(nodeid: str) -> str:
    """The module, or all that begins as TOGETHER says."""
    module = nodeid.split("::", 1)[0]
    return next((folder for folder in TOGETHER if module.startswith(folder)), module)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: Any, log: Any) -> Any:
    """Hands out the longest scope that is left."""
    from xdist.scheduler import LoadScopeScheduling

    known = json.loads(SECONDS.read_text(encoding="utf-8"))

    class LongestFirst(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return scope_of(nodeid)

        def _assign_work_unit(self, node: Any) -> None:
            longest = max(self.workqueue, key=lambda scope: known.get(scope, A_TEST_S * len(self.workqueue[scope])))
            self.workqueue.move_to_end(longest, last=False)
            super()._assign_work_unit(node)

    return LongestFirst(config, log)


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector) -> Iterator[Any]:
    """The second worker reads folders from their end: where nothing is compiled yet, each compiles the half that it meets first."""
    report = yield
    if WORKER == "gw1" and isinstance(collector, pytest.Directory):
        report.result.reverse()
    return report


@pytest.hookimpl(tryfirst=True)  # before `-m` chooses
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if WORKER:
        items.sort(key=lambda item: item.path)  # all workers' in one order
    long = set(json.loads(LONG.read_text(encoding="utf-8"))) if LONG.exists() else set()
    for item in items:
        if item.nodeid in long:
            item.add_marker(pytest.mark.long)


def long_ones(seconds: dict[str, float]) -> dict[str, float]:
    """The longest tests, without which the others take QUICK_S in all, the longest first."""
    left, long = sum(seconds.values()), {}
    for test in sorted(seconds, key=lambda test: (-seconds[test], test)):
        if left <= QUICK_S:
            break
        long[test] = round(seconds[test], 1)
        left -= seconds[test]
    return long


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[Any]:
    gc.disable()  # all that collecting makes stays: looking through it for what does not took half a second of a worker
    try:
        return (yield)
    finally:
        gc.enable()


def pytest_collection_finish(session: pytest.Session) -> None:
    gc.freeze()  # thousands of tests and all modules stay: looking through them again and again took 4 % of the time
    if WORKER not in ("gw0", "gw1") or len(session.items) < MANY:
        return
    from halfgain.scenes.load import load_scene
    from halfgain.simulate.measuring.first_run import compile_trace, compile_walk
    from halfgain.simulate.measuring.flatten import flatten
    from halfgain.simulate.measuring.solver import measuring_points, prepare

    for scene in COMPILED_FIRST:
        if WORKER == "gw0":
            compile_walk(scene)
        else:
            arrays = flatten(load_scene(scene))
            prepare(arrays, measuring_points(arrays))
            compile_trace(scene)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    _took[scope_of(report.nodeid)] += report.duration
    _took_alone[report.nodeid] += report.duration


def pytest_sessionfinish(session: pytest.Session) -> None:
    if os.environ.get("HALFGAIN_WRITE_SECONDS") and not hasattr(session.config, "workerinput"):
        seconds = {scope: round(took, 1) for scope, took in sorted(_took.items()) if took >= 1.0}
        SECONDS.write_text(json.dumps(seconds, indent=1) + "\n", encoding="utf-8")
        LONG.write_text(json.dumps(long_ones(_took_alone), indent=1) + "\n", encoding="utf-8")
