"""What a scene file does not say and advice needs: how the room is used, what must fit, what things cost."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field
from pathlib import Path as FilePath

from ...materials.dataclass import dataclass
from ...materials.library import load_library
from ...materials.text.csv_reading import NotCsv, csv_rows
from ...materials.text.nearest import nearest
from ...materials.text.problem import MOST_FAULTS
from ...scenes.cloth.hanging import Hang
from ...scenes.errors import NOTHING, SceneError, SceneErrors
from ...scenes.read import decode, read_bytes

USES = ("dedicated", "living-room", "bedroom")
_FORM = "a CSV file with a header name,price and a row for each"
HIGHEST_PRICE = 1e12
AIM_WORDS = ("white", "evenness", "contrast", "lights-on")
HIGHEST_WEIGHT = 100.0
HANGS = (Hang.FIXED_FRAME, Hang.TAB_TENSIONED, Hang.MOTORISED, Hang.PULL_DOWN)  # as advice lists them


@dataclass(frozen=True)
class Wishes:
    """Answers of the client; None or False: not said.

    use              one of USES
    free_hanging     True: hangs free of any wall; False: touches or stands close to one
    clear_wall       the wall must be clear after use;  speakers_behind  sound has to pass through the fabric
    children, dust   small children about; a dusty room
    prices           by fabric or hang name, in the list's own currency, and by finish, per m2
    first_aim        what counts before all else, one of AIM_WORDS;  weights  how much an aim counts, by AIM_WORDS, 1 where left out
    """

    use: str | None = None
    speakers_behind: bool = False
    free_hanging: bool | None = None
    clear_wall: bool = False
    children: bool = False
    dust: bool = False
    prices: Mapping[str, float] = field(default_factory=dict)
    first_aim: str | None = None
    weights: Mapping[str, float] = field(default_factory=dict)

    def price(self, hang: str, fabric: str) -> float | None:
        """Price of a hang with a fabric, in the list's currency; None where the list lacks either."""
        if hang not in self.prices or fabric not in self.prices:
            return None
        return self.prices[hang] + self.prices[fabric]


def read_prices(file: FilePath, fabrics: Mapping[str, object]) -> dict[str, float]:
    """Prices by name from a CSV file with the header name,price: names of hangs, fabrics and finishes (per m2), in the list's own currency.

    raises SceneErrors with file and line of everything that is wrong. Source: RFC 4180.
    """
    known = [*HANGS, *fabrics, *load_library().finishes]
    prices: dict[str, float] = {}
    errors: list[SceneError] = []
    text = decode(read_bytes(file, str(file), "a list of prices", _FORM), str(file), _FORM)
    header: list[str] | None = None
    try:
        for line, cells in csv_rows(text):
            if header is None:
                header = cells
                if header != ["name", "price"]:
                    raise SceneErrors([SceneError(str(file), line, "", NOTHING, "the header is wrong", "name,price")])
                continue
            wrong = _wrong_row(cells, known, prices)
            if wrong is None:
                prices[cells[0]] = float(cells[1])
            else:
                errors.append(SceneError(str(file), line, wrong[0], wrong[1], wrong[2], wrong[3]))
            if len(errors) == MOST_FAULTS:
                break
    except NotCsv as fault:
        raise SceneErrors([SceneError(str(file), fault.line, "", NOTHING, str(fault), fault.allowed or _FORM)]) from None
    if header is None:
        errors.append(SceneError(str(file), 0, "", NOTHING, "holds no prices", _FORM))
    if errors:
        raise SceneErrors(errors)
    return prices


def check_prices(prices: Mapping[str, float], fabrics: Mapping[str, object]) -> None:
    """Refuses, as `read_prices` does, names that are none and numbers that are no price. raises SceneErrors"""
    known = [*HANGS, *fabrics, *load_library().finishes]
    wrong = [_wrong_row([name, str(price)], known, {}) for name, price in prices.items()]
    errors = [SceneError("prices", 0, *each) for each in wrong if each is not None]
    if errors:
        raise SceneErrors(errors)


def _wrong_row(cells: list[str], known: list[str], prices: Mapping[str, float]) -> tuple[str, object, str, str] | None:
    """(key, value, message, allowed) of what is wrong with a row; None where nothing is."""
    if len(cells) != 2:
        return "", NOTHING, f"has {len(cells)} cells", "name,price"
    name, price = cells
    if name not in known:
        near = nearest(name, known)
        hint = f": did you mean {' or '.join(near[:2])}?" if near else ""
        return "name", name, f"is no hang, nor a fabric or finish of the library{hint}", "" if near else ", ".join(HANGS)
    if name in prices:
        return "name", name, "has a price already", "each name once"
    try:
        value = float(price)
    except ValueError:
        value = math.nan
    if not 0.0 <= value <= HIGHEST_PRICE:
        return "price", price, "is no price", f"a number from 0 to {HIGHEST_PRICE:g}"
    return None
