"""Every folder of modules is installed: named among the packages, with its place; and so are the files beside them that they read."""

from __future__ import annotations

import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SETUP = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
FRONT_DOOR = "simulate/api"  # installed as halfgain itself


def folders() -> set[str]:
    """Folders that hold modules, from the root, but those of scripts beside the scenes."""
    found = {path.parent.relative_to(ROOT) for top in ("materials", "scenes", "simulate") for path in (ROOT / top).rglob("*.py")}
    return {folder.as_posix() for folder in found if "node_modules" not in folder.parts} - {"scenes/examples"}


def test_every_folder_of_modules_is_a_package() -> None:
    expected = {"halfgain" if folder == FRONT_DOOR else "halfgain." + folder.replace("/", "."): folder for folder in folders()}
    assert SETUP["package-dir"] == expected
    assert set(SETUP["packages"]) == set(expected)
