"""Outputs appear whole or not at all: written beside their place first, flushed to the disk, then renamed into it."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from ...scenes.leavings import PREFIX, clean, work_folder
from .digests import digest_list
from .own_kind import check_replaceable, kind_of


def check_folder(target: Path) -> None:
    """Refuse early what cannot become an output folder, before minutes are spent on computing.

    raises  NotADirectoryError, PermissionError: `target`, or what stands in its place, cannot hold files
    """
    there = target
    while not there.exists() and there != there.parent:
        there = there.parent
    if not there.is_dir():
        raise NotADirectoryError(20, "not a folder (allowed: a folder, made where it is missing)", str(there))
    if not os.access(there, os.W_OK | os.X_OK):
        raise PermissionError(13, "no permission to write", str(there))


def write_file(target: Path, content: bytes, *, inputs: Iterable[Path] = ()) -> None:
    """Write one file by one rename: whoever looks, also after a kill or a power cut, finds the old one or the new one.

    inputs  files that this run reads
    raises  as `write_folder`
    Where the name is a link, the file it leads to is written.
    """
    there = Path(os.path.realpath(target)) if target.is_symlink() else target
    write_folder(there.parent, {there.name: content}, inputs=inputs)


def write_folder(target: Path, files: Mapping[str, bytes], *, digests: str = "", inputs: Iterable[Path] = ()) -> None:
    """Write all files into a folder, made if need be; of a folder that exists only these files are replaced.

    files    contents by plain file name
    digests  name of a list of their digests, written last; "": none
    inputs   files that this run reads
    raises   OSError, naming the folder, when the disk or the rights fail, NotReplaced as `check_replaceable`; after either the
             folder is as it was before
    A new folder appears by one rename. In one that exists every file goes by a rename of its own, so after a kill each name holds
    old or new, and the list tells which of them are not of the run it was made for. A link of a file's name is replaced, what it
    leads to stays.
    """
    whole = {**files, digests: digest_list(files)} if digests else files
    if target.is_dir():
        check_replaceable(target, {name: kind_of(content) or "of any kind of ours" for name, content in whole.items()}, inputs)
    parents = [folder for folder in (target, *target.parents) if not folder.exists()]
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        # a folder that exists may be a mount of its own, and a rename does not cross mounts
        with work_folder(target if target.is_dir() else target.parent) as work:
            _write_all(work / "new", whole)
            if target.is_dir():
                _replace(work / "new", target, whole, work / "old")
                clean(target.parent, now_s=work.stat().st_mtime)  # a run that was to make the folder worked beside it
            else:
                os.rename(work / "new", target)
            _flush_folder(target.parent)
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
    if not named or PREFIX in named:
        fault.filename = str(target if target.name else target.absolute())


def _write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    """A new folder with these files, all of it on the disk."""
    folder.mkdir()
    for name, content in files.items():
        handle = os.open(folder / name, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
        try:
            left = memoryview(content)
            while left:
                left = left[os.write(handle, left) :]
            os.fsync(handle)
        finally:
            os.close(handle)
    _flush_folder(folder)


def _replace(new: Path, target: Path, names: Iterable[str], old: Path) -> None:
    """Move files from `new` into `target`, each by one rename over what stands there; on a failure put all of that back."""
    old.mkdir()
    for name in names:
        if os.path.lexists(target / name):
            _second_name(target / name, old / name)
    try:
        for name in names:
            os.replace(new / name, target / name)
    except BaseException:
        for name in names:
            if os.path.lexists(new / name):  # not moved yet
                continue
            if os.path.lexists(old / name):
                os.replace(old / name, target / name)
            else:
                (target / name).unlink(missing_ok=True)
        raise
    _flush_folder(target)


def _second_name(path: Path, name: Path) -> None:
    """Keep a file under a second name while its first one is given away; a copy where the disk knows no second names."""
    with suppress(OSError, NotImplementedError):
        os.link(path, name, follow_symlinks=False)
        return
    shutil.copy2(path, name, follow_symlinks=False)


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
