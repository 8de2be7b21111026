"""What came out of a job: figures of its variants, as arrays that travel and keep; one .npz of bytes with a digest."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Any

import numpy as np

from ...materials.dataclass import dataclass
from ..measuring.estimate import REPLICATIONS
from .outputs import OutputRow, Read

FORMAT = "halfgain.study-part/1"
_NAMES = ("part", "numbers", "paths", "met", "which", "values", "left_out")


@dataclass(frozen=True)
class StudyPart:
    """Figures of some variants.

    keys      content keys, one a variant;  numbers (n,) of the variants in the study they were made for
    labels    lists of rows that variants have;  which (n,) the list of each variant, -1 of a failed one
    values    (n, rows, 3), left_out (n, rows, REPLICATIONS) as `Read` has them, NaN beyond a variant's rows
    paths     (n,) light paths that were read;  met (n,) whether they met the asked error
    failed    by place in the part what was wrong;  seconds  of work
    """

    keys: tuple[str, ...]
    numbers: np.ndarray
    labels: tuple[tuple[OutputRow, ...], ...]
    which: np.ndarray
    values: np.ndarray
    left_out: np.ndarray
    paths: np.ndarray
    met: np.ndarray
    failed: Mapping[int, str] = field(default_factory=dict)
    seconds: float = 0.0

    def rows(self, place: int) -> tuple[OutputRow, ...]:
        """Rows of the variant at a place in the part; none of a failed one."""
        return () if self.which[place] < 0 else self.labels[self.which[place]]

    @property
    def nbytes(self) -> int:
        """Bytes of its arrays."""
        return sum(a.nbytes for a in (self.numbers, self.which, self.values, self.left_out, self.paths, self.met))


@dataclass(frozen=True)
class Done:
    """One variant's outcome: its figures, or what was wrong."""

    number: int
    key: str
    rows: tuple[OutputRow, ...] = ()
    read: Read | None = None
    paths: int = 0
    met: bool = True
    failed: str = ""


def part_of(done: Sequence[Done], seconds: float = 0.0) -> StudyPart:
    """A part of outcomes; seconds of work [s]."""
    labels = tuple(dict.fromkeys(each.rows for each in done if each.read is not None))
    most = max((len(rows) for rows in labels), default=0)
    values, left_out = np.full((len(done), most, 3), np.nan), np.full((len(done), most, REPLICATIONS), np.nan)
    which = np.full(len(done), -1, np.int32)
    for i, each in enumerate(done):
        if each.read is not None:
            which[i] = labels.index(each.rows)
            values[i, : len(each.rows)], left_out[i, : len(each.rows)] = each.read
    return StudyPart(
        keys=tuple(each.key for each in done),
        numbers=np.array([each.number for each in done], np.int64),
        labels=labels,
        which=which,
        values=values,
        left_out=left_out,
        paths=np.array([each.paths for each in done], np.int64),
        met=np.array([each.met for each in done], bool),
        failed={i: each.failed for i, each in enumerate(done) if each.failed},
        seconds=seconds,
    )


class DamagedPart(ValueError):
    """Bytes that are no whole part."""


def to_bytes(part: StudyPart) -> bytes:
    """A part as the bytes of an .npz file with a digest over all that is in it. Source: NumPy's file format, no pickled objects."""
    arrays = {name: getattr(part, name) for name in _NAMES[1:]}
    head = {
        "format": FORMAT, "keys": part.keys, "labels": part.labels, "failed": {str(i): why for i, why in part.failed.items()},
        "seconds": part.seconds,
    }  # fmt: skip
    head["sha256"] = _digest(head, arrays)
    data = io.BytesIO()
    np.savez_compressed(data, part=np.frombuffer(json.dumps(head).encode(), np.uint8), **arrays)
    return data.getvalue()


def from_bytes(data: bytes) -> StudyPart:
    """The part of such bytes. raises Damaged for anything else, or where the digest does not match"""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as file:
            if sorted(file.namelist()) != sorted(f"{name}.npy" for name in _NAMES):
                raise DamagedPart("not a part of a study")
            arrays = {name: np.lib.format.read_array(io.BytesIO(file.read(f"{name}.npy")), allow_pickle=False) for name in _NAMES}
        head: dict[str, Any] = json.loads(arrays.pop("part").tobytes().decode())
        said = head.pop("sha256")
        if head.get("format") != FORMAT or said != _digest(head, arrays):
            raise DamagedPart("damaged, or of another release")
        labels = tuple(tuple(OutputRow(*row) for row in rows) for rows in head["labels"])
        failed = {int(i): str(why) for i, why in head["failed"].items()}
        return StudyPart(tuple(head["keys"]), labels=labels, failed=failed, seconds=float(head["seconds"]), **arrays)
    except DamagedPart:
        raise
    except Exception as fault:  # a broken archive, array or text: whatever a library says of it
        raise DamagedPart(f"no part of a study ({type(fault).__name__})") from None


def _digest(head: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> str:
    """SHA-256 over the head in one fixed form and over kind, shape and bytes of every array. Source: FIPS 180-4."""
    digest = hashlib.sha256(json.dumps(head, sort_keys=True).encode())
    for name in _NAMES[1:]:
        array = arrays[name]
        digest.update(f"\n{name} {array.dtype.str} {array.shape}\n".encode() + np.ascontiguousarray(array).tobytes())
    return digest.hexdigest()
