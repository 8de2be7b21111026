"""Ways to hold a screen's cloth, which of them stiff sheets are made for, and the sides that light may come from."""

from __future__ import annotations

from enum import StrEnum


class Hang(StrEnum):
    """How a fabric is held, by the words of the scene file."""

    PULL_DOWN = "pull-down"
    MOTORISED = "motorised"
    TAB_TENSIONED = "tab-tensioned"
    FIXED_FRAME = "fixed frame"

    @property
    def is_frame(self) -> bool:
        """True where a frame stretches the fabric and stays on the wall; any other hang rolls up."""
        return self is Hang.FIXED_FRAME


HANGS = tuple(Hang)
STIFF = (Hang.TAB_TENSIONED, Hang.FIXED_FRAME)  # louvred, lenticular and other stiff sheets: common practice, no source
OPPOSITE = {"above": "below", "below": "above", "left": "right", "right": "left"}
