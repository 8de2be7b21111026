"""The page's bundle in the package is what its sources give, and holds the licence of what it contains."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from halfgain.simulate.live.server import FILES, STATIC

from tests.chromium import give_up

CLIENT = Path(__file__).resolve().parents[2] / "simulate" / "live" / "client"


def test_the_bundle_is_the_build_of_its_sources(tmp_path: Path) -> None:
    if shutil.which("node") is None or shutil.which("npm") is None:
        give_up("no node and npm here")
    folder = tmp_path / "live" / "client"
    shutil.copytree(CLIENT, folder, ignore=shutil.ignore_patterns("node_modules", "package-lock.json"))
    shutil.copytree(STATIC, tmp_path / "live" / "static")
    if (CLIENT / "node_modules").is_dir():
        (folder / "node_modules").symlink_to(CLIENT / "node_modules")
    elif (
        subprocess.run(["npm", "install", "--no-audit", "--no-fund"], cwd=folder, capture_output=True, timeout=300).returncode
        != 0
    ):
        pytest.skip("three and esbuild could not be installed: no package registry within reach")
    run = subprocess.run(["node", "build.mjs", "--check"], cwd=folder, capture_output=True, text=True, timeout=120)
    assert run.returncode == 0, run.stderr
    page = tmp_path / "live" / "static" / "page.js"
    page.write_text(page.read_text(encoding="utf-8") + " ", encoding="utf-8")
    assert subprocess.run(["node", "build.mjs", "--check"], cwd=folder, capture_output=True, timeout=120).returncode == 1, (
        "the check can fail"
    )


def test_all_files_of_the_page_are_there_with_the_licence() -> None:
    for name, _ in FILES.values():
        assert (STATIC / name).stat().st_size > 100
    licence = (STATIC / "licences.txt").read_text(encoding="utf-8")
    assert "The MIT License" in licence
    assert "three.js authors" in licence
    script = (STATIC / "page.js").read_text(encoding="utf-8")
    assert "http://" not in script.replace("http://www.w3.org", ""), "no other machine is named, so none can be asked"
