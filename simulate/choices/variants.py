"""The variants of a scene: every combination of the axes' choices, each loaded as a file of its own would be."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from pathlib import Path as FilePath
from typing import Any

from ...materials.dataclass import dataclass
from ...scenes.change import document_of
from ...scenes.changes import Change, changed, refuse, written_path
from ...scenes.errors import SceneError, SceneErrors, key_text
from ...scenes.load import load_scene, scene_from_document
from ...scenes.model import Document as SceneDocument
from ...scenes.model import Scene
from .axes import Axis, Setting

MOST_VARIANTS = 64
_SPEAKING = ("fabric", "hang", "variant", "size", "fabric model")  # choices that need no axis name beside them


@dataclass(frozen=True)
class Variant:
    """One scene of a comparison.

    label    its name;  picks  the label of its choice on each axis, in the axes' order
    changes  what it changes in the scene file
    """

    label: str
    picks: tuple[str, ...]
    changes: tuple[Change, ...]
    scene: Scene


@dataclass(frozen=True)
class VariantText:
    """A scene's file: its parsed text, the name the user gave it, and the folder its own files lie in."""

    table: Mapping[str, Any]
    name: str
    folder: FilePath
    scene: Scene

    def with_changes(self, changes: Sequence[Change], label: str) -> Scene:
        """The scene with changes made, loaded and checked anew.

        raises SceneErrors that name the option which brought the error in, or else the variant
        """
        if not changes:
            return self.scene
        table = changed(self.table, changes)
        try:
            return scene_from_document(SceneDocument(table, self.name, self.folder))
        except SceneErrors as fault:
            raise SceneErrors([_told(error, table, changes, f"{self.name} with {label}") for error in fault.errors]) from None


def read_document(name: str) -> VariantText:
    """The document of a scene file or library scene. raises SceneErrors as the loader does"""
    return document_of_scene(load_scene(name))


def document_of_scene(scene: Scene) -> VariantText:
    """The document of a loaded or changed scene. raises SceneErrors for a scene put together in code"""
    made_of = document_of(scene)
    return VariantText(made_of.table, made_of.name, made_of.folder, scene)


def variants_of(document: VariantText, axes: Sequence[Axis]) -> list[Variant]:
    """Every combination of the axes' choices, the last axis running fastest; the first one is the reference.

    raises SceneErrors with all that the loader refuses in any of them, each once, or for more than MOST_VARIANTS
    """
    count = 1
    for axis in axes:
        count *= len(axis.choices)
    if count > MOST_VARIANTS:
        raise refuse("halfgain", f"{count} variants are too many for one comparison", allowed=f"at most {MOST_VARIANTS}")
    found: list[Variant] = []
    errors: list[SceneError] = []
    for picks in itertools.product(*(axis.choices for axis in axes)):
        label = variant_label(axes, picks)
        changes = tuple(change for choice in picks for change in choice.changes)
        try:
            scene = document.with_changes(changes, label)
        except SceneErrors as fault:
            errors += [error for error in fault.errors if not any(_same(error, known) for known in errors)]
            continue
        found.append(Variant(label, tuple(choice.label for choice in picks), changes, scene))
    if errors:
        raise SceneErrors(errors)
    return found


def variant_label(axes: Sequence[Axis], picks: Sequence[Setting]) -> str:
    """Name of a combination: its choices; those of fabric and hang speak for themselves, others name their axis."""
    return ", ".join(
        choice.label if axis.name in _SPEAKING else f"{_short(axis.name)} {choice.label}"
        for axis, choice in zip(axes, picks, strict=True)
    )


def _short(name: str) -> str:
    return name.rsplit(".", 1)[-1]


def _same(one: SceneError, other: SceneError) -> bool:
    return (one.key, one.message, str(one.value)) == (other.key, other.message, str(other.value))


def _told(error: SceneError, table: dict[str, Any], changes: Sequence[Change], whole: str) -> SceneError:
    """A loader's error in the user's terms: the option at fault where it stands there, else the variant; no line."""
    for change in changes:
        place = key_text(written_path(table, change.path))
        if error.key == place or error.key.startswith((place + ".", place + "[")):
            return SceneError(change.option, 0, error.key, error.value, error.message, error.allowed)
    return SceneError(whole, 0, error.key, error.value, error.message, error.allowed)
