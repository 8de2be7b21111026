"""Which worker runs which tests: folders that compile many kernels of their own stay on one worker, so that each is compiled once."""

from __future__ import annotations

from typing import Any

import pytest

TOGETHER = ("tests/answers/", "tests/choices/", "tests/page/", "tests/views/")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: Any, log: Any) -> Any:
    """Scopes are modules, or whole folders of TOGETHER."""
    from xdist.scheduler import LoadScopeScheduling

    class ByFolder(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            folder = next((folder for folder in TOGETHER if nodeid.startswith(folder)), None)
            return folder or super()._split_scope(nodeid)

    return ByFolder(config, log)
