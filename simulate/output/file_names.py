"""File names from the names that users give to seats."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

ENDINGS = (".exr", ".png", "-luminance.png")  # of a seat's picture
_DEVICES = re.compile(r"con|prn|aux|nul|(com|lpt)[0-9¹²³]")  # Microsoft, "Naming Files, Paths, and Namespaces" (from memory)
_OWN = re.compile(
    r"plan|compare|folds|fold-multiples|fabric-models|advice|finishes|levels|flatness|gain|reflectance|lobe|light-from|residuals"
    r"|(screen|folds|before-after|seen)-.*"
)  # what other pictures in the same folder are called


def file_stems(names: Iterable[str]) -> list[str]:
    """One file-name stem for each name, in order: letters, digits, `_` and `-`, about 48 characters, no two alike.

    Alike are names that some file system takes for one: in upper and lower case, or in another Unicode form of the same letters.
    A second of a kind gets "-2"; so does a stem that is another one and "-luminance". A stem that is a device's name somewhere,
    or the name of another picture of ours, gets "seat-" before it.
    """
    stems: list[str] = []
    taken: set[str] = set()
    for name in names:
        plain = unicodedata.normalize("NFC", name)
        stem = re.sub(r"[^\w-]+", "-", plain).strip("-")[:44].strip("-") or "seat"
        if _DEVICES.fullmatch(_key(stem)) or _DEVICES.fullmatch(stem.casefold()) or _OWN.fullmatch(_key(stem)):
            stem = f"seat-{stem}"
        unique, count = stem, 1
        while taken & _keys(unique):
            count += 1
            unique = f"{stem}-{count}"
        taken |= _keys(unique)
        stems.append(unique)
    return stems


def _keys(stem: str) -> set[str]:
    """Keys of the file names that a stem stands for."""
    return {_key(stem), _key(f"{stem}-luminance")}


def _key(name: str) -> str:
    """The same for all names that a file system may take for one. Source: Unicode, NFKC of the folded upper case."""
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).upper().casefold())
