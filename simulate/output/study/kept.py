"""A study read back from its folder, without running anything: study.json, variants.csv and the parts."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from ....materials.dataclass import dataclass
from ....materials.text.csv_reading import NotCsv, csv_rows
from ....materials.text.reading import Unreadable, read_text
from ....scenes.errors import NOTHING, SceneError, SceneErrors
from ...studies.factors import Shown
from ...studies.outcome import stacked_figure
from ...studies.outputs import OutputRow
from .document import FORMAT
from .files import DRAWS
from .folder import StudyFolder

_MOST_BYTES = 1_000_000_000
AGAIN = "run the study again with --out"


@dataclass(frozen=True)
class KeptStudy:
    """What pictures need of a study that lies in a folder; see `Findings`.

    draws    (variants, factors) as `Study.draws`
    columns  values of the factors by variant;  keys  content key of each variant, "" where it failed
    """

    title: str
    factors: tuple[str, ...]
    drawn: tuple[bool, ...]
    draws: np.ndarray
    outputs: tuple[str, ...]
    columns: Sequence[tuple[Shown, ...]]
    keys: Sequence[str]
    folder: StudyFolder

    def shown(self) -> list[tuple[Shown, ...]]:
        """The factors' values of every variant, by number - 1."""
        return list(self.columns)

    def labels(self) -> tuple[OutputRow, ...]:
        """All figures that any variant has."""
        found: dict[OutputRow, None] = {}
        for key in self.keys:
            if key:
                part, where = self.folder[key]
                found.update(dict.fromkeys(part.rows(where)))
        return tuple(found)

    def figure(self, row: OutputRow) -> np.ndarray:
        """One figure as replicates (variants, R + 2) in its unit, NaN where a variant lacks it."""
        return stacked_figure(self.keys, self.folder, row)


def kept_study(out: Path) -> KeptStudy:
    """The study in a folder. raises SceneErrors where it holds none, or one that is not whole"""
    try:
        manifest = json.loads(read_text(out / "study.json", _MOST_BYTES, "the manifest of a study"))
        if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
            raise _refused(out / "study.json", "is no manifest of a study")
        rows = [row for _, row in csv_rows(read_text(out / "variants.csv", _MOST_BYTES, "the variants of a study"))]
        return _kept(manifest, rows, StudyFolder(out), out)
    except Unreadable as fault:
        raise _refused(out, f"holds no finished study: {fault}") from None
    except NotCsv as fault:
        raise _refused(out / "variants.csv", str(fault)) from None
    except (ValueError, KeyError, TypeError, IndexError) as fault:
        raise _refused(out, f"holds no whole study ({type(fault).__name__})") from None


def _kept(manifest: dict[str, Any], rows: list[list[str]], folder: StudyFolder, out: Path) -> KeptStudy:
    factors = manifest["factors"]
    levels = [{str(each): each for each in factor["levels"]} if factor["kind"] == "levels" else None for factor in factors]
    columns, keys = [], []
    for row in rows[1:]:
        values = row[1 : 1 + len(factors)]
        columns.append(tuple(_value(value, known) for value, known in zip(values, levels, strict=True)))
        keys.append(row[-1])
    missing = sum(1 for key in keys if key and key not in folder)
    if missing:
        raise ValueError(f"{missing} variants have no part")
    drawn = tuple(factor["kind"] != "levels" or manifest["design"]["combine"] == "sampled" for factor in factors)
    return KeptStudy(
        title=str(manifest["title"]),
        factors=tuple(str(factor["name"]) for factor in factors),
        drawn=drawn,
        draws=_draws(out, [known is None for known in levels], len(keys)),
        outputs=tuple(str(each["key"]) for each in manifest["outputs"]),
        columns=columns,
        keys=keys,
        folder=folder,
    )


def _draws(out: Path, spread: Sequence[bool], variants: int) -> np.ndarray:
    """As `Study.draws`, from the shares that were drawn: other releases may draw others. raises ValueError where they are not whole"""
    found = np.full((variants, len(spread)), np.nan)
    if any(spread):
        rows = [row for _, row in csv_rows(read_text(out / DRAWS, _MOST_BYTES, "the draws of a study"))]
        points = np.array([[float(share) for share in row[1:]] for row in rows[1:]])
        if not len(points) or variants % len(points):
            raise ValueError("no whole rounds of draws")
        found[:, np.array(spread, bool)] = np.tile(points, (variants // len(points), 1))
    return found


def _value(cell: str, levels: dict[str, Shown] | None) -> Shown:
    """A cell as the factor had it: numbers of a spread, and levels by how they are written."""
    if levels is None:
        return float(cell) if cell else ""
    return levels.get(cell, levels.get(cell.removeprefix("'"), cell))


def _refused(path: Path, message: str) -> SceneErrors:
    return SceneErrors([SceneError(str(path), 0, "", NOTHING, message, AGAIN)])
