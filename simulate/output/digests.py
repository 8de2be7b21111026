"""The list of digests of a folder's results: what one run wrote, so that old and new beside each other can be told apart."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from pathlib import Path

_LINE = re.compile(r"([0-9a-f]{64}) [ *](.+)")
_LARGEST_BYTES = 1_000_000


def digest_list(files: Mapping[str, bytes]) -> bytes:
    """One line a file, SHA-256 in hexadecimal and name. Source: the form that `sha256sum --check` of the GNU coreutils reads."""
    return "".join(f"{hashlib.sha256(content).hexdigest()}  {name}\n" for name, content in files.items()).encode()


def listed_digests(path: Path) -> dict[str, str]:
    """Digests by file name of such a list; none where there is no list, or one that cannot be read."""
    try:
        with path.open("rb") as file:
            lines = file.read(_LARGEST_BYTES).decode("utf-8", "replace").splitlines()
    except OSError:
        return {}
    return {found[2]: found[1] for line in lines if (found := _LINE.fullmatch(line)) and Path(found[2]).name == found[2]}


def not_as_listed(folder: Path, digests: Mapping[str, str]) -> list[str]:
    """Names of files in the folder that are not what the list says; one that is gone is not counted."""
    return [name for name, digest in digests.items() if (folder / name).is_file() and _digest(folder / name) != digest]


def _digest(path: Path) -> str:
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""
