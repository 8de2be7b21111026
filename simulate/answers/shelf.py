"""What has been made and is kept for the next who asks: bounded by bytes, made once a key, safe under threads."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from typing import Any, Generic, TypeVar, cast

import numpy as np

Thing = TypeVar("Thing")


def held_bytes(thing: Any) -> int:
    """Bytes of the arrays in nested tuples and dictionaries. Source: definition; what two things share counts for both."""
    if isinstance(thing, np.ndarray):
        return thing.nbytes
    if isinstance(thing, dict):
        return sum(held_bytes(part) for part in thing.values())
    return sum(held_bytes(part) for part in thing) if isinstance(thing, tuple | list) else 0


class Shelf(Generic[Thing]):
    """Things of one kind by their keys; what was asked for longest ago is dropped first.

    most_bytes  of all that is kept; the newest thing stays however large it is

    Whatever is on a shelf can be made again from its key to the same bits, so dropping it changes nothing but the time. Making
    happens outside the lock: other keys are made meanwhile, and who asks for the same key waits for the one that is made.
    """

    def __init__(self, most_bytes: int) -> None:
        self.most_bytes = most_bytes
        self._lock = threading.Lock()
        self._things: OrderedDict[Hashable, Future[Thing]] = OrderedDict()
        self._bytes: dict[Hashable, int] = {}

    def get(self, key: Hashable, make: Callable[[], Thing]) -> Thing:
        """The thing of a key, made by `make()` where it is not there; raises what that raises, to all who wait for it."""
        with self._lock:
            ready = self._things.get(key)
            mine = ready is None
            if ready is None:
                ready = self._things[key] = Future()
            self._things.move_to_end(key)
        if mine:
            self._fill(key, ready, make)
        return ready.result()

    def _fill(self, key: Hashable, ready: Future[Thing], make: Callable[[], Thing]) -> None:
        try:
            thing = make()
        except BaseException as fault:
            with self._lock:
                self._things.pop(key, None)  # the next who asks tries again
            ready.set_exception(fault)
            return
        with self._lock:
            self._bytes[key] = held_bytes(thing)
            self._drop(keep=key)
        ready.set_result(thing)

    def _drop(self, keep: Hashable) -> None:
        """Drop finished things, the oldest first, until the rest fits. Source: least recently used."""
        for key in list(self._things):
            if sum(self._bytes.values()) <= self.most_bytes:
                return
            if key != keep and key in self._bytes:
                del self._things[key], self._bytes[key]

    def __len__(self) -> int:
        with self._lock:
            return len(self._things)

    @property
    def bytes(self) -> int:
        """Bytes of all that is kept. Source: `held_bytes`."""
        with self._lock:
            return sum(self._bytes.values())


class Shelves:
    """One Shelf a kind, each with its own bound: a large kind never drops what another needs.

    bounds  bytes by kind
    """

    def __init__(self, **bounds: int) -> None:
        self._shelves = {kind: Shelf[Any](most) for kind, most in bounds.items()}

    def get(self, kind: str, key: Hashable, make: Callable[[], Thing]) -> Thing:
        """As Shelf.get, on the shelf of a kind; raises KeyError for a kind without one."""
        return cast(Thing, self._shelves[kind].get(key, make))

    def with_new(self, *kinds: str) -> Shelves:
        """These shelves, shared, but for new empty ones of some kinds. Source: definition."""
        new = Shelves()
        new._shelves = {kind: Shelf[Any](shelf.most_bytes) if kind in kinds else shelf for kind, shelf in self._shelves.items()}
        return new

    @property
    def bytes(self) -> int:
        """Bytes of all that is kept. Source: `held_bytes`."""
        return sum(shelf.bytes for shelf in self._shelves.values())
