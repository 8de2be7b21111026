"""The scene as built, as a file: what was changed stands above, and beside each key why."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ....materials.text.toml_lines import key_lines, line_of
from ....materials.text.toml_text import toml_document
from ....scenes.change import document_of
from ....scenes.changes import path_of, written_path
from ....scenes.made import spelt_out
from ...commissioning.check import Check
from ...commissioning.correction import KeyChange
from ...commissioning.parameter import ParameterKind
from ..own_kind import AS_BUILT_MARK
from . import words


def corrected_text(check: Check, folder: Path) -> str:
    """The corrected scene as TOML text for a file in a folder, with comments on every key that was changed.

    folder  where it will stand: files that the scene names beside it are named from there
    raises  SceneErrors for a scene that stands in no file
    """
    document = document_of(check.corrected)
    table = _moved(spelt_out(document.table, check.corrected.path), document.folder, folder)
    lines = toml_document(table).splitlines()
    places = key_lines("\n".join(lines))
    for change in check.correction.changes:
        at = line_of(written_path(table, path_of(change.key, change.key)), places)
        lines[at - 1] += f"  # {_why(check, change)}"
    return "\n".join([*_head(check), "", *lines]) + "\n"


def _head(check: Check) -> list[str]:
    said = [f"{AS_BUILT_MARK} from {len(check.compared)} readings on site. {words.headline(check)}"]
    if not check.correction.changes:
        return [*said, "# Nothing was changed: the readings agree with what was stated."]
    said.append(
        "# Changed, each with the reason beside it: " + ", ".join(change.key for change in check.correction.changes) + "."
    )
    return [_one_line(text) for text in (*said, *(f"# {words.pair_words(check, pair)}" for pair in check.pairs))]


def _why(check: Check, change: KeyChange) -> str:
    each = change.by
    alone = "" if not each.only_with else f"; known only with {', '.join(each.only_with)}, shared out by what was held beforehand"
    what = "gain and albedo alike, " if each.parameter.kind is ParameterKind.GAIN else ""
    return _one_line(f"{words.stated(each)}; {what}{words.built(change)}; by the readings {words.interval(each)}{alone}")


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _moved(table: Mapping[str, Any], old: Path, new: Path) -> dict[str, Any]:
    """A parsed scene whose own files are named from another folder."""

    def renamed(name: str) -> str:
        return name if os.path.isabs(name) else Path(os.path.relpath((old / name).resolve(), new.resolve())).as_posix()

    found = dict(table)
    if found.get("libraries"):
        found["libraries"] = [renamed(name) for name in found["libraries"]]
    screen = found.get("screen", {})
    if any("file" in fold for fold in screen.get("fold", [])):
        folds = [{**fold, "file": renamed(fold["file"])} if "file" in fold else fold for fold in screen["fold"]]
        found["screen"] = {**screen, "fold": folds}
    return found
