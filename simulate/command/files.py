"""Writing a command's files into its folder, and saying so."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from .stdout import note


def check_out(out: Path | None, names: Iterable[str], inputs: Iterable[Path], *, command: str = "") -> None:
    """Refuse a folder to write to before any work: it cannot be written, or a file there would be lost.

    names    of the files to come;  command  as for `write_told`
    inputs   files that this run reads
    raises   OSError as `check_folder`, NotReplaced as `check_replaceable`; nothing where no folder is asked for
    """
    if out is None:
        return
    from ..output.own_kind import check_replaceable, kind_called
    from ..output.writing import check_folder

    check_folder(out)
    expected = [*names, *([_list_of(command)] if command else [])]
    check_replaceable(out, {name: kind_called(name) for name in expected}, inputs)


def check_file(target: Path, kind: str, inputs: Iterable[Path]) -> None:
    """The same for one file of a kind that `own_kind` names, whatever its name."""
    from ..output.own_kind import check_replaceable
    from ..output.writing import check_folder

    check_folder(Path(os.path.realpath(target)).parent if target.is_symlink() else target.parent)
    check_replaceable(target.parent, {target.name: kind}, inputs)


def write_told(
    out: Path | None,
    files: Mapping[str, bytes],
    inputs: Iterable[Path],
    *,
    command: str = "",
    older: str = "",
    what: str = "files",
) -> None:
    """Files by name into a folder, whole or not at all, with lines on stderr; nothing where no folder is asked for.

    inputs   files that this run reads
    command  whose list of digests is written beside them, COMMAND.sha256; "": none
    older    pattern of names that earlier runs may have left, beside those in their list
    raises   OSError, NotReplaced as `write_folder`
    """
    if out is None:
        return
    from ...materials.text.plain import first_names, plain_path
    from ..output.digests import listed_digests, not_as_listed
    from ..output.writing import write_folder

    before = listed_digests(out / _list_of(command)) if command else {}
    strange = [name for name in not_as_listed(out, before) if name in files]
    write_folder(out, files, digests=_list_of(command) if command else "", inputs=inputs)
    with_list = f" and {_list_of(command)}" if command else ""
    count = f"1 {what.removesuffix('s')}" if len(files) == 1 else f"{len(files)} {what}"
    note(f"halfgain: wrote {count}{with_list} to {plain_path(out)}: {first_names(files, 6)}")
    if strange:
        said = f"not as {_list_of(command)} had it (changed, or a run was broken off)"
        note(f"halfgain: replaced, though {said}: {first_names(strange)}")
    found = {path.name for path in out.glob(older)} if older else set()
    left = sorted(name for name in found | set(before) if name not in files and (out / name).is_file())
    if left:
        note(f"halfgain: left in place from before: {first_names(left)}")


def image_files(path: Path | None, show: str = "") -> list[Path]:
    """Image files that a run reads: one file, those of a folder of frames, or what --show names if that is a file."""
    found = [] if path is None else [path, *(sorted(path.iterdir()) if path.is_dir() else [])]
    return [*found, *([Path(show)] if show else [])]


def _list_of(command: str) -> str:
    return f"{command}.sha256"
