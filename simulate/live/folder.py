"""The one folder the page may open scenes from and save them to, and what a scene's text may name in it."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from ...materials.text.error import Error
from ...materials.text.plain import plain
from ...materials.text.reading import Unreadable, read_bytes
from ...scenes.leavings import work_folder
from ...scenes.read import LARGEST_BYTES, decode

_FREE_TEXT = ("title", "name", "source")  # keys under which a slash is only a slash
_MOST_LISTED = 500
_ROOM = re.compile(rb"^[ \t]*(\[[ \t]*room|room[ \t]*[.=])", re.MULTILINE)


class FolderFault(Error):
    """What cannot be opened or saved; str() is one line. `exists`: saving would replace what the page has not seen."""

    def __init__(self, words: str, *, exists: bool = False) -> None:
        super().__init__(words)
        self.exists = exists


class SceneFolder:
    """A folder, and the files outside it that the user named at the command line.

    place    the folder, links resolved;  others  files that the first scene was read from, wherever they lie
    """

    def __init__(self, place: Path, others: Iterable[Path] = ()) -> None:
        self.place = Path(os.path.realpath(place))
        self.others = frozenset(Path(os.path.realpath(each)) for each in others)

    def names(self) -> list[str]:
        """Scene files here, in alphabetical order: regular files that end in .toml and hold a room. raises OSError"""
        found = [
            entry.name
            for entry in os.scandir(self.place)
            if entry.name.endswith(".toml") and not entry.name.startswith(".") and entry.is_file(follow_symlinks=False)
        ]
        return [name for name in sorted(found)[:_MOST_LISTED] if self._has_room(name)]

    def _has_room(self, name: str) -> bool:
        """Whether a file may be a scene, by the heading that each has; other TOML files are of no use here."""
        try:
            data = read_bytes(self.place / name, LARGEST_BYTES, "a scene file", "a TOML file")
        except Unreadable:
            return False
        return _ROOM.search(data) is not None

    def read(self, name: str) -> tuple[str, str]:
        """A file's text and the SHA-256 of its bytes. raises FolderFault, SceneErrors for what is no UTF-8"""
        path = self._file(name)
        try:
            data = read_bytes(path, LARGEST_BYTES, "a scene file", "a TOML file")
        except Unreadable as fault:
            raise FolderFault(f"{plain(name)}: {fault}") from None
        return decode(data, name), hashlib.sha256(data).hexdigest()

    def save(self, name: str, text: str, seen: str) -> str:
        """Write a text, whole or not at all; returns the SHA-256 of what was written.

        seen    SHA-256 of the file as the page last saw it, "any" to replace whatever scene stands there, "" for a new file
        raises  FolderFault, `exists` where the file is not as the page saw it; OSError
        """
        path, data = self._file(name), text.encode()
        if len(data) > LARGEST_BYTES:
            raise FolderFault(f"{plain(name)}: {len(data):,} bytes are too many for a scene; allowed {LARGEST_BYTES:,}")
        if path.is_symlink() or (path.exists() and not path.is_file()):
            raise FolderFault(f"{plain(name)} is a link or no regular file: nothing is written there")
        if path.exists() and seen != "any":
            there = hashlib.sha256(path.read_bytes()).hexdigest()
            if there != seen:
                words = "has changed since it was opened here" if seen else "exists already"
                raise FolderFault(f"{plain(name)} {words}", exists=True)
        with work_folder(self.place) as work:
            with (work / "scene").open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            os.replace(work / "scene", path)
        return hashlib.sha256(data).hexdigest()

    def _file(self, name: str) -> Path:
        """The path of a name without any folder in it. raises FolderFault"""
        plainly = name and Path(name).name == name and "\\" not in name and name.isprintable() and len(name.encode()) <= 200
        if not plainly or name.startswith(".") or not name.endswith(".toml"):
            raise FolderFault(
                f'"{plain(name)}" is no name for a scene here; allowed a file name that ends in .toml, without folders'
            )
        return self.place / name

    def check(self, table: Mapping[str, Any]) -> None:
        """Refuse a scene that names files outside this folder. raises FolderFault

        Whatever text of a scene leads to a file counts as its name, so keys that are yet to come are judged too.
        """
        for key, text in _texts(table):
            try:
                path = self.place / text
                there = Path(os.path.realpath(path))
                named = any(mark in text for mark in ("/", "\\", "~")) or os.path.lexists(path)
            except (OSError, ValueError):
                continue  # no file can have such a name
            if named and there not in self.others and not there.is_relative_to(self.place):
                raise FolderFault(
                    f'{key}: "{plain(text)}" lies outside the folder of this page; allowed files in {plain(str(self.place))}'
                )


def _texts(value: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """All texts in nested tables with their keys, but those that are words for people."""
    if isinstance(value, str):
        yield key, value
    elif isinstance(value, Mapping):
        for name, part in value.items():
            if name not in _FREE_TEXT:
                yield from _texts(part, f"{key}.{name}" if key else str(name))
    elif isinstance(value, list):
        for part in value:
            yield from _texts(part, key)
