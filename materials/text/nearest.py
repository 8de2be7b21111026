"""The nearest spellings of an unknown name."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest(name: str, names: Iterable[str]) -> list[str]:
    """Up to three of `names` that look like `name`, the most alike first; upper and lower case count alike.

    Source: Ratcliff and Obershelp's matching as in the standard library's difflib; a name that holds all words of the
    asked one comes after those.
    """
    by_lower = {candidate.lower(): candidate for candidate in names}
    wanted = name.lower().strip()
    found = [by_lower[low] for low in difflib.get_close_matches(wanted, by_lower, n=3, cutoff=0.6)]
    words = wanted.split()
    for low, candidate in by_lower.items():
        if words and candidate not in found and all(word in low for word in words):
            found.append(candidate)
    return found[:3]
