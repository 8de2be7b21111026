"""Writing a command's files into its folder, and saying so."""
from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from .stdout import note


def write_told(out: Path | None, files: Mapping[str, bytes], what: str = "files") -> None:
    """Files by name into a folder, whole or not at all, with a line on stderr; nothing where no folder is asked for.

    raises  OSError as `write_folder`
    """
    if out is None:
        return
    from ..output.writing import write_folder

    write_folder(out, files)
    note(f"halfgain: wrote {len(files)} {what} to {out}")
