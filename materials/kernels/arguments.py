"""What Python hands to a kernel: its kinds, on which numba specialises machine code, and its cells, which the machine code reads.

Kinds are judged as numba judges types, and anything that is not known here (other classes, arrays that are subclasses, unaligned
or of another byte order, whole numbers beyond 64 bits) is left to numba itself. A cell is one 64-bit word: a number, or the
address of an array object, whose shape, strides and data the machine code reads where numpy keeps them.

Source: numba.core.typing.typeof; a test holds the two against each other.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from typing import Any, TypeVar

import numpy as np

Kinds = tuple[
    Hashable, ...
]  # flat: of an array its type, dimensions and layout; of a tuple its class and length, then its members
Cells = list[Any]
Owner = TypeVar("Owner", bound=type)

_C, _F, _ALIGNED, _WRITEABLE = 0x1, 0x2, 0x100, 0x400  # numpy's flags of an array, as in ndarrayobject.h
_LAYOUTS = {
    aligned | c | f | written: ("C" if c else "F" if f else "A") + ("" if written else ", readonly")
    for aligned in (_ALIGNED,)
    for c in (0, _C)
    for f in (0, _F)
    for written in (0, _WRITEABLE)
}
_JUDGED = _C | _F | _ALIGNED | _WRITEABLE
_MOST = 2**63  # whole numbers below it are numba's int64

_NUMBERS = "?bhilqBHILQfd"  # numpy's letters of what kernels may be handed, in this machine's byte order
_ELEMENTS = {np.dtype(letter): np.dtype(letter).str for letter in _NUMBERS}
_FLOAT, _UNSIGNED, _SIGNED = "d", "Q", "q"  # formats of cells, as in the module struct


class Unknown(Exception):
    """An argument of a kind that is left to numba."""


def _format_of(kind: np.dtype) -> str:
    """Format of a number's cell."""
    return _FLOAT if kind.kind == "f" else _UNSIGNED if kind == np.uint64 else _SIGNED


def _scalars() -> dict[type, tuple[str, Callable[[Any], Any]]]:
    """The word of a number's kind, by its class, and what makes a plain number of it."""
    known: dict[type, tuple[str, Callable[[Any], Any]]] = {float: ("float64", float), bool: ("bool", int)}
    for kind in map(np.dtype, _NUMBERS):
        known[kind.type] = (kind.name, float if kind.kind == "f" else int)
    return known


_SCALARS = _scalars()
_MOST_BYTES, _MOST_KNOWN = 1 << 21, 16  # of the arrays of a bundle that is remembered, and of bundles
_lasting: set[type] = set()
_known: dict[
    int, tuple[tuple[Any, ...], list[Any], Cells]
] = {}  # by identity: the bundle, which is held so that it stays its own; kinds; cells
_FORMATS = {kind.name: _format_of(kind) for kind in map(np.dtype, _NUMBERS)}


def laid_out(arguments: tuple[Any, ...]) -> tuple[Kinds, Cells]:
    """Kinds and cells of arguments; the cells hold as long as the arguments live.

    raises  Unknown
    """
    kinds: list[Any] = []
    cells: Cells = []
    _lay_out(arguments, kinds, cells)
    return tuple(kinds), cells


def lasting(owner: Owner) -> Owner:
    """Mark a class of named tuples that are handed to call after call: small ones that nobody can write to are laid out once."""
    _lasting.add(owner)
    return owner


def is_known(bundle: tuple[Any, ...]) -> bool:
    """True for a bundle that is remembered, none of whose arrays can be written to."""
    return id(bundle) in _known


def _lay_out_lasting(bundle: tuple[Any, ...], kinds: list[Any], cells: Cells) -> None:
    known = _known.get(id(bundle))
    if known is None:
        known = bundle, [type(bundle), len(bundle)], []
        _lay_out(bundle, known[1], known[2])
        arrays = list(_arrays_in(bundle))
        if sum(each.nbytes for each in arrays) <= _MOST_BYTES and not any(each.flags.writeable for each in arrays):
            if len(_known) >= _MOST_KNOWN:
                _known.clear()
            _known[id(bundle)] = known
    kinds += known[1]
    cells += known[2]


def _arrays_in(values: tuple[Any, ...]) -> Iterator[np.ndarray]:
    for each in values:
        if isinstance(each, np.ndarray):
            yield each
        elif isinstance(each, tuple):
            yield from _arrays_in(each)


def _lay_out(values: tuple[Any, ...], kinds: list[Any], cells: Cells) -> None:
    for value in values:
        owner = type(value)
        if owner is np.ndarray:
            element, layout = _ELEMENTS.get(value.dtype), _LAYOUTS.get(value.flags.num & _JUDGED)
            if element is None or layout is None:
                raise Unknown(value.dtype)
            kinds += (element, value.ndim, layout)
            cells.append(id(value))
        elif owner in _SCALARS:
            word, plain = _SCALARS[owner]
            kinds.append(word)
            cells.append(plain(value))
        elif owner is int:
            if not -_MOST < value < _MOST:
                raise Unknown(value)
            kinds.append("int64")
            cells.append(value)
        elif owner in _lasting:
            _lay_out_lasting(value, kinds, cells)
        elif owner is tuple or (isinstance(value, tuple) and hasattr(value, "_fields")):
            kinds += (owner, len(value))
            _lay_out(value, kinds, cells)
        else:
            raise Unknown(owner)


def words(kinds: Kinds) -> list[Hashable]:
    """Kinds as values whose repr says them whole, in every process: a named tuple's class by its name, with its fields."""
    return [
        f"{kind.__module__}.{kind.__qualname__}{getattr(kind, '_fields', ())}" if isinstance(kind, type) else kind
        for kind in kinds
    ]


def cell_format(kinds: Kinds) -> str:
    """Format of the cells of such kinds, as the module struct knows it."""
    return "=" + "".join(_cell_formats(iter(kinds)))


def _cell_formats(kinds: Iterator[Hashable]) -> Iterator[str]:
    for kind in kinds:
        if isinstance(kind, type):
            next(kinds)  # its length; its members follow
        elif kind in _FORMATS:
            yield _FORMATS[kind]
        else:
            next(kinds), next(kinds)  # dimensions and layout
            yield _UNSIGNED
