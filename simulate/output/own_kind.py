"""What stands at an output's name before it is replaced: only a file of the same kind may go, and nothing this run reads."""

from __future__ import annotations

import os
import re
import stat
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path

from ...materials.text.error import Error
from ...materials.text.plain import plain_path

_BEGINNING = 4096  # bytes that tell the kind of a file
_LARGEST_LIBRARY = 4_000_000

GLB = "a room that halfgain view wrote"
PNG, EXR, LEDGER, FOLDS = "a PNG picture", "an OpenEXR picture", "a ledger of light paths", "a map of folds"
PARQUET, STUDY_PART = "a Parquet table", "a part of a study"
PAGE, LIBRARY, DIGESTS = "a page of halfgain report", "a library of fabrics", "a list of SHA-256 digests"
AS_BUILT, AS_BUILT_MARK = "a scene as built of halfgain check", "# As built, written by halfgain check"
_JSON = re.compile(rb'\s*\{\s*"format"\s*:\s*"halfgain\.(\w+)/')
_TABLES = {  # command -> beginning of its table's header
    "results": re.compile(rb"variant,[^\r\n]*,seat,state,figure,value,standard_error,bias_bound\n"),
    "variants": re.compile(rb"variant,[^\r\n]*,light_paths,met,content\n"),
    "indices": re.compile(rb"([^\r\n]*,)?seat,state,figure,factor,first,first_standard_error,total,total_standard_error\n"),
    "draws": re.compile(rb'draw,"?share of '),
    "failed": re.compile(rb"variant,[^\r\n]*,failed\n"),
    "measure": re.compile(rb"seat,state,ambient_at_screen_lx,"),
    "compare": re.compile(rb'variant,("?choice: |seat,state,)'),
    "advise": re.compile(rb"fabric,good,state,figure,"),
    "flatness": re.compile(rb"crests,wavelength_mm,"),
    "check": re.compile(rb"picture,place,seat,light,unit,predicted,"),
    "place": re.compile(rb"length,axis,lens,cause,"),
}
_ARCHIVES = {b"head.npy": LEDGER, b"right_m.npy": FOLDS, b"part.npy": STUDY_PART}  # by the first member
_SHEET = re.compile(rb'<meta name="generator" content="halfgain ([a-z]+)">')
_PAGES = (b'<meta name="generator" content="halfgain', b": what the screen will show</title>")  # the second: releases before
_DIGEST = re.compile(rb"[0-9a-f]{64} [ *]")


class NotReplaced(Error):
    """An output would take the place of what is not its own kind, or of a file this run reads; str() is one clear line."""


def kind_of(data: bytes) -> str | None:
    """The kind of a file from its beginning, or None for what halfgain does not write.

    Source: the signatures of PNG (ISO/IEC 15948), OpenEXR and ZIP (APPNOTE 4.3.7: the first member's name); our own formats.
    """
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return PNG
    if data.startswith(b"\x76\x2f\x31\x01"):
        return EXR
    if data.startswith(b"PAR1"):
        return PARQUET
    if data.startswith(b"glTF"):
        return GLB if b'"generator":"halfgain"' in data[:_BEGINNING] else None
    if data.startswith(b"PK\x03\x04"):
        return _ARCHIVES.get(data[30 : 30 + int.from_bytes(data[26:28], "little")])
    if found := _JSON.match(data):
        return _document(found[1].decode())
    if _DIGEST.match(data):
        return DIGESTS
    if data.startswith(AS_BUILT_MARK.encode()):
        return AS_BUILT
    if sheet := _SHEET.search(data[:_BEGINNING]):
        return _sheet(sheet[1].decode())
    if any(mark in data[:_BEGINNING] for mark in _PAGES):
        return PAGE
    command = next((command for command, header in _TABLES.items() if header.match(data)), None)
    return _table(command) if command else LIBRARY if _is_library(data) else None


def kind_called(name: str) -> str:
    """The kind of an output by the name that a command gives it, such as plan.png or measure.json.

    raises  KeyError for a name that no command gives
    """
    stem, _, ending = name.rpartition(".")
    if ending == "json":
        return _document(stem)
    if ending == "csv":
        return _table("measure" if stem in ("seats", "seats-wide") else stem)
    if ending == "html":
        return _sheet(stem)
    return {"png": PNG, "exr": EXR, "npz": FOLDS, "toml": AS_BUILT, "sha256": DIGESTS, "parquet": PARQUET}[ending]


def _document(command: str) -> str:
    return f"a document of halfgain {command}"


def _table(command: str) -> str:
    return f"a table of halfgain {command}"


def _sheet(command: str) -> str:
    return PAGE if command == "report" else f"a sheet of halfgain {command}"


def _is_library(data: bytes) -> bool:
    try:
        return set(tomllib.loads(data.decode("utf-8-sig"))) <= {"fabric", "finish"}
    except (ValueError, RecursionError):
        return False


def check_replaceable(folder: Path, kinds: Mapping[str, str], inputs: Iterable[Path] = ()) -> None:
    """Refuse to write where that would lose something.

    kinds   kind of what is to be written, by file name
    inputs  files that this run reads, whatever they are called
    raises  NotReplaced: a name is taken by an input, a folder, a link into nowhere, a device, or a file of another kind
    An empty file may go whatever its name: nothing is in it.
    """
    read = {_identity(path): path for path in inputs}
    read.pop(None, None)
    for name, kind in kinds.items():
        path = folder / name
        said = plain_path(path)
        try:
            there = os.stat(path)
        except FileNotFoundError:
            if path.is_symlink():
                raise NotReplaced(f"{said}: is a link to what is not there, not replaced: choose another name") from None
            continue
        if stat.S_ISDIR(there.st_mode):
            raise NotReplaced(f"{said}: is a folder, not replaced: choose another name")
        if not stat.S_ISREG(there.st_mode):
            raise NotReplaced(f"{said}: is no ordinary file, not replaced: choose another name")
        if (there.st_dev, there.st_ino) in read:
            raise NotReplaced(f"{said}: this run reads it, so it is not replaced: choose another name")
        if there.st_size and _kind_there(path, kind) != kind:
            raise NotReplaced(f"{said}: is not {kind}, so it is not replaced: choose another name, or move it away")


def _identity(path: Path) -> tuple[int, int] | None:
    """Device and number of a file, the same for all its names; None where there is none."""
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return None
    return found.st_dev, found.st_ino


def _kind_there(path: Path, wanted: str) -> str | None:
    with path.open("rb") as file:
        return kind_of(file.read(_LARGEST_LIBRARY if wanted == LIBRARY else _BEGINNING))
