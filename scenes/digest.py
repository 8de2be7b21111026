"""What a scene holds, as a hash: for scenes and materials that were changed in code and stand in no file."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any

import numpy as np

LATER = {"later": True}  # metadata of fields that came after digests were kept: they count only where they are stated


def digest_of(thing: Any) -> str:
    """SHA-256 of a thing's contents, 64 hex digits: the same for equal contents in every process and on every machine.

    thing   dataclasses, mappings, sequences, numpy arrays, numbers, texts and None, nested as they like
    raises  TypeError for anything else: an address or a name would not tell contents apart
    """
    digest = hashlib.sha256()
    _feed(digest, thing)
    return digest.hexdigest()


def _feed(digest: Any, thing: Any) -> None:
    """Each thing begins with its kind and its length, so that no two contents make the same bytes."""
    if thing is None or isinstance(thing, bool):
        _token(digest, "word", repr(thing).encode())
    elif isinstance(thing, Enum):
        _token(digest, "enum", f"{type(thing).__name__}.{thing.name}".encode())
    elif isinstance(thing, str):
        _token(digest, "text", thing.encode("utf-8", "surrogatepass"))
    elif isinstance(thing, bytes):
        _token(digest, "bytes", thing)
    elif isinstance(thing, int | np.integer):
        _token(digest, "int", str(int(thing)).encode())
    elif isinstance(thing, float | np.floating):
        _token(digest, "float", float(thing).hex().encode())
    elif isinstance(thing, np.ndarray):
        _token(digest, "array", f"{thing.dtype.str} {thing.shape}".encode())
        digest.update(np.ascontiguousarray(thing).tobytes())
    elif isinstance(thing, Mapping):
        _token(digest, "mapping", str(len(thing)).encode())
        for key in sorted(thing, key=str):
            _feed(digest, key)
            _feed(digest, thing[key])
    elif isinstance(thing, tuple | list):
        _token(digest, "sequence", str(len(thing)).encode())
        for item in thing:
            _feed(digest, item)
    elif is_dataclass(thing) and not isinstance(thing, type):
        named = [
            each
            for each in fields(thing)
            if each.compare and each.init and not (each.metadata == LATER and _unstated(getattr(thing, each.name)))
        ]
        _token(digest, "object", f"{type(thing).__name__} {len(named)}".encode())
        for each in named:
            _feed(digest, each.name)
            _feed(digest, getattr(thing, each.name))
    else:
        raise TypeError(f"no digest of a {type(thing).__name__}")


def _unstated(value: Any) -> bool:
    """None, or a mapping or a sequence without anything in it."""
    return value is None or (isinstance(value, Mapping | tuple) and not value)


def _token(digest: Any, kind: str, data: bytes) -> None:
    digest.update(f"{kind} {len(data)} ".encode())
    digest.update(data)
