"""How the package is built: by setuptools, and then machine code is put into its wheel, so that a first run need not compile.

What is put in is chosen by pip's -C: machine-code=measure (what `halfgain measure` runs in box rooms; the default), all (lamps, all
rooms of the library, and the other commands that light them: for a release) or no. It is made where it can be tried: under Linux, on an
x86-64 processor that has the level it is made for. Elsewhere, and whatever fails in making it, the wheel is the plain one, which
compiles what it runs on any system; one line says so.

Source: PEP 517 (hooks, backend-path).
"""

from __future__ import annotations

import os
import platform
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from setuptools import build_meta
from setuptools.build_meta import (
    build_editable,
    get_requires_for_build_editable,
    get_requires_for_build_sdist,
    prepare_metadata_for_build_editable,
    prepare_metadata_for_build_wheel,
)
from wheels import with_files

__all__ = [
    "build_editable",
    "build_sdist",
    "build_wheel",
    "get_requires_for_build_editable",
    "get_requires_for_build_sdist",
    "get_requires_for_build_wheel",
    "prepare_metadata_for_build_editable",
    "prepare_metadata_for_build_wheel",
]

Settings = dict[str, Any] | None
KEY, CHOICES = "machine-code", ("measure", "all", "no")
RUN = {"numpy", "numba", "llvmlite", "scipy", "pydantic"}  # the requirements that measuring from Python imports
IN_WHEEL = "halfgain/materials/kernels/machine_code/"
HERE = Path(__file__).resolve().parent
LONGEST_S = 1800.0


def get_requires_for_build_wheel(config_settings: Settings = None) -> list[str]:
    """What building a wheel needs; where it gets machine code, what the kernels run on too."""
    plain = list(build_meta.get_requires_for_build_wheel(config_settings))
    return [*plain, *_requirements_to_run(_chosen(config_settings))]


def build_wheel(wheel_directory: str, config_settings: Settings = None, metadata_directory: str | None = None) -> str:
    """Write a wheel into a folder; returns its name."""
    what = _chosen(config_settings)
    with _no_copies():
        plain = Path(wheel_directory, build_meta.build_wheel(wheel_directory, config_settings, metadata_directory))
    if what == "no":
        return plain.name
    try:
        with tempfile.TemporaryDirectory() as folder:
            full = with_files(plain, IN_WHEEL, _machine_code(plain, what, Path(folder)))
    except Exception as fault:  # of any kind: a wheel without is a good wheel
        print(f"halfgain: no machine code in the wheel, so a first run compiles: {fault}", file=sys.stderr, flush=True)
        return plain.name
    plain.unlink()
    return full.name


def build_sdist(sdist_directory: str, config_settings: Settings = None) -> str:
    """Write an archive of the sources into a folder, these files included; returns its name."""
    name = build_meta.build_sdist(sdist_directory, config_settings)
    whole = Path(sdist_directory, name)
    with tempfile.TemporaryDirectory(dir=sdist_directory) as folder:
        written = Path(folder, name)
        with tarfile.open(whole) as old, tarfile.open(written, "w:gz") as new:
            for member in old:
                new.addfile(member, old.extractfile(member) if member.isfile() else None)
            for path in sorted(HERE.glob("*.py")):
                new.add(path, f"{name.removesuffix('.tar.gz')}/{HERE.name}/{path.name}")
        written.replace(whole)
    return name


@contextmanager
def _no_copies() -> Iterator[None]:
    """No copies of modules from before, which setuptools would put into the wheel though they are gone, and none left behind.

    What else is in build/ stays: a strict editable installation lives there.
    """
    copies, folder = HERE.parent / "build" / "lib", HERE.parent / "build"
    shutil.rmtree(copies, ignore_errors=True)
    try:
        yield
    finally:
        for each in (copies, *folder.glob("bdist.*")):
            shutil.rmtree(each, ignore_errors=True)
        with suppress(OSError):  # not empty, or not there
            folder.rmdir()


def _chosen(config_settings: Settings) -> str:
    """Which machine code the wheel gets, one of CHOICES; none on systems where it is never made.

    raises  ValueError where another is asked for
    """
    asked = (config_settings or {}).get(KEY, CHOICES[0])
    if asked not in CHOICES:
        raise ValueError(f"{KEY}={asked}: allowed {', '.join(CHOICES)}")
    return asked if (sys.platform, platform.machine()) == ("linux", "x86_64") else "no"


def _requirements_to_run(what: str) -> list[str]:
    """The project's own requirements, as far as what makes the machine code imports them."""
    every: list[str] = tomllib.loads((HERE.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    named = {"no": set(), "measure": RUN, "all": set(map(_name, every))}[what]
    return [each for each in every if _name(each) in named]


def _name(requirement: str) -> str:
    return re.split(r"[^\w-]", requirement, maxsplit=1)[0]


def _machine_code(wheel: Path, what: str, folder: Path) -> list[Path]:
    """Files of machine code, made below a folder by the very modules of a wheel.

    raises  RuntimeError, OSError, subprocess.SubprocessError
    """
    site, made = folder / "site", folder / "made"
    shutil.unpack_archive(wheel, site, "zip")
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("NUMBA_", "PYTHONOPTIMIZE"))}
    environment["PYTHONPATH"] = os.pathsep.join(filter(None, (str(site), environment.get("PYTHONPATH"))))
    environment["HALFGAIN_CACHE"] = str(folder / "cache")
    command = [sys.executable, "-P", HERE / "compile_ahead.py", made, what]
    ran = subprocess.run(
        command, cwd=folder, env=environment, stderr=subprocess.PIPE, text=True, errors="replace", timeout=LONGEST_S
    )
    if ran.returncode:
        raise RuntimeError(
            next((line.strip() for line in reversed(ran.stderr.splitlines()) if line.strip()), "it could not be made")
        )
    return sorted(path for path in made.iterdir() if not path.name.startswith("."))
