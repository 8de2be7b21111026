"""Outputs appear whole or not at all: written beside their place first, flushed to the disk, then renamed into it."""
from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

_PREFIX = ".halfgain-"


def check_folder(target: Path) -> None:
    """Refuse early what cannot become an output folder, before minutes are spent on computing.

    raises  NotADirectoryError, PermissionError: `target`, or what stands in its place, cannot hold files
    """
    there = target
    while not there.exists() and there != there.parent:
        there = there.parent
    if not there.is_dir():
        raise NotADirectoryError(20, "not a folder", str(there))
    if not os.access(there, os.W_OK | os.X_OK):
        raise PermissionError(13, "no permission to write", str(there))


def write_folder(target: Path, files: Mapping[str, bytes]) -> None:
    """Write all files into a folder, made if need be; of a folder that exists only these files are replaced.

    files   contents by plain file name
    raises  OSError, naming the folder, when the disk or the rights fail, after which the folder is as it was before
    """
    parents = [folder for folder in (target, *target.parents) if not folder.exists()]
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        # a folder that exists may be a mount of its own, and a rename does not cross mounts
        work = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=target if target.is_dir() else target.parent))
        try:
            new = work / "new"
            new.mkdir()
            for name, content in files.items():
                _write(new / name, content)
            _flush_folder(new)
            if target.is_dir():
                _replace(new, target, files, work / "old")
            else:
                os.rename(new, target)
            _flush_folder(target.parent)
        finally:
            shutil.rmtree(work, ignore_errors=True)
    except BaseException as fault:
        for folder in parents:  # innermost first; a folder that holds something stays
            try:
                folder.rmdir()
            except FileNotFoundError:
                continue
            except OSError:
                break
        if isinstance(fault, OSError):
            _name_place(fault, target)
        raise


def _name_place(fault: OSError, target: Path) -> None:
    """Put into a fault the folder that was asked for, where it names no place or one that only this module knows."""
    named = str(fault.filename or "")
    if not named or _PREFIX in named:
        fault.filename = str(target if target.name else target.absolute())


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _replace(new: Path, target: Path, names: Mapping[str, bytes], old: Path) -> None:
    """Move files from `new` into `target`; on any failure put back what stood there."""
    for name in names:
        if (target / name).is_dir():
            raise IsADirectoryError(21, "is a folder, not replaced", str(target / name))
    old.mkdir()
    done: list[str] = []
    try:
        for name in names:
            if (target / name).exists():
                os.rename(target / name, old / name)
            done.append(name)
            os.rename(new / name, target / name)
    except BaseException:
        for name in done:
            (target / name).unlink(missing_ok=True)
        for kept in old.iterdir():
            os.rename(kept, target / kept.name)
        raise
    _flush_folder(target)


def _flush_folder(folder: Path) -> None:
    """Make the folder's entries last; not every system lets one open a folder, and then there is nothing to do."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)
