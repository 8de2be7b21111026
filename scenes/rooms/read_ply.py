"""PLY files: corners, and the rings of their faces, of any number of corners each. Source: the format (G. Turk, Stanford, 1994)."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from itertools import chain
from typing import NamedTuple

import numpy as np

_KINDS = {"char": "b", "int8": "b", "uchar": "B", "uint8": "B", "short": "h", "int16": "h", "ushort": "H", "uint16": "H"}
_KINDS |= {"int": "i", "int32": "i", "uint": "I", "uint32": "I", "float": "f", "float32": "f", "double": "d", "float64": "d"}
_ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_RINGS = ("vertex_indices", "vertex_index")
FAULTS = (ValueError, KeyError, IndexError, StopIteration, OverflowError, struct.error)  # of a damaged file


class _Property(NamedTuple):
    """The kind of a property's numbers, as `struct` letters; of a list that of its count as well, else ""."""

    name: str
    kind: str
    counted: str


class _Element(NamedTuple):
    name: str
    rows: int
    properties: list[_Property]


def corners_and_rings(data: bytes) -> tuple[np.ndarray, list[list[int]]]:
    """Corners (V, 3) in the file's unit and for each face the numbers of its corners, of a file that `check_claims` has passed.

    raises one of FAULTS for a file that is damaged
    """
    head, _, body = data.partition(b"end_header")
    order, elements = _header(head.decode("ascii", "replace"))
    body = body[body.index(b"\n") + 1 :]
    words = iter(() if order else body.split())
    corners, at = np.empty((0, 3)), 0
    rings: list[list[int]] = []
    for element in elements:
        if order:
            columns, at = _binary(body, at, element, order)
        else:
            columns = _text(words, element)
        if element.name == "vertex":
            corners = np.column_stack([np.asarray(columns[axis], float) for axis in "xyz"])
        elif element.name == "face":
            found = next(columns[name] for name in _RINGS if name in columns)
            rings += found if order else [[int(corner) for corner in ring] for ring in found]
    named = np.fromiter(chain.from_iterable(rings), np.int64)
    if len(named) and not 0 <= named.min() <= named.max() < len(corners):
        raise ValueError("a face names a corner that is not there")
    return corners, rings


def _header(text: str) -> tuple[str, list[_Element]]:
    """Byte order, "" for text, and the elements."""
    order = None
    elements: list[_Element] = []
    for words in (line.split() for line in text.splitlines()[1:]):
        if words[:1] == ["format"]:
            order = _ORDERS[words[1]]
        elif words[:1] == ["element"]:
            elements.append(_Element(words[1], int(words[2]), []))
        elif words[:2] == ["property", "list"]:
            elements[-1].properties.append(_Property(words[4], _KINDS[words[3]], _KINDS[words[2]]))
        elif words[:1] == ["property"]:
            elements[-1].properties.append(_Property(words[2], _KINDS[words[1]], ""))
    if order is None:
        raise ValueError("no format is stated")
    return order, elements


def _text(words: Iterator[bytes], element: _Element) -> dict[str, list]:
    columns: dict[str, list] = {each.name: [] for each in element.properties}
    for _ in range(element.rows if columns else 0):  # a header may count any number of rows without properties
        for each in element.properties:
            count = int(next(words)) if each.counted else 0
            columns[each.name].append([float(next(words)) for _ in range(count)] if each.counted else float(next(words)))
    return columns


def _binary(body: bytes, at: int, element: _Element, order: str) -> tuple[dict[str, list], int]:
    """Columns of an element, and where the next begins."""
    alike = _alike(body, at, element, order)
    if alike is not None:
        return {each.name: alike[each.name].tolist() for each in element.properties}, at + alike.nbytes
    columns: dict[str, list] = {each.name: [] for each in element.properties}
    for _ in range(element.rows):
        for each in element.properties:
            count = 1
            if each.counted:
                (count,) = struct.unpack_from(order + each.counted, body, at)
                at += struct.calcsize(each.counted)
            found = struct.unpack_from(f"{order}{count}{each.kind}", body, at)
            at += struct.calcsize(f"{order}{count}{each.kind}")
            columns[each.name].append(found if each.counted else found[0])
    return columns, at


def _alike(body: bytes, at: int, element: _Element, order: str) -> np.ndarray | None:
    """All rows of an element as one table, where their lists are as long as those of the first; None where they differ."""
    fields: list[tuple[str, str, tuple[int, ...]]] = []
    counts: dict[str, int] = {}
    for each in element.properties if element.rows else []:
        if not each.counted:
            fields.append((each.name, order + each.kind, ()))
            continue
        before = np.dtype(fields).itemsize
        (counts[each.name],) = struct.unpack_from(order + each.counted, body, at + before)
        fields += [(f"number of {each.name}", order + each.counted, ()), (each.name, order + each.kind, (counts[each.name],))]
    row = np.dtype(fields)
    if at + row.itemsize * element.rows > len(body):
        return None
    table = np.frombuffer(body, row, element.rows, at) if row.itemsize else np.empty(element.rows, row)
    return table if all((table[f"number of {name}"] == count).all() for name, count in counts.items()) else None
