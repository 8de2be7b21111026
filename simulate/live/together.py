"""Works that several questions wait for: each is done once, step by step by whichever question has its turn."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Generator, Hashable, Iterator
from dataclasses import dataclass
from typing import Any


@dataclass
class _Begun:
    """Steps, None until the last, and that last one's result."""

    steps: Iterator[Any]
    found: Any = None


class Together:
    """The last few works that were begun; one that is left in the middle is gone on with when it is asked for again."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._begun: OrderedDict[Hashable, _Begun] = OrderedDict()

    def made(self, key: Hashable, begin: Callable[[], Iterator[Any]]) -> Generator[None, None, Any]:
        """What the work of a key gives, its steps shared by all who ask; begin  makes those steps: None, at last the result.

        raises  what a step raises; then the work is forgotten
        """
        work = self._begun.get(key) or _Begun(begin())
        self._begun[key] = work
        self._begun.move_to_end(key)
        while len(self._begun) > self._most:  # who is at work on one that goes has it still
            self._begun.popitem(last=False)
        try:
            while work.found is None:
                work.found = next(work.steps)
                if work.found is None:
                    yield None
        except Exception:
            self._forget(key, work)
            raise
        self._forget(key, work)
        return work.found

    def _forget(self, key: Hashable, work: _Begun) -> None:
        if self._begun.get(key) is work:
            del self._begun[key]

    def __len__(self) -> int:
        return len(self._begun)
