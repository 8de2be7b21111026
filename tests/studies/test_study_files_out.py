"""The files of a study: tidy tables that pandas and xarray read in a line, a manifest, a list of digests; a killed run goes on."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import halfgain as hg
import numpy as np
import pytest
from halfgain.simulate.command.app import run as command
from halfgain.simulate.output.digests import listed_digests, not_as_listed

from tests.needs import needs
from tests.outputs import dots_for_charts

from .studies import CEILING, FABRIC, LUMENS, table, written

pytestmark = pytest.mark.usefixtures("undrawn")  # test_study_plot.py looks at the pictures
TEXT = """scene = "long-lounge"
error = 0.05
outputs = ["white_cd_m2", "checkerboard_ratio"]
[[factor]]
key = "room.finish.ceiling"
values = [0.05, 0.5]
[[factor]]
key = "screen.fabric"
values = ["matt white", "pearl"]
"""


def test_the_command_writes_tables_and_manifest(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["study", str(written(tmp_path, TEXT)), "--out", str(tmp_path / "out")]) == 0
    assert "4 of 4 variants have figures" in capsys.readouterr().out
    pandas = needs("pandas")
    frame = pandas.read_csv(tmp_path / "out" / "results.csv")
    assert len(frame) == 4 * 6 * 2 * 2  # variants, seats, dark and lamps, figures
    cube = frame.set_index(["ceiling", "fabric", "seat", "state", "figure"])["value"].to_xarray()
    assert cube.sizes["ceiling"] == cube.sizes["fabric"] == 2
    assert float(cube.sel(ceiling=0.05, fabric="pearl", seat="front left", state="dark", figure="checkerboard_ratio")) > 50.0
    manifest = json.loads((tmp_path / "out" / "study.json").read_text("utf-8"))
    assert manifest["format"] == "halfgain.study/1"
    assert manifest["variants"] == {"count": 4, "with_figures": 4, "failed": 0, "equal_to_another": 0}
    assert {"halfgain", "numpy", "numba"} <= set(manifest["versions"])
    listed = listed_digests(tmp_path / "out" / "study.sha256")
    assert {"results.csv", "study.json", "variants.csv"} <= set(listed)
    assert not_as_listed(tmp_path / "out", listed) == []


def test_the_plan_alone_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["study", str(written(tmp_path, TEXT)), "--plan", "--out", str(tmp_path / "out")]) == 0
    assert not (tmp_path / "out").exists()
    assert "4 variants: light traced for 1 geometry, 2 fabrics put in" in capsys.readouterr().out.replace("\n", " ")


def test_a_broken_study_ends_with_two_and_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["study", str(written(tmp_path, TEXT.replace("fabric", "fabrik"))), "--out", str(tmp_path / "out")]) == 2
    assert "did you mean fabric" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_csv_and_parquet_hold_the_same(tmp_path: Path) -> None:
    parquet = needs("pyarrow.parquet")
    pandas = needs("pandas")
    given = table({"key": "room.finish.ceiling", "values": [0.05, "white ceiling paint"]}, LUMENS)
    hg.study(given, out=tmp_path / "a", parquet=True)
    hg.study(given, out=tmp_path / "b")
    one, other = (
        parquet.read_table(tmp_path / "a" / "results.parquet").to_pandas(),
        pandas.read_csv(tmp_path / "b" / "results.csv"),
    )
    assert list(one.columns) == list(other.columns)
    assert np.array_equal(one["value"], other["value"])
    assert list(one["ceiling"].unique()) == ["0.05", "white ceiling paint"]
    assert one["light_output_lm"].dtype == float


def test_results_in_python_are_frames_and_arrays() -> None:
    xarray = needs("xarray")
    result = hg.study(table(CEILING, FABRIC, outputs=["checkerboard_ratio"]))
    frame, arrays = result.to_frame(), result.to_xarray()
    assert isinstance(arrays, xarray.Dataset)
    assert arrays["checkerboard_ratio"].dims == ("variant", "seat", "state")
    assert list(arrays["fabric"].values[:2]) == ["matt white", "pearl"]
    row = frame[(frame.variant == 4) & (frame.seat == "rear left") & (frame.state == "lamps on")].iloc[0]
    here = {"variant": 4, "seat": "rear left", "state": "lamps on"}
    assert float(arrays["checkerboard_ratio"].sel(here)) == row.value
    assert float(arrays["checkerboard_ratio_standard_error"].sel(here)) == pytest.approx(row.standard_error, rel=1e-9)
    assert result.to_dict()["variants"]["count"] == 6


def test_a_study_drawn_for_indices_writes_them(tmp_path: Path) -> None:
    """White in proportion to lumens alone hangs on them alone; black = white / native contrast on both (derived)."""
    lumens, black = (
        {"key": "projector.light_output_lm", "minus": "30 %"},
        {"key": "projector.native_contrast", "plus_minus": "10 %"},
    )
    scene = hg.load_scene("black-box").change("projector.native_contrast", 2000.0)
    keys = {"outputs": ["white_cd_m2", "black_cd_m2"], "states": ["dark"], "design": {"method": "sobol indices", "samples": 64}}
    result = hg.study(table(lumens, black, scene=scene, **keys), out=tmp_path / "out")
    assert len(result.keys) == 64 * 4
    rows = [line.split(",") for line in (tmp_path / "out" / "indices.csv").read_text("utf-8").splitlines()]
    assert rows[0][:5] == ["seat", "state", "figure", "factor", "first"]
    found = {(row[2], row[3]): [float(part) for part in row[4:]] for row in rows[1:] if row[0] == "on the normal"}
    lit, dark = (0.3 / 0.85) ** 2 / 12, 0.2**2 / 12  # variances over squared means
    assert found["white_cd_m2", "light_output_lm"][0] == pytest.approx(
        1.0, abs=4 * found["white_cd_m2", "light_output_lm"][1] + 1e-9
    )
    first, error = found["black_cd_m2", "light_output_lm"][:2]
    assert abs(first - lit / (lit + dark)) < 4.0 * error + 0.01  # 1 %: the product of the two, and 1 / contrast
    again = hg.study(table(lumens, black, scene=scene, **keys), out=tmp_path / "out")  # its own files it may replace
    assert again.known == 64 * 4


def test_failed_variants_stand_apart(tmp_path: Path) -> None:
    result = hg.study(table({"key": "room.depth_m", "values": [6.2, 3.0]}), out=tmp_path / "out")
    assert list(result.failed) == [2]
    assert "outside the room" in (tmp_path / "out" / "failed.csv").read_text("utf-8")
    assert ",3.0," not in (tmp_path / "out" / "results.csv").read_text("utf-8")


def test_a_foreign_file_in_the_folder_is_not_replaced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "results.csv").write_text("mine\n", encoding="utf-8")
    assert command(["study", str(written(tmp_path, TEXT)), "--out", str(tmp_path / "out")]) == 2
    assert "not replaced" in capsys.readouterr().err
    assert not (tmp_path / "out" / "parts").exists()


def test_a_file_in_the_place_of_the_parts_is_refused_before_any_work(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("halfgain.simulate.studies.plan.plan_of", lambda *_: pytest.fail("worked in vain"))
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "parts").write_text("mine")
    assert command(["study", str(written(tmp_path, TEXT)), "--out", str(tmp_path / "out")]) == 2
    assert capsys.readouterr().err == (
        f"halfgain: {tmp_path / 'out' / 'parts'}: not a folder (allowed: a folder, made where it is missing)\n"
    )


def test_a_damaged_part_is_done_again(tmp_path: Path) -> None:
    first = hg.study(table(CEILING), out=tmp_path / "out")
    before = (tmp_path / "out" / "results.csv").read_bytes()
    part = next((tmp_path / "out" / "parts").glob("*.npz"))
    part.write_bytes(part.read_bytes()[:-40])
    again = hg.study(table(CEILING), out=tmp_path / "out")
    assert (first.known, again.known) == (0, 0)
    assert (tmp_path / "out" / "results.csv").read_bytes() == before


MANY = TEXT.replace('"pearl"', '"pearl"]\n[[factor]]\nkey = "room.depth_m"\nvalues = [6.2, 6.3, 6.4, 6.5')


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A study of four geometries, run without a break."""
    folder = tmp_path_factory.mktemp("whole")
    with dots_for_charts():
        hg.study(written(folder, MANY), out=folder / "out")
    return folder / "out"


@pytest.mark.parametrize("after", [1, 3])
def test_a_run_killed_at_any_moment_goes_on_and_ends_with_the_same_bytes(tmp_path: Path, whole: Path, after: int) -> None:
    """Killed as hard as can be once some parts are there; the next run keeps them."""
    file = written(tmp_path, MANY)
    code = "import sys; from halfgain.simulate.command.app import run; run(sys.argv[1:])"
    victim = subprocess.Popen([sys.executable, "-c", code, "study", str(file), "--out", str(tmp_path / "out"), "--quiet"])
    deadline = time.monotonic() + 60.0
    while len(list((tmp_path / "out" / "parts").glob("*.npz"))) < after and victim.poll() is None and time.monotonic() < deadline:
        time.sleep(0.002)
    os.kill(victim.pid, signal.SIGKILL)
    victim.wait()
    assert not (tmp_path / "out" / "results.csv").exists()
    again = hg.study(file, out=tmp_path / "out")
    assert 4 * after <= again.known < 16
    for name in ("results.csv", "variants.csv", "failed.csv"):
        assert (tmp_path / "out" / name).read_bytes() == (whole / name).read_bytes()
