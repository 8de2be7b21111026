"""Which worker runs which tests: module by module, the longest first, so that both end at about the same time.

How long a module takes stands in seconds.json, which `HALFGAIN_WRITE_SECONDS=1 pytest` writes anew; only the order depends on it.
Compiled kernels are kept on disk and shared, whichever worker compiled them; those that nearly all tests need are compiled at the
start, each worker its own, where many tests are asked for. Linear algebra runs in one thread, as in the command line: the two
workers' own threads of it waited for each other in loops, for more than half of all CPU time.
"""

from __future__ import annotations

import json
import os
from collections import defaultdict
from pathlib import Path
from typing import Any

import pytest
from halfgain.simulate.command.one_thread_blas import one_thread_blas

one_thread_blas()  # before numpy is imported; the workers inherit it
SECONDS = Path(__file__).with_name("seconds.json")
TOGETHER = ("tests/page/", "tests/test_")  # one page serves all tests of the folder; the sources are parsed once
A_TEST_S = 0.3  # of a module that was not measured yet
MANY = 200  # tests
COMPILED_FIRST = {"gw0": "light-lounge", "gw1": "black-box"}  # folded and in colour; flat and grey: other versions of the kernels
_took: dict[str, float] = defaultdict(float)


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


def pytest_collection_finish(session: pytest.Session) -> None:
    scene = COMPILED_FIRST.get(os.environ.get("PYTEST_XDIST_WORKER", ""))
    if scene is None or len(session.items) < MANY:
        return
    from halfgain.simulate.measuring.first_run import compile_walk

    compile_walk(scene)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    _took[scope_of(report.nodeid)] += report.duration


def pytest_sessionfinish(session: pytest.Session) -> None:
    if os.environ.get("HALFGAIN_WRITE_SECONDS") and not hasattr(session.config, "workerinput"):
        seconds = {scope: round(took, 1) for scope, took in sorted(_took.items()) if took >= 1.0}
        SECONDS.write_text(json.dumps(seconds, indent=1) + "\n", encoding="utf-8")
