"""Pictures of a study that has run: what can be asked for, and what is refused by name."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import halfgain as hg
import numpy as np
import pytest
import scipy.stats
from halfgain.simulate.command.app import run as command
from halfgain.simulate.output.study.kept import kept_study
from halfgain.simulate.output.study.pictures import study_pictures
from halfgain.simulate.studies.engines import choose
from halfgain.simulate.studies.read import study_of

from tests.outputs import half_the_dots

from .studies import CEILING, FABRIC, SEAT, table

PNG = b"\x89PNG"


@pytest.fixture(scope="module", autouse=True)
def _half_drawn() -> Iterator[None]:
    """All pictures, those of the run as well."""
    with half_the_dots():
        yield


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A study of three paints, two fabrics and the lumens."""
    out = tmp_path_factory.mktemp("study") / "out"
    lumens = {"key": "projector.light_output_lm", "minus": "30 %"}
    hg.study(table(CEILING, FABRIC, lumens, design={"samples": 8}), out=out)
    return out


def test_a_study_leaves_its_pictures(folder: Path) -> None:
    for name in ("effects.png", "ranking.png", "front.png", "map.png"):
        assert (folder / name).read_bytes().startswith(PNG)


def test_pictures_drawn_again_from_the_folder_are_those_of_the_run(folder: Path) -> None:
    found = kept_study(folder)
    assert found.factors == ("ceiling", "fabric", "light_output_lm")
    assert found.shown()[0][:2] == (0.05, "matt white")
    for name, picture in study_pictures(found).items():
        assert picture == (folder / name).read_bytes(), name


@pytest.mark.usefixtures("undrawn")
def test_the_draws_of_a_kept_study_are_those_of_its_design(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where levels are drawn, and of the rows of the indices' design."""
    monkeypatch.setattr(choose, "WORTH_A_PROCESS_S", float("inf"))  # pytest's workers use the processors already
    lumens = {"key": "projector.light_output_lm", "minus": "30 %"}
    flat = hg.load_scene("long-lounge").with_hang("fixed frame")  # what is drawn does not hang on folds
    levels, indices = {"samples": 8, "combine": "sampled"}, {"samples": 16, "method": "sobol indices"}
    for design, drawn in ((levels, [lumens, SEAT]), (indices, [lumens])):
        given = table(CEILING, *drawn, scene=flat, design=design, outputs=["white_cd_m2"], error=0.2)
        hg.study(given, out=tmp_path / "out")
        asked, found = study_of(given), kept_study(tmp_path / "out")
        assert np.array_equal(found.draws, asked.draws(), equal_nan=True)
        assert np.isnan(found.draws).all(axis=0).tolist() == [True, *(False for _ in drawn)]
        for share, values in zip(found.draws, found.shown(), strict=True):
            assert values[1] == pytest.approx(1800.0 * (0.7 + 0.3 * share[1]))
        shutil.rmtree(tmp_path / "out")


def test_a_kept_study_is_drawn_alike_by_releases_that_draw_other_points(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scipy.stats.qmc, "LatinHypercube", None)
    for name, picture in study_pictures(kept_study(folder)).items():
        assert picture == (folder / name).read_bytes(), name


@pytest.mark.parametrize(
    "draws", [None, "", "draw,share of x\n", "draw,share of x\n" + "1,0.5\n" * 5, "draw,share of x\n1,half\n"]
)
def test_a_study_without_whole_draws_is_refused(folder: Path, tmp_path: Path, draws: str | None) -> None:
    shutil.copytree(folder, tmp_path / "out")
    (tmp_path / "out" / "draws.csv").unlink()
    if draws is not None:
        (tmp_path / "out" / "draws.csv").write_text(draws)
    with pytest.raises(hg.Error, match=r"holds no (whole|finished) study"):
        kept_study(tmp_path / "out")


def test_other_figures_states_and_seats_can_be_asked_for(folder: Path, tmp_path: Path) -> None:
    asked = ["--figure", "checkerboard_ratio", "--against", "washout_cd_m2", "--state", "lamps on", "--seat", "rear left"]
    out = tmp_path / "pictures"
    assert command(["study-plot", str(folder), *asked, "--over", "fabric", "--over", "ceiling", "--out", str(out)]) == 0
    assert sorted(path.name for path in out.iterdir()) == ["effects.png", "front.png", "map.png", "ranking.png"]
    assert (out / "effects.png").read_bytes() != (folder / "effects.png").read_bytes()


@pytest.mark.parametrize(
    "asked, told",
    [
        (["--figure", "checkerbord_ratio"], "figure: was not read, did you mean checkerboard_ratio?"),
        (["--state", "lamp"], "did you mean lamps on?"),
        (["--seat", "rear lft"], "did you mean rear left or rear right?"),
        (["--over", "wall"], "over: is no factor of the study"),
    ],
)
def test_what_was_not_read_is_refused_with_the_nearest_name(
    folder: Path, capsys: pytest.CaptureFixture[str], asked: list[str], told: str
) -> None:
    before = (folder / "effects.png").read_bytes()
    assert command(["study-plot", str(folder), *asked]) == 2
    assert told in capsys.readouterr().err
    assert (folder / "effects.png").read_bytes() == before


@pytest.mark.parametrize("content", [None, "{}", '{"format": "halfgain.study/1"}', "no json"])
def test_a_folder_without_a_whole_study_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], content: str | None
) -> None:
    if content is not None:
        (tmp_path / "study.json").write_text(content, encoding="utf-8")
    assert command(["study-plot", str(tmp_path)]) == 2
    assert "run the study again with --out" in capsys.readouterr().err
