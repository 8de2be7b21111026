"""One piece of a study that a worker does alone: all it needs in it, small enough to send, and a hash of what comes out."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from ...materials.dataclass import dataclass
from ...materials.text.error import Error
from ...scenes.changes import Change
from ...scenes.digest import digest_of
from ...scenes.made import with_digests

_CODE = ("materials", "scenes", "simulate")
_FIGURES = (
    "light",
    "eye",
    "folds",
    "measuring",
    "answers",
    "choices",
    "studies",
)  # parts of simulate that a figure of a study can see
_NO_FIGURE = "examples"


class StudyError(Error):
    """A study that cannot run, or go on; str() is one clear line."""


@dataclass(frozen=True)
class Carried:
    """A base scene as it travels: its parsed file, with materials of its own libraries in it.

    name, folder  for messages, and for measured folds, which are read from there;  digest  of the scene it must load to
    """

    table: Mapping[str, Any]
    name: str
    folder: str
    digest: str


@dataclass(frozen=True)
class JobAsk:
    """What is read of every variant, and how precisely.

    survival  probability to go on after a hit [1], the same for all variants;  error  asked relative standard error [1]
    code      hash of the program that must do it
    """

    outputs: tuple[str, ...]
    states: tuple[str, ...] | None
    error: float
    seed: int
    survival: float
    code: str


@dataclass(frozen=True)
class Task:
    """One variant: its number in the study, the key of its content, its changes of the base scene."""

    number: int
    key: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Job:
    """Variants of one base scene that are answered from one ledger.

    reference  changes of the scene that the ledger is traced for: the geometry's, and no others
    """

    base: Carried
    reference: tuple[Change, ...]
    ask: JobAsk
    tasks: tuple[Task, ...]

    @property
    def key(self) -> str:
        """Hash of all contents, 64 hex digits."""
        return hashlib.sha256("".join(task.key for task in self.tasks).encode()).hexdigest()

    @property
    def ledger_key(self) -> str:
        """What tells one ledger from another."""
        return content_key(self.base, (), self.reference, self.ask)


def content_key(base: Carried, changes: Sequence[Change], reference: Sequence[Change], ask: JobAsk) -> str:
    """SHA-256 of all that a variant's figures follow from, 64 hex digits. Source: `digest_of`; code and versions are in `ask`."""
    return digest_of((base.digest, _plain(changes), _plain(reference), ask))


def _plain(changes: Sequence[Change]) -> Any:
    return [[list(change.path), with_digests({"value": change.value})["value"]] for change in changes]


@cache
def code_digest() -> str:
    """Hash of the program that makes the figures: names and texts of its sources, 64 hex digits. Source: SHA-256."""
    root = Path(__file__).resolve().parents[2]
    digest = hashlib.sha256()
    for top in _CODE:
        for path in sorted((root / top).rglob("*")):
            parts = path.relative_to(root).parts
            seen = parts[1] in _FIGURES if parts[0] == "simulate" else parts[1] != _NO_FIGURE
            if path.suffix in (".py", ".toml") and seen:
                digest.update(f"{'/'.join(parts)} ".encode() + hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()
