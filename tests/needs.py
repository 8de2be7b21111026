"""Libraries of the dev extra that one check needs: where one is missing its checks are skipped, or fail where every check is asked for."""

from __future__ import annotations

import importlib
import os
from typing import Any

import pytest


def needs(name: str) -> Any:
    """The module, imported.

    raises  ImportError where it is missing and HALFGAIN_ALL_CHECKS is 1; else the test, or the module that asks, is skipped
    """
    if os.environ.get("HALFGAIN_ALL_CHECKS") == "1":
        return importlib.import_module(name)
    return pytest.importorskip(name, reason=f"{name} is not installed (the dev extra brings it)")
