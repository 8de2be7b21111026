"""Reads [[lamp]], [[window]] and [[light]] of a scene: what they are, and what is wrong with each by itself."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from ..errors import NOTHING, SceneError
from ..normalise import Path, RawProblem
from ..units import is_length, variants
from .colour import WHITE, Colour, of_luminance_one, of_temperature
from .kinds import COMMON, KINDS, generic, keys_of
from .model import DOWN, Lamp, Place, Span, Window
from .photometry import Photometry
from .read import read_photometry
from .table import LEAST_LM, MOST_LM, LampTable, LightTable, WindowTable
from .unusable import UnusablePhotometry

GLASS = 0.7  # diffuse transmission of clear double glazing, 0.7 to 0.75 (CIBSE Guide A, from memory)
EVERY_SPAN = ("right_m", "out_m", "up_m")
SPANS = {  # of the usual surfaces; of others any two
    "front": ("right_m", "up_m"),
    "back": ("right_m", "up_m"),
    "left": ("out_m", "up_m"),
    "right": ("out_m", "up_m"),
    "ceiling": ("right_m", "out_m"),
    "floor": ("right_m", "out_m"),
}
T = TypeVar("T", bound=BaseModel)


@dataclass
class RoomLights:
    """Sound lamps and windows by their place in the file; names of all, faulty ones too; files, notes, what is wrong."""

    lamps: dict[int, Lamp] = field(default_factory=dict)
    windows: dict[int, Window] = field(default_factory=dict)
    names: dict[str, list[str]] = field(default_factory=dict)
    own_files: list[FilePath] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    problems: list[RawProblem] = field(default_factory=list)
    errors: list[SceneError] = field(default_factory=list)


def find_lighting(table: dict[str, Any], folder: FilePath) -> RoomLights:
    """What the scene `table` (lengths in metres) says of its lamps, windows and light states.

    Wrong types and ranges are the tables' to refuse: such entries are passed over here.
    """
    found = RoomLights(names={kind: _names(table.get(kind)) for kind in ("lamp", "window")})
    for index, lamp in _entries(table.get("lamp"), LampTable):
        _lamp(lamp, index, table["lamp"][index], folder, found)
    for index, window in _entries(table.get("window"), WindowTable):
        _window(window, index, table["window"][index], found)
    for index, light in _entries(table.get("light"), LightTable):
        if light.screen_lx is None and not light.lamps and not light.windows:
            found.problems.append(
                RawProblem(("light", index, "screen_lx"), "is missing: give screen_lx, lamps or windows", "", False)
            )
    return found


def _names(raw: Any) -> list[str]:
    entries = [entry.get("name") for entry in raw if isinstance(entry, dict)] if isinstance(raw, list) else []
    return [name for name in entries if isinstance(name, str)]


def _entries(raw: Any, model: type[T]) -> Iterator[tuple[int, T]]:
    for index, entry in enumerate(raw if isinstance(raw, list) else []):
        try:
            yield index, model.model_validate(entry)
        except ValidationError:
            continue


def _lamp(table: LampTable, index: int, entry: dict[str, Any], folder: FilePath, found: RoomLights) -> None:
    path: Path = ("lamp", index)
    before = len(found.problems) + len(found.errors)
    found.problems += _odd_keys(table, entry, path)
    colour = _colour(table.colour, table.colour_temperature_k, path, found)
    aim = table.aim or DOWN
    if not math.hypot(*aim) > 1e-9:
        found.problems.append(RawProblem((*path, "aim"), "has no direction", "three numbers that are not all 0"))
    if table.end_m is not None and math.dist(table.place_m, table.end_m) < 0.01:
        found.problems.append(RawProblem((*path, "end_m"), "is where the strip begins", "at least 1 cm away from place"))
    if len(found.problems) + len(found.errors) > before:
        return
    if table.photometry is None:
        photometry, words = generic(table)
    else:
        read = _from_file(table, table.photometry, aim, path, folder, found)
        if read is None:
            return
        photometry, words = read
    found.lamps[index] = Lamp(
        table.name, table.place_m, photometry, words, aim, table.turn_deg or 0.0, table.end_m, colour, table.photometry
    )


def _odd_keys(table: LampTable, entry: dict[str, Any], path: Path) -> Iterator[RawProblem]:
    """A lamp is of a kind or of a file, and takes the keys of that alone."""
    if (table.kind is None) == (table.photometry is None):
        message = "is missing: give kind or photometry" if table.kind is None else "stands beside photometry: give one of them"
        yield RawProblem((*path, "kind"), message, ", ".join(KINDS), table.kind is not None)
        return
    kind = keys_of(table)
    what = "of a photometric file" if table.kind is None else f'of kind "{table.kind}"'
    known = ("photometry" if table.kind is None else "kind", *COMMON, *kind.needs, *kind.takes)
    for key in entry:
        if key not in known:
            yield RawProblem((*path, key), f"does not belong to a lamp {what}", ", ".join(known))
    for key in kind.needs:
        if key not in entry:
            allowed = f"one of {', '.join(variants(key))}" if is_length(key) else ""
            yield RawProblem((*path, key), f"a lamp {what} needs it", allowed, False)


def _colour(rgb: Colour | None, kelvin: float | None, path: Path, found: RoomLights) -> Colour:
    """Linear RGB of luminance 1."""
    if rgb is not None and kelvin is not None:
        found.problems.append(RawProblem((*path, "colour"), "stands beside colour_temperature_k: give one of them"))
    if rgb is not None and not max(rgb) > 0.0:
        found.problems.append(RawProblem((*path, "colour"), "is black: no light has this colour", "at least one number above 0"))
        return WHITE
    return of_luminance_one(rgb) if rgb is not None else WHITE if kelvin is None else of_temperature(kelvin)


def _from_file(
    table: LampTable, name: str, aim: Place, path: Path, folder: FilePath, found: RoomLights
) -> tuple[Photometry, str] | None:
    """Photometry of a file at the lamp's own output, and words for it; None where it cannot be used."""
    file = folder / name
    try:
        luminaire = read_photometry(file)
    except UnusablePhotometry as fault:
        if fault.line == 0 and not fault.key:  # the file itself: the scene names it
            found.problems.append(RawProblem((*path, "photometry"), str(fault), fault.allowed))
        else:
            value = NOTHING if fault.value is None else fault.value
            found.errors.append(SceneError(str(file), fault.line, fault.key, value, str(fault), fault.allowed))
        return None
    found.own_files.append(file)
    tilt = math.degrees(math.acos(min(1.0, max(-1.0, -aim[2] / math.hypot(*aim)))))
    try:
        factor = luminaire.tilt.factor(tilt)
    except UnusablePhotometry as fault:
        found.problems.append(RawProblem((*path, "photometry"), str(fault), fault.allowed))
        return None
    if not factor > 0.0:
        found.problems.append(RawProblem((*path, "photometry"), f"says that the lamp is dark when tilted by {tilt:.0f} deg"))
        return None
    photometry = luminaire.photometry.scaled(factor)
    found.notes += [f'lamp "{table.name}": {remark}' for remark in photometry.remarks]
    if table.light_output_lm is not None:
        photometry = photometry.scaled(table.light_output_lm / photometry.flux_lm)
    if not LEAST_LM <= photometry.flux_lm <= MOST_LM:
        said = f"gives {photometry.flux_lm:.3g} lm: its multiplier or its units are wrong, or light_output_lm is to be stated"
        found.problems.append(RawProblem((*path, "photometry"), said, f"{LEAST_LM:g} to {MOST_LM:,.0f} lm".replace(",", " ")))
        return None
    return photometry, f"{name}, {photometry.flux_lm:.0f} lm"


def _window(table: WindowTable, index: int, entry: dict[str, Any], found: RoomLights) -> None:
    path: Path = ("window", index)
    before = len(found.problems)
    needed = SPANS.get(table.surface)
    if needed is None and sum(getattr(table, key) is not None for key in EVERY_SPAN) != 2:
        found.problems.append(
            RawProblem(path, f"a window in {table.surface} has two spans", f"two of {', '.join(EVERY_SPAN)}", False)
        )
    for key in EVERY_SPAN:
        span: Span | None = getattr(table, key)
        if needed is not None and (span is None) == (key in needed):
            message = "is missing" if span is None else "says nothing"
            found.problems.append(
                RawProblem((*path, key), f"{message} for a window in {table.surface}", " and ".join(needed), span is not None)
            )
        elif span is not None and not span[1] - span[0] >= 0.01:
            found.problems.append(
                RawProblem((*path, key), "should be [from, to]", "two places at least 1 cm apart, the smaller first")
            )
    if (table.luminance_cd_m2 is None) == (table.outdoor_lx is None):
        message = "is missing: give luminance_cd_m2 or outdoor_lx" if table.outdoor_lx is None else "stands beside outdoor_lx"
        found.problems.append(RawProblem((*path, "luminance_cd_m2"), message, "one of them", table.outdoor_lx is not None))
    if table.transmission is not None and table.outdoor_lx is None:
        found.problems.append(RawProblem((*path, "transmission"), "goes with outdoor_lx: a luminance is that seen from inside"))
    colour = _colour(table.colour, table.colour_temperature_k, path, found)
    if len(found.problems) > before:
        return
    luminance = table.luminance_cd_m2
    if luminance is None:  # an even half-space of luminance L puts pi L on the pane (Lambert)
        glass = GLASS if table.transmission is None else table.transmission
        luminance = glass * (table.outdoor_lx or 0.0) / math.pi
        if table.transmission is None:
            found.notes.append(f'transmission of window "{table.name}" is left out: {GLASS:g} is taken')
    found.windows[index] = Window(
        table.name, table.surface, luminance, table.right_m, table.out_m, table.up_m, table.blind_transmission, colour
    )
