"""The list of finishes that a client would accept: a CSV file, or a default of dark paints and carpets."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

from ...materials.finish import Finish
from ...materials.finish_words import suits
from ...materials.library import load_library
from ...materials.text.csv_reading import NotCsv, csv_rows
from ...materials.text.error import Error
from ...materials.text.nearest import nearest
from ...materials.text.plain import first_names
from ...materials.text.problem import MOST_FAULTS
from ...materials.text.reading import Unreadable, read_text
from ...scenes.errors import NOTHING, SceneError, SceneErrors
from ...scenes.model import Scene
from ..measuring.flatten import BORDER
from .answers import as_finish
from .repaint import Allowed

COLUMNS = ("surface", "finish", "price_per_m2")
_DARK = ("mid grey matt paint", "dark grey matt paint", "charcoal matt paint", "mid grey carpet", "dark carpet")
_MOST_BYTES = 1_000_000
HIGHEST_PRICE = 1e12
_FORM = f"a CSV file with the header {','.join(COLUMNS)} or {','.join(COLUMNS[:2])} and a row for each"


class AllowedErrors(Error, ValueError):
    """All that is wrong in a list; str() is one line each: file:line: column: message (got ...; allowed ...)."""

    def __init__(self, errors: list[SceneError]) -> None:
        super().__init__(str(SceneErrors(errors)))


class _Wrong:
    """Collects what is wrong with one file."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.found: list[SceneError] = []

    def add(self, line: int, key: str, message: str, allowed: str = "", value: object = NOTHING) -> None:
        self.found.append(SceneError(self.file, line, key, value, message, allowed))


def default_allowed(scene: Scene) -> list[Allowed]:
    """Dark paints on walls and ceiling, carpets on the floor, none lighter than what is there; no prices, so area [m2] counts.

    Source: the project's own choice from its library of finishes; common practice for dark rooms, no source.
    """
    library = load_library()
    pairs = [(surface, name) for surface in scene.room.surfaces for name in _DARK if suits(name, surface)]
    return [
        Allowed(surface, library.find_finish(name), None)
        for surface, name in pairs
        if library.find_finish(name).luminous < scene.room.finish[surface].luminous
    ]


def read_allowed(path: Path, scene: Scene) -> list[Allowed]:
    """The rows of a CSV file with the header `surface,finish` or `surface,finish,price_per_m2`.

    surface  a wall, an object, a part, "border"; empty: all walls, ceiling and floor included
    finish   a name of the library or of the scene, or a reflectance 0 .. 1 [1]
    price_per_m2  0 or more [currency/m2]; for all rows or for none
    raises   AllowedErrors with everything that is wrong
    """
    wrong = _Wrong(str(path))
    found: list[Allowed] = []
    known = _known_finishes(scene)
    columns = 0
    try:
        for line, cells in csv_rows(read_text(path, _MOST_BYTES, "a list of finishes", _FORM)):
            if columns:
                found += _row(line, cells, scene, known, columns, wrong)
            elif cells in (list(COLUMNS), list(COLUMNS[:2])):
                columns = len(cells)
            else:
                wrong.add(line, "header", "is wrong", " or ".join((",".join(COLUMNS), ",".join(COLUMNS[:2]))), ",".join(cells))
                break
            if len(wrong.found) >= MOST_FAULTS:
                break
    except (Unreadable, NotCsv) as fault:
        wrong.add(fault.line, "", str(fault), fault.allowed or _FORM)
    if not found and not wrong.found:
        wrong.add(0, "", "the list is empty", _FORM)
    if len({entry.price_per_m2 is None for entry in found}) > 1:
        wrong.add(0, "price_per_m2", "some rows have a price and some have none", "all or none")
    if wrong.found:
        raise AllowedErrors(wrong.found)
    return found


def _known_finishes(scene: Scene) -> dict[str, Finish]:
    """Library and scene finishes by name; the scene's own come first."""
    own = [*scene.room.finishes.values(), scene.screen.border_finish]
    return {**load_library().finishes, **{finish.name: finish for finish in own}}


def _row(line: int, cells: list[str], scene: Scene, known: dict[str, Finish], columns: int, wrong: _Wrong) -> Iterator[Allowed]:
    """Entries of one row; what is wrong is added to the faults."""
    before = len(wrong.found)
    if len(cells) != columns:
        wrong.add(line, "", f"has {len(cells)} cells", str(columns))
        return iter(())
    surfaces = [*scene.room.finishes, BORDER]
    if cells[0] and cells[0] not in surfaces:
        near = nearest(cells[0], surfaces)
        hint = f": did you mean {' or '.join(near[:2])}?" if near else ""
        wrong.add(line, "surface", f"is no surface of the scene{hint}", first_names(surfaces), cells[0])
    finish = _finish(line, cells[1], known, wrong)
    price: float | None = None
    if columns == 3 and cells[2]:
        price = _number(cells[2])
        if price is None or not 0.0 <= price <= HIGHEST_PRICE:
            wrong.add(line, "price_per_m2", "is no price", f"a number from 0 to {HIGHEST_PRICE:g}", cells[2])
    if finish is None or len(wrong.found) > before:
        return iter(())
    return iter([Allowed(surface, finish, price) for surface in ([cells[0]] if cells[0] else scene.room.surfaces)])


def _finish(line: int, text: str, known: dict[str, Finish], wrong: _Wrong) -> Finish | None:
    value = _number(text)
    if value is not None:
        if 0.0 <= value <= 1.0:
            return as_finish(value)
        wrong.add(line, "finish", "is a reflectance out of range", "0 to 1", text)
        return None
    if text in known:
        return known[text]
    near = nearest(text, known)
    hint = f": did you mean {' or '.join(near[:2])}?" if near else ""
    wrong.add(
        line,
        "finish",
        f"is no finish of the library{hint}",
        "a finish of the library (halfgain materials lists all) or a reflectance",
        text,
    )
    return None


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
