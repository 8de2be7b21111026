"""From a ratio to a verdict in words, with its margin."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

NOT_VISIBLE, BORDERLINE, VISIBLE = "not visible", "borderline", "visible"
LOW, HIGH = 0.7, 1.5
FAINT = 1e-3  # nearer to nothing no figure is told
STATED_FOR = (
    "for an even bright field, the hardest case; picture content raises thresholds 2 to 5 times, a pan or a moving camera halves "
    "them (common practice, no source); the dark border beside the picture is not counted as masking"
)


class FoldVerdict(NamedTuple):
    """A verdict: what it is, and how far: ratio to the threshold [1], and the share of observers who would see it [1]."""

    word: str
    ratio: float
    seen_by: float

    @property
    def margin(self) -> str:
        """The distance to the threshold in words."""
        if self.ratio <= 0.0:
            return "nothing there"
        if self.ratio < FAINT:
            return f"less than 1/{1.0 / FAINT:.0f} of the threshold"
        if self.ratio >= 1.0:
            return f"{_two_digits(self.ratio)} times the threshold"
        return f"1/{_two_digits(1.0 / self.ratio)} of the threshold"


def _two_digits(value: float) -> str:
    """A number of at least 1 to two digits, never in powers of ten."""
    return f"{float(f'{value:.2g}'):.0f}" if value >= 10.0 else f"{value:.2g}"


def verdict(ratio: float) -> FoldVerdict:
    """Verdict on a ratio to the threshold [1]: below 0.7 not visible, above 1.5 visible, else borderline.

    Source: P = 1 - exp(-ln 2 ratio^3.5), a Weibull curve that gives half of the observers at the threshold (Quick 1974, from
    memory); 0.7 and 1.5 are the project's own choice: 18 % and 94 % of observers.
    """
    word = NOT_VISIBLE if ratio < LOW else (BORDERLINE if ratio <= HIGH else VISIBLE)
    return FoldVerdict(word, float(ratio), float(-np.expm1(-np.log(2.0) * float(ratio) ** 3.5)))
