"""The levels of an estimate of folds: a low, a typical and a high shape of the cloth."""

from __future__ import annotations

from typing import Final, Literal

from ...materials.text.word import check_word

Level = Literal["low", "typical", "high"]
LEVELS: Final[tuple[Level, ...]] = ("low", "typical", "high")


def check_level(level: object) -> None:
    """raises UnknownWord, a ValueError, for anything but a word of LEVELS: a misspelt level is no flat cloth."""
    check_word("level of folds", level, LEVELS)
