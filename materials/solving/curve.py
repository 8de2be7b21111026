"""A measured gain curve: view angles, incidences, azimuths, uncertainty; read from CSV, every mistake in one clear line."""

from __future__ import annotations

import math
from dataclasses import InitVar, dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ..text.csv_reading import NotCsv, csv_rows
from ..text.error import Error
from ..text.nearest import nearest
from ..text.problem import Problem, lines_of
from ..text.reading import Unreadable, read_text
from ..text.word import check_word

Array = npt.NDArray[np.float64]

COLUMNS = ("view_deg", "gain", "incidence_deg", "azimuth_deg", "gain_sd")
RADIANS_BELOW = 1.6
LARGEST_FILE_BYTES, MOST_POINTS = 2_000_000, 20_000
ALL_DARK = ("gain", 0.0, "all gains are 0", "some gain above 0")  # what is wrong with such a curve
HEADER = f"a first line with the columns view_deg,gain and, if known, {','.join(COLUMNS[2:])}"


class CurveErrors(Error, ValueError):
    """All that is wrong in a curve; one line each."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems
        super().__init__(lines_of(problems))


@dataclass(frozen=True, eq=False)
class GainCurve:
    """Points of a gain curve, one a row.

    view_deg       angle of view from the normal [deg], -90 .. 90; below 0 is the other side: azimuth plus 180
    gain           luminance factor [1]
    incidence_deg  angle of the light from the normal [deg], 0 .. 90; it comes from the right
    azimuth_deg    of the view, from the light's side (right), anticlockwise seen from the seats [deg]: 0 the light's side,
                   180 the mirror's, 90 up
    gain_sd        standard uncertainty of the gain [1]; None: not given
    warnings       what is odd but usable, one sentence each
    angles         "degrees": they are, however small all of them may be; left out, angles below 1.6 alone are taken for radians
    raises         CurveErrors for columns that are empty or of other lengths, numbers out of range, angles that must be radians
    """

    view_deg: Array
    gain: Array
    incidence_deg: Array
    azimuth_deg: Array
    gain_sd: Array | None = None
    warnings: tuple[str, ...] = ()
    angles: InitVar[str | None] = None

    def __post_init__(self, angles: str | None) -> None:
        """Refuses what no goniometer can have read: a curve may come from a file or from code."""
        columns = {key: getattr(self, key) for key in COLUMNS if getattr(self, key) is not None}
        count = np.shape(self.view_deg)
        problems = []
        for key, column in columns.items():
            fits, allowed = _RANGES[key]
            if np.shape(column) != count or len(count) != 1:
                problems.append(
                    Problem("curve", 0, key, np.shape(column), "wrong shape", f"{len(self.view_deg)} numbers in one row")
                )
                continue
            wrong = [float(number) for number in column if not (math.isfinite(number) and fits(float(number)))]
            problems += [Problem("curve", 0, key, wrong[0], "out of range", allowed)] if wrong else []
        if not problems and count == (0,):
            problems.append(Problem("curve", 0, "", None, "the curve is empty", "at least one point"))
        if not problems and angles is None and _small(np.asarray(self.view_deg)):
            problems.append(
                Problem("curve", 0, "view_deg", float(np.max(np.abs(self.view_deg))), _RADIANS, 'angles="degrees" if not')
            )
        if problems:
            raise CurveErrors(problems)

    @property
    def oblique(self) -> bool:
        """True where some light does not come along the normal."""
        return bool(np.any(self.incidence_deg > 0.0))

    @property
    def two_planes(self) -> bool:
        """True where views at normal incidence lie in planes more than 30 [deg] apart."""
        turns = np.unique(np.mod(self.azimuth_deg[self.incidence_deg == 0.0], 180.0))
        return bool(len(turns) > 1 and np.any(np.abs(np.sin(np.radians(turns - turns[0]))) > 0.5))

    def directions(self) -> tuple[Array, Array]:
        """Unit directions [1] towards light and eye, (n, 3) each, in the fabric's frame. Source: `azimuth_deg` as above."""
        i, v, p = np.radians(self.incidence_deg), np.radians(self.view_deg), np.radians(self.azimuth_deg)
        wi = np.stack([np.sin(i), np.zeros_like(i), np.cos(i)], axis=1)
        wo = np.stack([np.sin(v) * np.cos(p), np.sin(v) * np.sin(p), np.cos(v)], axis=1)
        return wi, wo

    def scaled(self, factor: float) -> GainCurve:
        """All gains [1] times `factor`: a reference tile that gives back less than 1."""
        sd = None if self.gain_sd is None else self.gain_sd * factor
        return GainCurve(self.view_deg, self.gain * factor, self.incidence_deg, self.azimuth_deg, sd, self.warnings, "degrees")

    def at_normal(self) -> tuple[Array, Array]:
        """Gain against the absolute view angle at normal incidence, mean over sides and planes: angles [deg] and gains [1]. Source: definition."""
        use = self.incidence_deg == 0.0
        angles, gains = np.abs(self.view_deg[use]), self.gain[use]
        found = np.unique(np.round(angles, 6))
        return found, np.array([float(np.mean(gains[np.abs(angles - angle) < 1e-5])) for angle in found])


def read_curve(path: str | Path, angles: str | None = None) -> GainCurve:
    """The curve in a CSV file, its angles in [deg]; radians are converted.

    angles  "degrees" or "radians" where the user said which; None: degrees, but the question comes up if all are small
    raises  CurveErrors with every mistake: file, line, column, value, what is allowed
    """
    path = Path(path)
    name = str(path)
    try:
        text = read_text(path, LARGEST_FILE_BYTES, "a gain curve", "a CSV file")
    except Unreadable as fault:
        raise CurveErrors([Problem(name, fault.line, "", None, str(fault), fault.allowed)]) from None
    return curve_from_text(text, name, angles)


def curve_from_text(text: str, name: str = "curve", angles: str | None = None) -> GainCurve:
    """The same from a text; `name` stands in the messages.

    raises  CurveErrors with every mistake, among them fewer than 2 points, more than MOST_POINTS, a direction that comes twice
    """
    try:
        rows = [(line, cells) for line, cells in csv_rows(text) if not cells[0].startswith("#")]
    except NotCsv as fault:
        raise CurveErrors([Problem(name, fault.line, "", None, str(fault), fault.allowed or HEADER)]) from None
    if not rows:
        raise CurveErrors([Problem(name, 0, "", None, "the curve is empty", HEADER)])
    columns = _columns(rows[0], name)
    problems: list[Problem] = []
    lines, values = [], []
    for line, cells in rows[1 : MOST_POINTS + 1]:
        numbers = _numbers(line, cells, columns, name, problems)
        if numbers is not None:
            lines.append(line)
            values.append(numbers)
    if len(rows) > MOST_POINTS + 1:
        problems.append(Problem(name, 0, "", len(rows) - 1, "too many points", f"at most {MOST_POINTS:,}"))
    if not problems and len(values) < 2:
        problems.append(Problem(name, 0, "", len(values), "too few points to fit anything", "at least 2"))
    if problems:
        raise CurveErrors(problems)
    table = dict(zip(columns, np.array(values).T, strict=True))
    none = np.zeros(len(values))
    curve = GainCurve(
        table["view_deg"],
        table["gain"],
        table.get("incidence_deg", none),
        table.get("azimuth_deg", none),
        table.get("gain_sd"),
        angles="degrees",
    )
    return _checked(curve, np.array(lines), name, angles)


def _columns(row: tuple[int, list[str]], name: str) -> list[str]:
    line, cells = row
    if len(cells) == 1 and (";" in cells[0] or "\t" in cells[0]):
        raise CurveErrors([Problem(name, line, "", cells[0], "columns are separated by commas, decimals by points", HEADER)])
    problems = []
    for cell in cells:
        if cell not in COLUMNS:
            close = nearest(cell, COLUMNS)
            hint = f', did you mean "{close[0]}"?' if close else ""
            problems.append(Problem(name, line, "", cell, f"unknown column{hint}", ", ".join(COLUMNS)))
        elif cells.count(cell) > 1 and f"twice {cell}" not in [p.key for p in problems]:
            problems.append(Problem(name, line, cell, None, "this column stands there twice", "each column once"))
    problems += [Problem(name, line, key, None, "missing column", HEADER) for key in COLUMNS[:2] if key not in cells]
    if problems:
        raise CurveErrors(list(dict.fromkeys(problems)))
    return cells


_RANGES = {
    "view_deg": (lambda x: -90.0 < x < 90.0, "above -90, below 90"),
    "gain": (lambda x: x >= 0.0, "a number from 0 up"),
    "incidence_deg": (lambda x: 0.0 <= x < 90.0, "0 to below 90"),
    "azimuth_deg": (lambda x: -360.0 <= x <= 360.0, "-360 to 360"),
    "gain_sd": (lambda x: x > 0.0, "a number above 0"),
}


_RADIANS = "all angles are this small: are they radians?"


def _small(view_deg: Array) -> bool:
    """True where all of several angles would be ordinary radians, and odd degrees."""
    return bool(np.max(np.abs(view_deg)) < RADIANS_BELOW and np.ptp(view_deg) > 0.0)


def _numbers(line: int, cells: list[str], columns: list[str], name: str, problems: list[Problem]) -> list[float] | None:
    if len(cells) != len(columns):
        problems.append(Problem(name, line, "", len(cells), "wrong number of columns", f"{len(columns)}, as in the first line"))
        return None
    numbers = []
    for key, cell in zip(columns, cells, strict=True):
        fits, allowed = _RANGES[key]
        try:
            number = float(cell)
        except ValueError:
            problems.append(Problem(name, line, key, cell, "not a number", allowed))
            continue
        if not math.isfinite(number):
            problems.append(Problem(name, line, key, cell, "not a finite number", allowed))
        elif not fits(number):
            problems.append(Problem(name, line, key, number, "out of range", allowed))
        numbers.append(number)
    return numbers if len(numbers) == len(columns) else None


def _checked(curve: GainCurve, lines: npt.NDArray[np.int_], name: str, angles: str | None) -> GainCurve:
    """Degrees, no point twice, something to fit; warns of what is odd. raises CurveErrors"""
    check_word("angles", angles or "degrees", ("degrees", "radians"))
    if angles == "radians":
        if max(np.max(np.abs(curve.view_deg)), np.max(curve.incidence_deg)) >= math.pi / 2:
            raise CurveErrors([Problem(name, 0, "view_deg", None, "beyond 90 degrees, read as radians", "below pi / 2")])
        curve = GainCurve(
            np.degrees(curve.view_deg),
            curve.gain,
            np.degrees(curve.incidence_deg),
            np.degrees(curve.azimuth_deg),
            curve.gain_sd,
            angles="degrees",
        )
    elif angles is None and _small(curve.view_deg):
        largest = float(np.max(np.abs(curve.view_deg)))
        raise CurveErrors([Problem(name, 0, "view_deg", largest, _RADIANS, "say --angles-are radians or --angles-are degrees")])
    problems: list[Problem] = []
    seen: dict[tuple[float, ...], int] = {}
    for line, *place in zip(lines, *_places(curve), strict=True):
        if tuple(place) in seen:
            message = f"the same angles as in line {seen[tuple(place)]}"
            problems.append(Problem(name, int(line), "view_deg", float(place[0]), message, "each direction once"))
        seen.setdefault(tuple(place), int(line))
    if np.max(curve.gain) <= 0.0:
        problems.append(Problem(name, 0, *ALL_DARK))
    if problems:
        raise CurveErrors(problems)
    return GainCurve(
        curve.view_deg, curve.gain, curve.incidence_deg, curve.azimuth_deg, curve.gain_sd, tuple(_odd(curve)), "degrees"
    )


def _places(curve: GainCurve) -> tuple[list[float], list[float], list[float]]:
    """View, incidence and azimuth with the two ways to write a direction made one."""
    turn = np.mod(curve.azimuth_deg + np.where(curve.view_deg < 0.0, 180.0, 0.0), 360.0)
    turn = np.where(curve.view_deg == 0.0, 0.0, turn)
    view = np.abs(curve.view_deg)
    return list(np.round(view, 9)), list(np.round(curve.incidence_deg, 9)), list(np.round(turn, 9))


def _odd(curve: GainCurve) -> list[str]:
    """Warnings of a usable curve."""
    found = []
    angles, gains = curve.at_normal()
    if len(angles) == 0:
        return ["no light along the normal: the gain at normal incidence comes from the model alone"]
    if angles[0] > 10.0:
        found.append(f"the view nearest to the normal is {angles[0]:g} degrees off it: the peak gain is extrapolated")
    noise = 0.02 * float(np.max(gains))
    if curve.gain_sd is not None:
        noise = max(noise, 3.0 * float(np.median(curve.gain_sd)))
    rises = [i for i in range(1, len(gains)) if gains[i] > np.min(gains[:i]) + noise]
    if rises:
        at = f"{angles[rises[0]]:g} degrees"
        found.append(f"at normal incidence the gain rises again at {at}: no usual fabric does; check the measurement")
    return found
