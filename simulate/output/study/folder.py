"""Parts of a study in a folder: each appears whole, so that a study killed at any moment goes on where it was."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from pathlib import Path

from ...studies.part import DamagedPart, StudyPart, from_bytes, to_bytes
from ...studies.store import Store, Stored
from ..writing import write_file

PARTS = "parts"
_MOST_BYTES = 64 << 20  # of parts held in memory
_LARGEST_PART = 1 << 30


class StudyFolder(Store):
    """Parts in `out`/parts, found by the content of their variants: a study that was changed finds what it still has in common.

    damaged  names of files there that are no parts: they count as not there
    """

    def __init__(self, out: Path) -> None:
        self._folder = out / PARTS
        self._places: dict[str, tuple[str, int]] = {}
        self._held: OrderedDict[str, StudyPart] = OrderedDict()
        self.damaged: list[str] = []
        for path in sorted(self._folder.glob("*.npz")) if self._folder.is_dir() else []:
            try:
                part = self._read(path.name)
            except (DamagedPart, OSError):
                self.damaged.append(path.name)
                continue
            self._index(path.name, part)

    def add(self, part: StudyPart) -> None:
        """Keep a part; see `Store`. raises OSError where it cannot be written, NotReplaced where its name is taken"""
        from hashlib import sha256

        name = f"{sha256(''.join(part.keys).encode()).hexdigest()[:20]}.npz"
        write_file(self._folder / name, to_bytes(part))
        self._index(name, part)

    def _index(self, name: str, part: StudyPart) -> None:
        for place, key in enumerate(part.keys):
            if place not in part.failed:
                self._places.setdefault(key, (name, place))
        self._hold(name, part)

    def _hold(self, name: str, part: StudyPart) -> None:
        self._held[name] = part
        self._held.move_to_end(name)
        while len(self._held) > 1 and sum(each.nbytes for each in self._held.values()) > _MOST_BYTES:
            self._held.popitem(last=False)

    def _read(self, name: str) -> StudyPart:
        path = self._folder / name
        if path.stat().st_size > _LARGEST_PART:
            raise DamagedPart("too large")
        return from_bytes(path.read_bytes())

    def __getitem__(self, key: str) -> Stored:
        name, place = self._places[key]
        part = self._held.get(name)
        if part is None:
            part = self._read(name)
        self._hold(name, part)
        return Stored(part, place)

    def __contains__(self, key: object) -> bool:
        return key in self._places

    def __len__(self) -> int:
        return len(self._places)

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)
