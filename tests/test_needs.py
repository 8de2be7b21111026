"""A check whose library is missing is skipped, but not where every check is asked for; every test asks by `needs`."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.needs import needs

HERE = Path(__file__).resolve().parent


def test_a_missing_library_skips_or_fails_where_every_check_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("HALFGAIN_ALL_CHECKS", raising=False)
    with pytest.raises(pytest.skip.Exception, match="no_such_library is not installed"):
        needs("no_such_library")
    monkeypatch.setenv("HALFGAIN_ALL_CHECKS", "1")
    with pytest.raises(ModuleNotFoundError, match="no_such_library"):
        needs("no_such_library")
    assert needs("numpy").pi


def test_no_test_skips_for_a_missing_library_in_another_way() -> None:
    way = "importor" + "skip"
    asking = [path.name for path in sorted(HERE.rglob("*.py")) if way in path.read_text(encoding="utf-8")]
    assert asking == ["needs.py"]
