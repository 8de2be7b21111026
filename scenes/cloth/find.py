"""Reads [[screen.fold]] and [screen.hanging] of a scene: the drape of its cloth, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath
from typing import Any

from pydantic import ValidationError

from ..model import Projector, Screen
from ..normalise import Path, RawProblem
from ..units import is_length, variants
from .checks import trouble
from .cloth import Cloth
from .hanging import hanging_of
from .kinds import KINDS
from .make import Frame, make_folds
from .mechanics import draping_length_m
from .shape import Fold
from .surface import Drape, cloth_of
from .table import MOST_FOLDS, FoldTable, HangingTable
from .unusable import UnusableMap

FOLD: Path = ("screen", "fold")


@dataclass
class Drapery:
    """The drape, the files it was read from, and problems."""

    drape: Drape = field(default_factory=Drape)
    own_files: list[FilePath] = field(default_factory=list)
    problems: list[RawProblem] = field(default_factory=list)


def find_drapery(table: dict[str, Any], screen: Screen | None, projector: Projector | None, folder: FilePath) -> Drapery:
    """What the scene `table` (lengths in metres) says of its cloth.

    Wrong types and ranges are the tables' to refuse: such entries are passed over here.
    """
    found = Drapery()
    raw = table.get("screen")
    if not isinstance(raw, dict) or screen is None:
        return found
    try:
        given = HangingTable.model_validate(raw.get("hanging", {})).model_dump()
    except ValidationError:
        given = {}
    hanging = hanging_of(screen.hang, given, width_m=screen.width_m, height_m=screen.height_m, border_m=screen.border_m)
    drop = draping_length_m(stiffness_nm=hanging.stiffness_nm, areal_weight_kg_m2=hanging.areal_weight_kg_m2)
    frame = Frame(screen.width_m, screen.height_m, hanging.lead_m, drop, folder)
    entries = raw.get("fold", [])
    folds: list[Fold] = []
    if not isinstance(entries, list) or len(entries) > MOST_FOLDS:  # the tables refuse it
        entries = []
    for index, entry in enumerate(entries):
        made = _one(entry, index, frame, found)
        found.problems += _impossible(made, index, screen, projector)
        folds += made
    if len(folds) > 1 and not found.problems:
        found.problems += _impossible(folds, None, screen, projector)
    found.drape = Drape(tuple(folds), hanging, tuple(str(path) for path in found.own_files))
    if hanging.amplitude_scale > 1.0 and not folds:
        found.problems += _scaled_too_far(replace(screen, drape=found.drape), projector)
    return found


def _scaled_too_far(screen: Screen, projector: Projector | None) -> Iterator[RawProblem]:
    """An estimate that amplitude_scale brings to the lens or makes too steep; a wall behind it only limits it."""
    wrong = trouble(cloth_of(screen, "high"), gap_to_wall_m=screen.gap_to_wall_m, lens_out_m=_lens_out_m(screen, projector))
    if wrong is not None:
        path: Path = ("screen", "hanging", "amplitude_scale")
        yield RawProblem(path, f"the high estimate of the folds, so many times as high, {wrong[0]}", wrong[1])


def _one(entry: Any, index: int, frame: Frame, found: Drapery) -> list[Fold]:
    path = (*FOLD, index)
    try:
        table = FoldTable.model_validate(entry)
    except ValidationError:
        return []
    odd = list(_odd_keys(table, entry, path))
    if odd:
        found.problems += odd
        return []
    try:
        folds = make_folds(table, frame)
    except UnusableMap as fault:
        found.problems.append(RawProblem((*path, fault.key), str(fault), fault.allowed, fault.key in entry))
        return []
    if table.file is not None:
        found.own_files.append(frame.folder / table.file)
    return list(folds)


def _odd_keys(table: FoldTable, entry: dict[str, Any], path: Path) -> Iterator[RawProblem]:
    """Keys that the kind of fold does not take, and those it needs and lacks."""
    kind = KINDS[table.kind]
    for key in entry:
        if key != "kind" and key not in (*kind.needs, *kind.takes):
            takes = ", ".join(_shown(name) for name in (*kind.needs, *kind.takes))
            yield RawProblem((*path, key), f'does not belong to a fold of kind "{table.kind}"', takes)
    for key in kind.needs:
        if key not in entry:
            ways = variants(key) if is_length(key) else (key,)
            allowed = f"one of {', '.join(ways)}" if len(ways) > 1 else ""
            yield RawProblem((*path, key), f'a fold of kind "{table.kind}" needs it', allowed, False)


def _shown(name: str) -> str:
    return f"{name.removesuffix('_m')}_mm" if is_length(name) else name


def _lens_out_m(screen: Screen, projector: Projector | None) -> float:
    return float("inf") if projector is None else max(projector.lens_m[1] - screen.gap_to_wall_m, 0.01)


def _impossible(folds: list[Fold], index: int | None, screen: Screen, projector: Projector | None) -> Iterator[RawProblem]:
    """One fold, or all together (index None), that cannot be."""
    if not folds:
        return
    cloth = Cloth(screen.width_m, screen.height_m, tuple(folds))
    wrong = trouble(cloth, gap_to_wall_m=screen.gap_to_wall_m, lens_out_m=_lens_out_m(screen, projector))
    if wrong is None:
        return
    if index is None:
        yield RawProblem(FOLD, f"all folds together: {wrong[0]}", wrong[1], False)
    else:
        yield RawProblem((*FOLD, index), f"the fold {wrong[0]}", wrong[1], False)
