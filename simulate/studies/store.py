"""Where parts are kept while a study runs: in memory, or (see output/study) in a folder. Both find a variant by its content key."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from .part import StudyPart


class Stored(NamedTuple):
    """A variant in a part: its place there."""

    part: StudyPart
    place: int


class Store(Mapping[str, Stored]):
    """Variants by content key; `add` keeps a part."""

    def add(self, part: StudyPart) -> None:
        """Keep a part: every variant in it that did not fail can be found from now on."""
        raise NotImplementedError


class Memory(Store):
    """Parts in memory."""

    def __init__(self) -> None:
        self._found: dict[str, Stored] = {}

    def add(self, part: StudyPart) -> None:
        """Keep a part; see `Store`."""
        self._found.update({key: Stored(part, place) for place, key in enumerate(part.keys) if place not in part.failed})

    def __getitem__(self, key: str) -> Stored:
        return self._found[key]

    def __len__(self) -> int:
        return len(self._found)

    def __iter__(self) -> Iterator[str]:
        return iter(self._found)
