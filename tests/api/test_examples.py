"""The example scripts run as they stand; the documentation shows them."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

from tests.coarse import make_folds_coarse

FOLDER = Path(__file__).resolve().parents[2] / "scenes" / "examples"  # beside the scenes, in no package
SCRIPTS = sorted(FOLDER.glob("*.py"))


def test_there_are_examples_made_of_cells() -> None:
    assert len(SCRIPTS) >= 4
    for script in SCRIPTS:
        text = script.read_text(encoding="utf-8")
        assert text.count("\n# %%\n") >= 2
        assert "\nassert " in text  # each holds what it shows


@pytest.mark.long
@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.stem)
def test_an_example_runs(script: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import matplotlib as mpl
    from halfgain.simulate.studies.engines import choose

    monkeypatch.setattr(choose, "WORTH_A_PROCESS_S", float("inf"))  # pytest's workers use the processors already
    make_folds_coarse(monkeypatch.setattr)
    monkeypatch.setattr(mpl, "rcParams", mpl.rcParams.copy())
    mpl.use("Agg")
    runpy.run_path(str(script), run_name="__main__")
