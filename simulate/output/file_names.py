"""File names from the names that users give to seats."""
from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable


def file_stems(names: Iterable[str]) -> list[str]:
    """One file-name stem for each name, in order: letters, digits, `_` and `-`, about 48 characters, no two alike.

    Upper and lower case count alike, as some file systems take them; a second of a kind gets "-2".
    """
    stems: list[str] = []
    taken: set[str] = set()
    for name in names:
        plain = unicodedata.normalize("NFC", name)
        stem = re.sub(r"[^\w-]+", "-", plain).strip("-")[:44].strip("-") or "seat"
        unique, count = stem, 1
        while unique.casefold() in taken:
            count += 1
            unique = f"{stem}-{count}"
        taken.add(unique.casefold())
        stems.append(unique)
    return stems
