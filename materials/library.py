"""Libraries of fabrics and finishes: the built-in one, and the user's own files."""

from __future__ import annotations

import tomllib
from collections import ChainMap
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from .dataclass import dataclass
from .fabric import Fabric
from .fabric_table import FabricTable
from .finish import Finish
from .finish_table import FinishTable
from .finish_words import meant
from .solving.solve import FabricError
from .text.error import Error
from .text.nearest import nearest
from .text.problem import Problem, dotted, lines_of, problems_of
from .text.reading import Unreadable, read_text
from .text.toml_lines import key_lines, line_of
from .text.toml_read import TomlFault, toml_tables

DATA = Path(__file__).resolve().parent / "data"
LARGEST_FILE_BYTES = 4_000_000
MOST_ENTRIES = 2000  # fabrics or finishes of one file

Thing = TypeVar("Thing")


class UnknownName(Error, LookupError):
    """A name that no library holds, with its nearest spellings."""

    def __init__(self, what: str, name: str, close: list[str]) -> None:
        self.name = name
        self.nearest = close
        hint = f"; nearest: {', '.join(close)}" if close else ""
        super().__init__(f'no {what} is called "{name}"{hint}')


class LibraryErrors(Error, ValueError):
    """All that is wrong in library files; one line each."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems
        super().__init__(lines_of(problems))


@dataclass(frozen=True)
class Library:
    """Fabrics and finishes by name."""

    fabrics: Mapping[str, Fabric]
    finishes: Mapping[str, Finish]

    def find_fabric(self, name: str) -> Fabric:
        """The fabric of this name; raises UnknownName with the nearest spellings."""
        return _found("fabric", name, self.fabrics)

    def find_finish(self, name: str) -> Finish:
        """The finish of this name; raises UnknownName with what an everyday word means, else with the nearest spellings."""
        if name not in self.finishes:
            raise UnknownName("finish", name, meant(name, self.finishes)[:3] or nearest(name, self.finishes))
        return self.finishes[name]


def load_library(paths: str | Path | Iterable[str | Path] | None = None) -> Library:
    """The built-in library, with the user's files laid over it: a later entry replaces one of the same name.

    paths   one file, several, or None for the built-in library alone
    raises  LibraryErrors with every mistake in every file
    """
    library = _built_in()
    if paths is None:
        return library
    fabrics: dict[str, Fabric] = {}
    finishes: dict[str, Finish] = {}
    problems: list[Problem] = []
    for path in [paths] if isinstance(paths, str | Path) else paths:
        own_fabrics, own_finishes, wrong = _read(Path(path))
        fabrics.update(own_fabrics)
        finishes.update(own_finishes)
        problems += wrong
    if problems:
        raise LibraryErrors(problems)
    return Library(ChainMap(fabrics, library.fabrics), ChainMap(finishes, library.finishes))  # type: ignore[arg-type]


def find_fabric(name: str) -> Fabric:
    """A fabric of the built-in library; raises UnknownName."""
    return load_library().find_fabric(name)


def find_finish(name: str) -> Finish:
    """A finish of the built-in library; raises UnknownName."""
    return load_library().find_finish(name)


def _found(what: str, name: str, things: Mapping[str, Thing]) -> Thing:
    if name not in things:
        raise UnknownName(what, name, nearest(name, things))
    return things[name]


class _Unmade(Mapping[str, Thing]):
    """The built-in fabrics or finishes, each made of its table when first asked for: louvred fabrics take a quarter of a second together.

    kind  the file's tables;  add  `_add_fabric` or `_add_finish`
    raises  LibraryErrors on asking for one whose table is wrong
    """

    def __init__(self, path: Path, kind: str, add: Callable[..., None]) -> None:
        self._path, self._text, self._kind, self._add = path, path.read_text("utf-8"), kind, add
        self._tables: dict[str, tuple[int, dict[str, Any]]] = {
            table["name"]: (i, table) for i, table in enumerate(tomllib.loads(self._text)[kind])
        }
        self._made: dict[str, Thing] = {}

    def __getitem__(self, name: str) -> Thing:
        if name not in self._made:
            i, table = self._tables[name]
            problems: list[Problem] = []
            self._add(table, self._made, problems, str(self._path), _LinesWhenAsked(self._text), (self._kind, i))
            if problems:
                raise LibraryErrors(problems)
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._tables)

    def __len__(self) -> int:
        return len(self._tables)

    def __contains__(self, name: object) -> bool:
        return name in self._tables


class _LinesWhenAsked(Mapping[tuple[str | int, ...], int]):
    """`key_lines` of a text, found when one is asked for: only a fault asks."""

    def __init__(self, text: str) -> None:
        self._text = text

    def __getitem__(self, path: tuple[str | int, ...]) -> int:
        return key_lines(self._text)[path]

    def __iter__(self) -> Iterator[tuple[str | int, ...]]:
        return iter(key_lines(self._text))

    def __len__(self) -> int:
        return len(key_lines(self._text))


@cache
def _built_in() -> Library:
    return Library(_Unmade(DATA / "fabrics.toml", "fabric", _add_fabric), _Unmade(DATA / "finishes.toml", "finish", _add_finish))


def _read(path: Path) -> tuple[dict[str, Fabric], dict[str, Finish], list[Problem]]:
    """What one file holds, and what is wrong in it."""
    fabrics: dict[str, Fabric] = {}
    finishes: dict[str, Finish] = {}
    file = str(path)
    try:
        text = read_text(path, LARGEST_FILE_BYTES, "a library", "a TOML file of [[fabric]] and [[finish]]")
        tables = toml_tables(text)
    except Unreadable as fault:
        return fabrics, finishes, [Problem(file, fault.line, "", None, str(fault), fault.allowed)]
    except TomlFault as fault:
        message = f"not valid TOML: {fault.words}"
        return fabrics, finishes, [Problem(file, fault.line, dotted(fault.path), None, message, fault.allowed)]
    lines = key_lines(text)
    problems = []
    for key, value in tables.items():
        if key not in ("fabric", "finish"):
            close = nearest(key, ["fabric", "finish"])
            hint = f', did you mean "{close[0]}"?' if close else ""
            problems.append(Problem(file, line_of((key,), lines), key, None, f"unknown key{hint}", "[[fabric]], [[finish]]"))
        elif not isinstance(value, list) or not all(isinstance(table, dict) for table in value):
            message = f"write each {key} as a table of its own"
            problems.append(Problem(file, line_of((key,), lines), key, None, message, f"[[{key}]]"))
        elif len(value) > MOST_ENTRIES:
            problems.append(
                Problem(file, line_of((key,), lines), key, len(value), "too many in one file", f"at most {MOST_ENTRIES}")
            )
        elif key == "fabric":
            for i, table in enumerate(value):
                _add_fabric(table, fabrics, problems, file, lines, (key, i))
        else:
            for i, table in enumerate(value):
                _add_finish(table, finishes, problems, file, lines, (key, i))
    return fabrics, finishes, problems


def _add_fabric(
    table: dict[str, Any],
    fabrics: dict[str, Fabric],
    problems: list[Problem],
    file: str,
    lines: Mapping[tuple[str | int, ...], int],
    path: tuple[str | int, ...],
) -> None:
    try:
        fabric = FabricTable.model_validate(table).to_fabric()
    except ValidationError as error:
        problems += problems_of(error, model=FabricTable, file=file, lines=lines, prefix=path)
        return
    except FabricError as error:
        key = f"{path[0]}[{int(path[1]) + 1}].{error.key}"
        line = line_of((*path, error.key), lines)
        problems.append(Problem(file, line, key, error.value, error.message, error.allowed))
        return
    if _name_is_new("name" in table, fabric.name, fabrics, problems, file, lines, path):
        fabrics[fabric.name] = fabric


def _add_finish(
    table: dict[str, Any],
    finishes: dict[str, Finish],
    problems: list[Problem],
    file: str,
    lines: Mapping[tuple[str | int, ...], int],
    path: tuple[str | int, ...],
) -> None:
    try:
        finish = FinishTable.model_validate(table).to_finish()
    except ValidationError as error:
        problems += problems_of(error, model=FinishTable, file=file, lines=lines, prefix=path)
        return
    if _name_is_new("name" in table, finish.name, finishes, problems, file, lines, path):
        finishes[finish.name] = finish


def _name_is_new(
    named: bool,
    name: str,
    things: Mapping[str, object],
    problems: list[Problem],
    file: str,
    lines: Mapping[tuple[str | int, ...], int],
    path: tuple[str | int, ...],
) -> bool:
    if named and name not in things:
        return True
    key, line = f"{path[0]}[{int(path[1]) + 1}].name", line_of((*path, "name"), lines)
    if not named:
        problems.append(Problem(file, line, key, None, "missing key", "a text, by which scenes call it"))
    else:
        problems.append(Problem(file, line, key, name, "this name is taken already in this file", "each name once"))
    return False
