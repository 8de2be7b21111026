"""Output folders: whole or not at all, and nothing of the user's is touched."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
from pathlib import Path

import pytest
from halfgain.simulate.command.files import check_file, write_told
from halfgain.simulate.output import writing
from halfgain.simulate.output.digests import digest_list, listed_digests
from halfgain.simulate.output.own_kind import PNG as PICTURE
from halfgain.simulate.output.own_kind import NotReplaced
from halfgain.simulate.output.writing import check_folder, write_file, write_folder

PNG = b"\x89PNG\r\n\x1a\n"
FILES = {
    "measure.json": b'{\n "format": "halfgain.measure/1"\n}\n',
    "seats.csv": b"seat,state,ambient_at_screen_lx,distance_m\n",
    "plan.png": PNG + b"new",
}


def _tree(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_new_folder_is_made_with_its_parents(tmp_path: Path) -> None:
    write_folder(tmp_path / "a" / "b", FILES)
    assert _tree(tmp_path) == {f"a/b/{name}": content for name, content in FILES.items()}


def test_only_our_files_of_an_existing_folder_are_replaced(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_bytes(b"mine")
    (tmp_path / "plan.png").write_bytes(PNG + b"old")
    write_folder(tmp_path, FILES)
    assert _tree(tmp_path) == {**FILES, "notes.txt": b"mine"}


def _fail_at(monkeypatch: pytest.MonkeyPatch, function: str, call: int, fault: BaseException) -> None:
    real, calls = getattr(os, function), [0]

    def failing(*arguments: object, **more: object) -> object:
        calls[0] += 1
        if calls[0] == call:
            raise fault
        return real(*arguments, **more)

    monkeypatch.setattr(writing.os, function, failing)


FAULTS = [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()]


@pytest.mark.parametrize("fault", FAULTS, ids=["full", "interrupted"])
@pytest.mark.parametrize(("function", "call"), [("fsync", 1), ("fsync", 3), ("replace", 1), ("replace", 2), ("replace", 3)])
def test_a_failure_leaves_an_existing_folder_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, function: str, call: int, fault: BaseException
) -> None:
    before = {"plan.png": PNG + b"old plan", "measure.json": FILES["measure.json"] + b"\n", "notes.txt": b"mine"}
    for name, content in before.items():
        (tmp_path / name).write_bytes(content)
    _fail_at(monkeypatch, function, call, fault)
    with pytest.raises(type(fault)):
        write_folder(tmp_path, FILES)
    assert _tree(tmp_path) == before
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(before)


@pytest.mark.parametrize("fault", FAULTS, ids=["full", "interrupted"])
@pytest.mark.parametrize(("function", "call"), [("fsync", 2), ("rename", 1)])
def test_a_failure_leaves_no_new_folder_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, function: str, call: int, fault: BaseException
) -> None:
    _fail_at(monkeypatch, function, call, fault)
    with pytest.raises(type(fault)):
        write_folder(tmp_path / "a" / "b", FILES)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("given", ["a/b", ""], ids=["new", "current"])
@pytest.mark.parametrize("named", [None, ".halfgain-x1y2/new/plan.png"], ids=["nameless", "temporary"])
def test_a_fault_names_the_folder_that_was_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, given: str, named: str | None
) -> None:
    monkeypatch.chdir(tmp_path)
    _fail_at(monkeypatch, "fsync", 2, OSError(errno.ENOSPC, "No space left on device", named))
    with pytest.raises(OSError, match="No space left") as caught:
        write_folder(Path(given), FILES)
    assert caught.value.filename == (given or str(tmp_path))


def test_a_folder_that_has_the_name_of_a_file_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "plan.png").mkdir()
    (tmp_path / "plan.png" / "mine").write_bytes(b"mine")
    with pytest.raises(NotReplaced, match="is a folder, not replaced"):
        write_folder(tmp_path, FILES)
    assert _tree(tmp_path) == {"plan.png/mine": b"mine"}


def test_a_file_in_the_way_is_refused_early(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    for target in (tmp_path / "file", tmp_path / "file" / "below"):
        with pytest.raises(NotADirectoryError):
            check_folder(target)
    check_folder(tmp_path / "new" / "deep")
    assert not (tmp_path / "new").exists()


def test_a_read_only_place_is_refused_early(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writing.os, "access", lambda path, mode: False)  # rights do not bind the superuser who runs CI
    with pytest.raises(PermissionError):
        check_folder(tmp_path / "new")


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_in_a_folder_a_link_is_replaced_and_what_it_leads_to_stays(tmp_path: Path) -> None:
    (tmp_path / "far.png").write_bytes(PNG + b"far")
    (tmp_path / "out").mkdir()
    os.symlink(tmp_path / "far.png", tmp_path / "out" / "plan.png")
    write_folder(tmp_path / "out", {"plan.png": FILES["plan.png"]})
    assert not (tmp_path / "out" / "plan.png").is_symlink()
    assert _tree(tmp_path) == {"far.png": PNG + b"far", "out/plan.png": FILES["plan.png"]}


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_a_single_file_is_written_where_a_link_leads(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "far.png").write_bytes(PNG + b"far")
    os.symlink(tmp_path / "far" / "far.png", tmp_path / "near.png")
    check_file(tmp_path / "near.png", PICTURE, [])
    write_file(tmp_path / "near.png", FILES["plan.png"])
    assert (tmp_path / "near.png").is_symlink()
    assert (tmp_path / "far" / "far.png").read_bytes() == FILES["plan.png"]
    with pytest.raises(NotReplaced, match="this run reads it"):
        check_file(tmp_path / "near.png", PICTURE, [tmp_path / "far" / "far.png"])


def test_a_disk_without_second_names_is_written_to_all_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = {"plan.png": PNG + b"old", "measure.json": FILES["measure.json"] + b"\n"}
    for name, content in before.items():
        (tmp_path / name).write_bytes(content)
    _fail_at(monkeypatch, "replace", 3, OSError(errno.ENOSPC, "No space left on device"))
    monkeypatch.setattr(writing.os, "link", lambda *_, **__: (_ for _ in ()).throw(OSError(errno.EPERM, "no links here")))
    with pytest.raises(OSError, match="No space"):
        write_folder(tmp_path, FILES)
    assert _tree(tmp_path) == before
    write_folder(tmp_path, FILES)
    assert _tree(tmp_path) == FILES


def test_the_next_run_says_what_was_not_of_one_run_and_what_it_leaves(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first = {**FILES, "screen-a.png": PNG + b"a", "screen-b.png": PNG + b"b"}
    write_told(tmp_path, first, [], command="measure")
    assert capsys.readouterr().err.startswith(
        f"halfgain: wrote 5 files and measure.sha256 to {tmp_path}: measure.json, seats.csv"
    )
    write_told(tmp_path, first, [], command="measure")
    assert len(capsys.readouterr().err.splitlines()) == 1
    (tmp_path / "plan.png").write_bytes(PNG + b"of another run")
    (tmp_path / "screen-c.png").write_bytes(PNG + b"older still")
    write_told(tmp_path, {**FILES, "screen-a.png": PNG + b"a2"}, [], command="measure", older="screen-*.png")
    _, strange, left = capsys.readouterr().err.splitlines()
    assert strange == "halfgain: replaced, though not as measure.sha256 had it (changed, or a run was broken off): plan.png"
    assert left == "halfgain: left in place from before: screen-b.png, screen-c.png"
    assert (tmp_path / "screen-b.png").read_bytes() == PNG + b"b"
    write_told(tmp_path / "one", {"plan.png": PNG}, [])
    assert capsys.readouterr().err == f"halfgain: wrote 1 file to {tmp_path / 'one'}: plan.png\n"


def test_the_list_of_digests_is_what_sha256sum_reads(tmp_path: Path) -> None:
    """Source: FIPS 180-4, the digest of "abc"; the form is that of GNU coreutils, tried with it where it is installed."""
    abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert digest_list({"a.txt": b"abc"}) == f"{abc}  a.txt\n".encode()
    write_folder(tmp_path, FILES, digests="measure.sha256")
    assert listed_digests(tmp_path / "measure.sha256").keys() == FILES.keys()
    if shutil.which("sha256sum"):
        subprocess.run(["sha256sum", "--check", "--strict", "measure.sha256"], cwd=tmp_path, check=True, capture_output=True)


def test_a_list_of_digests_names_no_file_elsewhere(tmp_path: Path) -> None:
    (tmp_path / "x.sha256").write_text(f"{'0' * 64}  ../secret\n{'0' * 64}  plan.png\nno line of a list\n")
    assert set(listed_digests(tmp_path / "x.sha256")) == {"plan.png"}
    assert listed_digests(tmp_path / "none.sha256") == {}
