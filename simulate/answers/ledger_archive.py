"""The .npz archive of a ledger: a head and arrays with a digest over both, read without trust in what it says of itself."""

from __future__ import annotations

import hashlib
import io
import json
import re
import zipfile
import zlib
from collections.abc import Mapping
from typing import Any

import numpy as np

NAMES = ("hits", "patch", "u", "v")
_HEAD = "head"
_MOST_FOLD = 64  # real ledgers unpack to less than three times their size
_SPARE_BYTES = 1_000_000
# the header NumPy writes for a flat array; read here so that no claim of a header takes memory or runs a parser
_NPY = re.compile(rb"\{'descr': '([|<>][uif][1248])', 'fortran_order': False, 'shape': \(([0-9]{1,15}),\), \}[ \n]*")
_UNUSABLE = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    zlib.error,
    NotImplementedError,
    RuntimeError,
    EOFError,
    OSError,
    ValueError,
)


class Damaged(ValueError):
    """Bytes that are no whole ledger; str() says why, in a few words."""


def archive(head: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> bytes:
    """Head and flat arrays as the bytes of an .npz file. Source: NumPy's file format, without pickled objects."""
    whole = {**head, "sha256": _digest(head, arrays)}
    data = io.BytesIO()
    np.savez_compressed(data, **{_HEAD: np.frombuffer(json.dumps(whole).encode(), np.uint8), **arrays})  # type: ignore[arg-type]
    return data.getvalue()


def unpacked(data: bytes) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """Head and arrays of such bytes; the digest is not looked at yet, so that another format can be named first.

    raises  Damaged
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as file:
            if sorted(file.namelist()) != sorted(f"{name}.npy" for name in (_HEAD, *NAMES)):
                raise Damaged("not a ledger")
            if sum(part.file_size for part in file.infolist()) > _MOST_FOLD * len(data) + _SPARE_BYTES:
                raise Damaged("it would unpack to far more than a ledger can hold")
            arrays = {name: _flat(file.read(f"{name}.npy")) for name in (_HEAD, *NAMES)}
        head = json.loads(arrays.pop(_HEAD).tobytes().decode())
    except Damaged:
        raise
    except (*_UNUSABLE, RecursionError):
        raise Damaged("not a ledger, or a damaged one") from None
    if not isinstance(head, dict):
        raise Damaged("not a ledger, or a damaged one")
    return head, arrays


def check_digest(head: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> None:
    """raises  Damaged where head or arrays are not those that were written"""
    if head.get("sha256") != _digest({key: value for key, value in head.items() if key != "sha256"}, arrays):
        raise Damaged("damaged, or changed since it was traced: its digest does not match")


def _digest(head: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> str:
    """SHA-256 over the head in one fixed form and over kind, length and bytes of every array. Source: FIPS 180-4."""
    digest = hashlib.sha256(json.dumps(head, sort_keys=True).encode())
    for name in NAMES:
        array = arrays[name]
        digest.update(f"\n{name} {array.dtype.str} {array.shape}\n".encode())
        digest.update(np.ascontiguousarray(array).data)
    return digest.hexdigest()


def _flat(data: bytes) -> np.ndarray:
    """The flat array of an .npy file. Source: NumPy's file format, version 1.0.  raises Damaged"""
    start = 10 + int.from_bytes(data[8:10], "little")
    header = _NPY.fullmatch(data[10:start])
    if not data.startswith(b"\x93NUMPY\x01\x00") or header is None:
        raise Damaged("not a ledger, or a damaged one")
    kind, count = np.dtype(header[1].decode()), int(header[2])
    if len(data) - start != count * kind.itemsize:
        raise Damaged("damaged: an array is not as long as it says")
    return np.frombuffer(data, kind, count, start).copy()  # kernels are compiled for arrays that may be written
