"""Files that are the user's from their first moment: written whole or not at all, never over anything that is there."""

from __future__ import annotations

import os
from pathlib import Path

from .errors import NOTHING, SceneError, SceneErrors
from .leavings import work_folder


def check_new(path: Path) -> None:
    """Refuse a name that is taken, or that has no folder, before any work.  raises SceneErrors"""
    if not path.parent.is_dir():
        raise _refused(path, "cannot be written: its folder does not exist")
    if path.exists() or path.is_symlink():
        raise _refused(path, "exists already: nothing is overwritten")


def write_new(path: Path, content: bytes) -> None:
    """A new file with this content.

    raises SceneErrors as `check_new`, also where the name was taken in between; OSError for a fault of the disk
    """
    check_new(path)
    try:
        with work_folder(path.parent) as work:
            _write(work / "new", content)
            _place(work / "new", path)
    except FileExistsError:  # came to be since we looked
        raise _refused(path, "exists already: nothing is overwritten") from None
    except OSError as fault:
        fault.filename = str(path)  # not the temporary name, which the user never gave
        raise


def write_over(path: Path, content: bytes) -> None:
    """A file in place of one that its user gave up: whoever looks finds the old one or the new one.  raises OSError"""
    try:
        with work_folder(path.parent) as work:
            _write(work / "new", content)
            os.replace(work / "new", path)
    except OSError as fault:
        fault.filename = str(path)
        raise


def _write(path: Path, content: bytes) -> None:
    """A file on the disk, not only in its cache."""
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _place(temporary: Path, path: Path) -> None:
    """Gives a finished file its name, if that is free; link refuses an existing name, replace would not."""
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links: claim the name first
        os.close(os.open(path, os.O_CREAT | os.O_EXCL))
        os.replace(temporary, path)


def _refused(path: Path, message: str) -> SceneErrors:
    return SceneErrors([SceneError(str(path), 0, "", NOTHING, message)])
