"""Output folders: whole or not at all, and nothing of the user's is touched."""
from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from halfgain.simulate.output import writing
from halfgain.simulate.output.writing import check_folder, write_folder

FILES = {"measure.json": b"{}\n", "seats.csv": b"seat\n", "plan.png": b"png"}


def _tree(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_new_folder_is_made_with_its_parents(tmp_path: Path) -> None:
    write_folder(tmp_path / "a" / "b", FILES)
    assert _tree(tmp_path) == {f"a/b/{name}": content for name, content in FILES.items()}


def test_only_our_files_of_an_existing_folder_are_replaced(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_bytes(b"mine")
    (tmp_path / "plan.png").write_bytes(b"old")
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
@pytest.mark.parametrize(("function", "call"), [("fsync", 1), ("fsync", 3), ("rename", 1), ("rename", 2), ("rename", 4)])
def test_a_failure_leaves_an_existing_folder_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, function: str, call: int, fault: BaseException
) -> None:
    before = {"plan.png": b"old plan", "measure.json": b"old", "notes.txt": b"mine"}
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
    with pytest.raises(IsADirectoryError):
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
