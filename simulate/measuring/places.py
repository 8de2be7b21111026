"""Where on the picture its sides are read, as shares of its width in from the side edges, at half its height."""

from __future__ import annotations

# Source: ISO/IEC 21118: the nine points are the centres of a 3 x 3 division of the picture.
SIDE_INSET = 1.0 / 6.0
# Source: SMPTE ST 196M-2003: sides and corners are measured 5 % of the screen's width in from its edges (read second-hand, in a text
# that quotes it); that SMPTE ST 431-1, which took its ranges over, means the same places is from memory.
EDGE_INSET = 0.05


def inset_words(inset: float) -> str:
    """A place in a few words for the head of a column: "5 % in"."""
    return f"{100.0 * inset:.3g} % in"
