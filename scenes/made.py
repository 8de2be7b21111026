"""Materials made in code, standing in a parsed scene file where it would have a name or a table."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import Enum
from typing import Any

import numpy as np

from ..materials.fabric import Fabric
from ..materials.finish import Finish
from .digest import digest_of
from .errors import NOTHING, SceneError, SceneErrors, key_text
from .normalise import Path

Material = Fabric | Finish
_PLAIN = (str, float, int, bool)  # nearly all that a file holds


def taken_out(table: Mapping[str, Any]) -> tuple[dict[str, Any], dict[Path, Material]]:
    """A copy of a parsed file with the names of its made materials in their places, and these by their places."""
    made: dict[Path, Material] = {}

    def name(path: Path, material: Material) -> str:
        made[path] = material
        return material.name

    return _replaced(table, (), name), made


def with_digests(table: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of a parsed file with name and hash of its made materials in their places: for the hash of the whole."""
    return _replaced(table, (), lambda _, material: {"name": material.name, "sha256": digest_of(material)})


def spelt_out(table: Mapping[str, Any], file: str) -> dict[str, Any]:
    """A copy of a parsed file with its made materials as tables, as a file can hold them.

    raises  SceneErrors for a fabric that was not made from a table's keys
    """

    def keys(path: Path, material: Material) -> dict[str, Any]:
        if isinstance(material, Finish):
            own: dict[str, Any] = {"name": material.name, "reflectance": list(material.reflectance), "source": material.source}
            return own | (
                {"absorption": {str(band): x for band, x in material.absorption.items()}} if material.absorption else {}
            )
        if material.stated is None:
            message = f'the numbers of "{material.name}" stand in no table: it was put together in code'
            raise SceneErrors(
                [SceneError(file, 0, key_text(path), NOTHING, message, "a fabric of a library, of `fabric` or of a fit")]
            )
        return {**material.stated, "name": material.name}

    return _replaced(table, (), keys)


def _replaced(value: Any, path: Path, other: Callable[[Path, Material], Any]) -> Any:
    if type(value) in _PLAIN:
        return value
    if isinstance(value, Fabric | Finish):
        return other(path, value)
    if isinstance(value, Enum):  # a word of the program's own, such as a hang
        return value.value
    if isinstance(value, np.generic | np.ndarray):
        return value.tolist()
    if isinstance(value, Mapping):
        return {key: _replaced(item, (*path, key), other) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_replaced(item, (*path, i), other) for i, item in enumerate(value)]
    return value
