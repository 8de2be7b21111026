"""What makers and readers of folds raise for a file or a shape that cannot be used."""

from __future__ import annotations

from ...materials.text.error import Error


class UnusableMap(Error):
    """A height map or scan that cannot be used; `allowed` says what would do, `key` which key of the fold is at fault."""

    def __init__(self, message: str, allowed: str = "", key: str = "file") -> None:
        super().__init__(message)
        self.allowed = allowed
        self.key = key
