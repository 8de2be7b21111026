"""What a fabric cannot be, in the user's words."""

from __future__ import annotations

from dataclasses import dataclass

from .text.error import Error


@dataclass(eq=False)
class FabricError(Error, ValueError):
    """A fabric that cannot be: which key, its value, what is allowed, and why."""

    key: str
    value: object
    allowed: str
    message: str

    def __str__(self) -> str:
        return f"{self.key}: {self.message} (got {self.value}; allowed {self.allowed})"
