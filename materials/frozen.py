"""A mapping that cannot change: it can be hashed, pickled and copied, which types.MappingProxyType cannot."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TypeVar

Key = TypeVar("Key")
Value = TypeVar("Value", covariant=True)


class FrozenDict(Mapping[Key, Value]):
    """A mapping made once; equal to any mapping with the same items, hashed by them, in whatever order they were given."""

    __slots__ = ("_hash", "_items")

    def __init__(self, items: Mapping[Key, Value] | Iterable[tuple[Key, Value]] = ()) -> None:
        self._items = dict(items)
        self._hash: int | None = None

    def __getitem__(self, key: Key) -> Value:
        return self._items[key]

    def __iter__(self) -> Iterator[Key]:
        return iter(self._items)

    def __len__(self) -> int:
        return len(self._items)

    def __hash__(self) -> int:
        if self._hash is None:
            self._hash = hash(frozenset(self._items.items()))
        return self._hash

    def __repr__(self) -> str:
        return repr(self._items)

    def __copy__(self) -> FrozenDict[Key, Value]:
        return self

    def __reduce__(self) -> tuple[Any, ...]:
        return FrozenDict, (self._items,)
