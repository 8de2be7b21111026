"""The list of finishes that a client would accept: a CSV file, or a default of dark paints and carpets."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from pathlib import Path

from ...materials.finish import Finish
from ...materials.library import UnknownName, load_library
from ...materials.nearest import nearest
from ...scenes.model import SURFACES, Scene
from ..flatten import BORDER
from .answers import as_finish
from .repaint import Allowed

COLUMNS = ("surface", "finish", "price_per_m2")
WALLS = ("front", "back", "left", "right", "ceiling")
_PAINTS = ("mid grey matt paint", "dark grey matt paint", "charcoal matt paint")
_CARPETS = ("mid grey carpet", "dark carpet")
_MOST_BYTES = 1_000_000


class AllowedErrors(ValueError):
    """All that is wrong in a list; str() is one line each: file:line: column: message (got ...; allowed ...)."""


def default_allowed(scene: Scene) -> list[Allowed]:
    """Dark paints on walls and ceiling, carpets on the floor, none lighter than what is there; no prices, so area [m2] counts.

    Source: the project's own choice from its library of finishes; common practice for dark rooms, no source.
    """
    library = load_library()
    pairs = [(wall, name) for wall in WALLS for name in _PAINTS] + [("floor", name) for name in _CARPETS]
    return [
        Allowed(surface, library.find_finish(name), None)
        for surface, name in pairs
        if library.find_finish(name).luminous < scene.room.finish[surface].luminous
    ]


def read_allowed(path: Path, scene: Scene) -> list[Allowed]:
    """The rows of a CSV file with the header `surface,finish` or `surface,finish,price_per_m2`.

    surface  a wall, an object, "border"; empty: all six walls, ceiling and floor included
    finish   a name of the library or of the scene, or a reflectance 0 .. 1 [1]
    price_per_m2  0 or more [currency/m2]; for all rows or for none
    raises   AllowedErrors with everything that is wrong
    """
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise AllowedErrors(f"{path}:0: file: too large (allowed at most {_MOST_BYTES:,} bytes)")
        text = path.read_text(encoding="utf-8-sig")
    except OSError as fault:
        raise AllowedErrors(f"{path}:0: file: cannot be read ({(fault.strerror or '').lower()})") from None
    except UnicodeDecodeError:
        raise AllowedErrors(f"{path}:0: file: not a UTF-8 text") from None
    rows = csv.reader(text.splitlines())
    header = [cell.strip() for cell in next(rows, [])]
    if header not in (list(COLUMNS), list(COLUMNS[:2])):
        raise AllowedErrors(
            f"{path}:1: header: got {','.join(header)!r}; allowed {','.join(COLUMNS)!r} or {','.join(COLUMNS[:2])!r}"
        )
    wrong: list[str] = []
    found: list[Allowed] = []
    known = _known_finishes(scene)
    for line, cells in enumerate(rows, start=2):
        if any(cell.strip() for cell in cells):
            found += _row(f"{path}:{line}", [c.strip() for c in cells], scene, known, len(header), wrong)
    if not found and not wrong:
        wrong.append(f"{path}:2: rows: the list is empty (allowed one row or more)")
    if len({entry.price_per_m2 is None for entry in found}) > 1:
        wrong.append(f"{path}:2: price_per_m2: some rows have a price and some have none (allowed all or none)")
    if wrong:
        raise AllowedErrors("\n".join(wrong))
    return found


def _known_finishes(scene: Scene) -> dict[str, Finish]:
    """Library and scene finishes by name; the scene's own come first."""
    own = [*scene.room.finish.values(), *(box.finish for box in scene.room.objects), scene.screen.border_finish]
    return {**load_library().finishes, **{finish.name: finish for finish in own}}


def _row(
    place: str, cells: list[str], scene: Scene, known: dict[str, Finish], columns: int, wrong: list[str]
) -> Iterator[Allowed]:
    """Entries of one row; what is wrong goes to the list."""
    before = len(wrong)
    if len(cells) != columns:
        wrong.append(f"{place}: row: has {len(cells)} cells (allowed {columns})")
        return iter(())
    surfaces = [*SURFACES, *(box.name for box in scene.room.objects), BORDER]
    if cells[0] and cells[0] not in surfaces:
        close = nearest(cells[0], surfaces)
        hint = f", did you mean {close[0]!r}?" if close else ""
        wrong.append(f"{place}: surface: unknown{hint} (got {cells[0]!r}; allowed {', '.join(surfaces)})")
    finish = _finish(place, cells[1], known, wrong)
    price: float | None = None
    if columns == 3 and cells[2]:
        price = _number(cells[2])
        if price is None or price < 0.0:
            wrong.append(f"{place}: price_per_m2: not a price (got {cells[2]!r}; allowed a number, 0 or more)")
    if finish is None or len(wrong) > before:
        return iter(())
    return iter([Allowed(surface, finish, price) for surface in ([cells[0]] if cells[0] else SURFACES)])


def _finish(place: str, text: str, known: dict[str, Finish], wrong: list[str]) -> Finish | None:
    value = _number(text)
    if value is not None:
        if 0.0 <= value <= 1.0:
            return as_finish(value)
        wrong.append(f"{place}: finish: reflectance out of range (got {text}; allowed 0 to 1)")
        return None
    if text in known:
        return known[text]
    fault = UnknownName("finish", text, nearest(text, known))
    wrong.append(f"{place}: finish: {fault} (allowed a finish of the library or a reflectance)")
    return None


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
