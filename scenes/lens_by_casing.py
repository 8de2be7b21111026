"""The lens's place by its casing: casing.wall_m, what a tape measures of an ultra-short throw, and where the lens sits in the casing."""

from __future__ import annotations

from typing import Any

from .normalise import Normalised, RawProblem

AGREES_M = 0.0015  # two lengths written in mm agree
_CASING, _LENS = ("projector", "casing"), ("projector", "lens_m")


def lens_by_casing(file: Normalised) -> None:
    """Write the lens's second number [m] where the casing's distance from the screen wall is given; what is wrong joins the problems.

    lens_m may then hold [right, up], or all three where they agree. Source: wall to casing plus casing to lens.
    """
    projector = file.table.get("projector")
    casing = projector.get("casing") if isinstance(projector, dict) else None
    wall = casing.get("wall_m") if isinstance(casing, dict) else None
    if not isinstance(projector, dict) or not isinstance(casing, dict) or not _is_number(wall):
        return
    inside, lens = casing.get("lens_m"), projector.get("lens_m")
    if not isinstance(inside, list) or not _are_numbers(inside, 3):
        if inside is None:
            words = "wants lens_m beside it: where in the casing the lens sits, [right, out, up] from its corner"
            file.problems.append(RawProblem((*_CASING, "wall_m"), words))
        return
    out = wall + inside[1]
    if not isinstance(lens, list):
        return
    if _are_numbers(lens, 2):
        projector["lens_m"] = [lens[0], out, lens[1]]
    elif _are_numbers(lens, 3) and abs(lens[1] - out) > AGREES_M:
        words = f"the second number does not agree with the casing: wall_m and the lens in the casing put the lens {out:g} m out"
        file.problems.append(RawProblem(_LENS, words, f"[right, up], or {out:g} m as the second number"))


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _are_numbers(value: Any, count: int) -> bool:
    return isinstance(value, list | tuple) and len(value) == count and all(map(_is_number, value))
