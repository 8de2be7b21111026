"""How the wheel is built: with machine code where it can be made, else plain; what is put into a wheel, and what an archive of the sources holds."""

from __future__ import annotations

import base64
import csv
import hashlib
import sys
import tarfile
import zipfile
from pathlib import Path
from types import ModuleType

import pytest

from tests.needs import needs

ROOT = Path(__file__).resolve().parents[1]
PLAIN = "halfgain-0.1.0-py3-none-any.whl"
PURE = "Wheel-Version: 1.0\nGenerator: x\nRoot-Is-Purelib: true\nTag: py3-none-any\n"


@pytest.fixture(scope="module")
def backend() -> ModuleType:
    needs("setuptools.build_meta")
    sys.path.insert(0, str(ROOT / ".build"))
    try:
        import backend as found
    finally:
        sys.path.pop(0)
    return found


@pytest.fixture
def plain_wheels(backend: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """setuptools' wheel is a small one."""

    def build_wheel(folder: str, *_: object) -> str:
        with zipfile.ZipFile(Path(folder, PLAIN), "w") as wheel:
            wheel.writestr("halfgain/__init__.py", "x = 1\n")
            wheel.writestr("halfgain-0.1.0.dist-info/WHEEL", PURE)
            wheel.writestr("halfgain-0.1.0.dist-info/RECORD", "halfgain/__init__.py,,\n")
        return PLAIN

    monkeypatch.setattr(backend.build_meta, "build_wheel", build_wheel)
    monkeypatch.setattr(backend.sys, "platform", "linux")
    monkeypatch.setattr(backend.platform, "machine", lambda: "x86_64")


def test_copies_from_before_do_not_get_into_a_wheel_and_none_are_left(
    backend: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone, installed = tmp_path / "build/lib/halfgain/gone.py", tmp_path / "build/__editable__.halfgain/x.py"
    for path in (gone, installed, tmp_path / "build/bdist.linux/y"):
        path.parent.mkdir(parents=True)
        path.touch()
    monkeypatch.setattr(backend, "HERE", tmp_path / ".build")

    def build_wheel(*_: object) -> str:
        assert not gone.exists()
        (tmp_path / "build/lib").mkdir()
        return PLAIN

    monkeypatch.setattr(backend.build_meta, "build_wheel", build_wheel)
    assert backend.build_wheel(str(tmp_path), {"machine-code": "no"}) == PLAIN
    assert [path.relative_to(tmp_path) for path in tmp_path.rglob("*.*") if path.is_file()] == [installed.relative_to(tmp_path)]
    installed.unlink()
    installed.parent.rmdir()
    backend.build_wheel(str(tmp_path), {"machine-code": "no"})
    assert not (tmp_path / "build").exists()


def test_a_full_wheel_holds_all_of_the_plain_one_and_says_so_itself(
    backend: ModuleType, plain_wheels: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Expected: PEP 427 and 376: every file but RECORD with its digest and size, in RECORD, which comes last
    def made(wheel: Path, what: str, folder: Path) -> list[Path]:
        assert (wheel.name, what) == (PLAIN, "measure")
        (folder / "a.kernel").write_bytes(b"\x00code")
        return [folder / "a.kernel"]

    monkeypatch.setattr(backend, "_machine_code", made)
    name = backend.build_wheel(str(tmp_path))
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert name.startswith("halfgain-0.1.0-py3-none-")
    assert name != PLAIN
    with zipfile.ZipFile(tmp_path / name) as wheel:
        content = {each: wheel.read(each) for each in wheel.namelist()}
        assert wheel.getinfo("halfgain/materials/kernels/machine_code/a.kernel").external_attr >> 16 == 0o100644
    record = "halfgain-0.1.0.dist-info/RECORD"
    assert set(content) == {
        "halfgain/__init__.py",
        "halfgain/materials/kernels/machine_code/a.kernel",
        "halfgain-0.1.0.dist-info/WHEEL",
        record,
    }
    assert list(content)[-1] == record
    rows = {row[0]: row[1:] for row in csv.reader(content[record].decode().splitlines())}
    assert rows.pop(record) == ["", ""]
    for each, (digest, size) in rows.items():
        told = base64.urlsafe_b64decode(digest.removeprefix("sha256=") + "=")
        assert (told, int(size)) == (hashlib.sha256(content[each]).digest(), len(content[each]))
    assert set(rows) == set(content) - {record}
    tags = [line for line in content["halfgain-0.1.0.dist-info/WHEEL"].decode().splitlines() if line.startswith(("Tag", "Root"))]
    assert tags == ["Root-Is-Purelib: false", f"Tag: {name.removesuffix('.whl').split('-', 2)[2]}"]


def test_whatever_fails_gives_the_plain_wheel_and_one_line(
    backend: ModuleType, plain_wheels: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # The small wheel has no modules, so the true program that makes machine code ends with an error
    assert backend.build_wheel(str(tmp_path), {"machine-code": "measure"}) == PLAIN
    said = capsys.readouterr().err
    assert said.startswith("halfgain: no machine code in the wheel, so a first run compiles: ")
    assert "halfgain" in said.partition("compiles: ")[2]
    assert said.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == [PLAIN]


def test_what_is_asked_decides_what_is_made_and_what_that_needs(
    backend: ModuleType, plain_wheels: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(backend.build_meta, "get_requires_for_build_wheel", lambda _: ["wheel"])
    needs = backend.get_requires_for_build_wheel()
    assert sorted(each.partition(">")[0] for each in needs[1:]) == sorted(backend.RUN), "each named as the project requires it"
    assert backend.get_requires_for_build_wheel({"machine-code": "measure"}) == needs
    assert len(backend.get_requires_for_build_wheel({"machine-code": "all"})) > len(needs)
    assert backend.get_requires_for_build_wheel({"machine-code": "no"}) == ["wheel"]
    with pytest.raises(ValueError, match=r"^machine-code=some: allowed measure, all, no$"):
        backend.get_requires_for_build_wheel({"machine-code": "some"})
    monkeypatch.setattr(backend, "_machine_code", lambda *_: pytest.fail("nothing was to be made"))
    assert backend.build_wheel(str(tmp_path), {"machine-code": "no"}) == PLAIN
    for system, machine in (("darwin", "arm64"), ("win32", "AMD64"), ("linux", "aarch64")):
        monkeypatch.setattr(backend.sys, "platform", system)
        monkeypatch.setattr(backend.platform, "machine", lambda machine=machine: machine)
        assert backend.get_requires_for_build_wheel() == ["wheel"]
        assert backend.build_wheel(str(tmp_path)) == PLAIN


def test_an_archive_of_the_sources_holds_what_builds_it(
    backend: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def build_sdist(folder: str, *_: object) -> str:
        with tarfile.open(Path(folder, "halfgain-0.1.0.tar.gz"), "w:gz") as archive:
            archive.add(ROOT / "pyproject.toml", "halfgain-0.1.0/pyproject.toml")
        return "halfgain-0.1.0.tar.gz"

    monkeypatch.setattr(backend.build_meta, "build_sdist", build_sdist)
    name = backend.build_sdist(str(tmp_path))
    assert [path.name for path in tmp_path.iterdir()] == [name]
    with tarfile.open(tmp_path / name) as archive:
        assert archive.extractfile("halfgain-0.1.0/pyproject.toml").read() == (ROOT / "pyproject.toml").read_bytes()
        held = {path.removeprefix("halfgain-0.1.0/") for path in archive.getnames()}
    assert held == {"pyproject.toml", *(f".build/{path.name}" for path in (ROOT / ".build").glob("*.py"))}
