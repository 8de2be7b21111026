"""Site readings from a CSV file: every row judged with its line, column and value, all faults told at once."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from ...materials.text.csv_reading import NotCsv, csv_rows
from ...materials.text.error import Error
from ...materials.text.nearest import nearest
from ...materials.text.plain import first_names
from ...materials.text.problem import MOST_FAULTS
from ...materials.text.reading import Unreadable, read_text
from ...scenes.errors import NOTHING, SceneError, SceneErrors
from ...scenes.model import Scene
from ..measuring.targets import DARK
from .meters import ASSUMED_REPEAT, UNITS, Meter, from_stated
from .site_reading import BOARDS, MIDDLE, PLACES, PLACES_OF_BOARD, Calibration, ShownPicture, SiteReading, SiteReadings

NEEDED = ("picture", "value", "unit")
COLUMNS = ("picture", "place", "seat", "light", "value", "unit", "calibration_percent", "repeat_percent", "note")
MOST_READINGS = 500
HIGHEST = 1e6  # lx or cd/m2; a projector's own lens is near it
LEAST_PERCENT, LARGEST_PERCENT = 0.001, 100.0  # no meter is surer than the least
STATED = "as the file states it, at 95 %"
_MOST_BYTES = 1_000_000
_NUMBER = re.compile(r"\d+(?:\.(\d*))?(?:[eE][+-]?\d{1,2})?|\.(\d+)", re.ASCII)
_FORM = (
    f"a CSV file with commas, a header of {', '.join(COLUMNS)} and rows; halfgain check SCENE --form FILE.csv writes an empty one"
)


class ReadingsErrors(Error, ValueError):
    """All that is wrong with a file of readings; str() is one line each: file:line: column: message (got ...; allowed ...)."""

    def __init__(self, errors: list[SceneError]) -> None:
        super().__init__(str(SceneErrors(errors)))


def read_site_csv(path: Path, scene: Scene) -> SiteReadings:
    """The readings of a file that belong to a scene, in lx and cd/m2; rows without a value are passed over and counted.

    raises  ReadingsErrors with everything that is wrong
    """
    table = _Table(str(path), scene)
    try:
        for line, cells in csv_rows(read_text(path, _MOST_BYTES, "a file of site readings", _FORM)):
            table.take(line, cells)
            if len(table.wrong) >= MOST_FAULTS or table.useless:
                break
    except (Unreadable, NotCsv) as fault:
        table.add(fault.line, "", str(fault), fault.allowed or _FORM)
    return table.finished()


def read_site_rows(rows: Iterable[Mapping[str, object]], scene: Scene, name: str = "readings") -> SiteReadings:
    """The same from rows by column; what is None, not a number, or left out is blank. Rows count from 1, as lines do.

    raises  ReadingsErrors as `read_site_csv`
    """
    rows = list(rows)
    if not all(isinstance(row, Mapping) for row in rows):
        raise ReadingsErrors([SceneError(name, 0, "", NOTHING, "holds a row that is no mapping of columns to values", _FORM)])
    each = [{str(key): _cell(value) for key, value in row.items()} for row in rows]
    header = list(dict.fromkeys(key for row in each for key in row))
    table = _Table(name, scene)
    if each:
        table.take(0, header)
    for line, row in enumerate(each if not table.useless else (), start=1):
        table.take(line, [row.get(key, "") for key in header])
        if len(table.wrong) >= MOST_FAULTS:
            break
    return table.finished()


def _cell(value: object) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    return repr(float(value)) if isinstance(value, float) else str(value).strip()


class _Table:
    """Rows as they come, what was made of them, and what is wrong."""

    def __init__(self, file: str, scene: Scene) -> None:
        self.file = file
        self.wrong: list[SceneError] = []
        self.useless = False  # without a header no row means anything
        self._seats = [seat.name for seat in scene.seats]
        self._lights = [DARK, *(light.name for light in scene.lights)]
        self._header: list[str] = []
        self._found: list[SiteReading] = []
        self._calibration: dict[Meter, tuple[float, int]] = {}
        self._blank = 0

    def add(self, line: int, key: str, message: str, allowed: str = "", value: object = NOTHING) -> None:
        """Note a fault."""
        self.wrong.append(SceneError(self.file, line, key, value, message, allowed))

    def take(self, line: int, cells: list[str]) -> None:
        """The header, or a row under it."""
        if not self._header:
            self._take_header(line, cells)
        elif len(cells) != len(self._header):
            self.add(line, "", f"has {len(cells)} cells", f"{len(self._header)}, as the header")
        else:
            self._take_row(line, dict(zip(self._header, cells, strict=True)))

    def finished(self) -> SiteReadings:
        """The readings.  raises  ReadingsErrors"""
        if not self.wrong and not self._header:
            self.add(0, "", "is empty", _FORM)
        elif not self.wrong and not self._found:
            self.add(0, "value", "no row has a value", "at least one reading")
        if len(self._found) > MOST_READINGS:
            self.add(0, "", f"has {len(self._found)} readings", f"at most {MOST_READINGS}")
        if self.wrong:
            raise ReadingsErrors(self.wrong)
        stated = {meter: Calibration(value, STATED) for meter, (value, _) in self._calibration.items()}
        used = dict.fromkeys(each.meter for each in self._found)
        return SiteReadings(
            tuple(self._found), {meter: stated.get(meter, Calibration()) for meter in used}, self.file, self._blank
        )

    def _take_header(self, line: int, cells: list[str]) -> None:
        self._header, self.useless = cells, True
        if len(cells) == 1 and cells[0].count(";") >= len(NEEDED) - 1:
            self.add(line, "header", "has semicolons", "commas between cells, points in numbers")
            return
        for name in cells:
            if name not in COLUMNS:
                near = nearest(name, COLUMNS)
                self.add(
                    line, "header", "no such column" + (f', did you mean "{near[0]}"?' if near else ""), ", ".join(COLUMNS), name
                )
            elif cells.count(name) > 1:
                self.add(line, "header", "a column stands twice", "each once", name)
        for name in NEEDED:
            if name not in cells:
                self.add(line, "header", f'column "{name}" is missing', ", ".join(NEEDED))
        self.useless = bool(self.wrong)

    def _take_row(self, line: int, row: dict[str, str]) -> None:
        if not row["value"]:
            self._blank += 1
            return
        before = len(self.wrong)
        unit = self._word(line, "unit", row["unit"], list(UNITS))
        shown = self._word(line, "picture", row["picture"], [each.value for each in ShownPicture])
        value, digit = self._value(line, row["value"])
        percents = {key: self._percent(line, key, row.get(key, "")) for key in ("calibration_percent", "repeat_percent")}
        if unit is None or shown is None:
            return
        meter, factor, picture = UNITS[unit].meter, UNITS[unit].factor, ShownPicture(shown)
        place = self._place(line, row.get("place", ""), picture)
        seat = self._seat(line, row.get("seat", ""), meter)
        light = self._word(line, "light", row.get("light", "") or DARK, self._lights)
        self._calibrate(line, meter, percents["calibration_percent"])
        if value * factor > HIGHEST:
            self.add(line, "value", "is too high for a reading", f"0 to {HIGHEST / factor:.6g} {unit}", row["value"])
        if len(self.wrong) > before or place is None or seat is None or light is None:
            return
        repeat = percents["repeat_percent"]
        own = ASSUMED_REPEAT[meter] if repeat is None else from_stated(repeat)
        self._found.append(SiteReading(meter, picture, place, seat, light, value * factor, own, digit * factor, line))

    def _word(self, line: int, key: str, text: str, known: Sequence[str]) -> str | None:
        if text in known:
            return text
        near = nearest(text, known)
        hint = f", did you mean {' or '.join(near[:2])}?" if near else ""
        self.add(line, key, ("is none of them" if text else "is missing") + hint, first_names(known, 20), text)
        return None

    def _value(self, line: int, text: str) -> tuple[float, float]:
        """A reading and its last digit, both as written: "0.10" is read to hundredths."""
        match = _NUMBER.fullmatch(text)
        if match is None or not math.isfinite(float(text)):
            self.add(line, "value", "is no reading", "a number from 0 up, with a point for its decimals", text)
            return 0.0, 0.0
        exponent = int(text.lower().partition("e")[2] or 0)
        decimals = len(match[1] or match[2] or "")
        return float(text), 10.0 ** max(-300, min(300, exponent - decimals))

    def _percent(self, line: int, key: str, text: str) -> float | None:
        if not text:
            return None
        if _NUMBER.fullmatch(text) and LEAST_PERCENT <= float(text) <= LARGEST_PERCENT:
            return float(text)
        self.add(line, key, "is no uncertainty", f"{LEAST_PERCENT:g} to {LARGEST_PERCENT:g}: +- at 95 % of the reading", text)
        return None

    def _place(self, line: int, text: str, shown: ShownPicture) -> str | None:
        if shown in BOARDS:
            return self._word(line, "place", text, PLACES_OF_BOARD)
        return self._word(line, "place", text or MIDDLE, PLACES)

    def _seat(self, line: int, text: str, meter: Meter) -> str | None:
        if meter is Meter.ILLUMINANCE:
            if text:
                self.add(line, "seat", "has no meaning: illuminance is read at the screen", "nothing", text)
            return ""
        return self._word(line, "seat", text or (self._seats[0] if len(self._seats) == 1 else ""), self._seats)

    def _calibrate(self, line: int, meter: Meter, percent: float | None) -> None:
        """One meter has one calibration: what several rows state must agree."""
        if percent is None:
            return
        value, first = self._calibration.setdefault(meter, (from_stated(percent), line))
        if value != from_stated(percent):
            message = f"is not that of line {first}: the {meter.value} meter has one calibration"
            self.add(line, "calibration_percent", message, "the same in all its rows, or only once", f"{percent:g}")
