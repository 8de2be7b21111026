"""Where the lens may stand, as areas in plan and in section, and the permitted place nearest to where it is."""

from __future__ import annotations

import itertools
import math

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.model import Place
from ...scenes.remedy import rounded_within
from ...scenes.throw import ULTRA_SHORT
from .bounds import By, first_named
from .lens_place import LensPlaces, moved

CELLS = 48  # along the longer side of an area: cells of some cm, for the eye alone
_COARSE = 9  # places an axis that the first search tries
FREE = ""


@dataclass(frozen=True)
class Region:
    """Part of a plane of the room, and why the lens may not stand in each of its cells.

    across, up   axes of the plane, 0 right, 1 out, 2 up;  held_m  the third measure [m]
    low, high    corners of the rectangle that zoom, shift, walls and casing leave: (across, up) [m]
    reason       (rows from low, columns) text of `By`, "" where the lens may stand
    """

    across: int
    up: int
    held_m: float
    low: tuple[float, float]
    high: tuple[float, float]
    reason: np.ndarray

    @property
    def free_share(self) -> float:
        """Share of the rectangle where nothing stands in the way [1]. Source: cells counted."""
        return float(np.mean(self.reason == FREE))


def region(places: LensPlaces, across: int, up: int, held_m: float) -> Region | None:
    """The region in a plane of the room, the third measure held [m]; None where zoom, shift, walls and casing leave no place at all.

    Source: `LensPlaces.in_the_way` at the middle of each cell.
    """
    box = places.box()
    third = 3 - across - up
    if box is None or not box[0][third] - 1e-9 <= held_m <= box[1][third] + 1e-9:
        return None
    low, high = (box[0][across], box[0][up]), (box[1][across], box[1][up])
    size = [max(b - a, 1e-6) for a, b in zip(low, high, strict=True)]
    cell = max(size) / CELLS
    columns, rows = (max(1, math.ceil(each / cell)) for each in size)
    lenses = np.empty((rows, columns, 3))
    lenses[..., third] = held_m
    lenses[..., across] = low[0] + (np.arange(columns) + 0.5) / columns * size[0]
    lenses[..., up] = (low[1] + (np.arange(rows) + 0.5) / rows * size[1])[:, None]
    found = ((str(by), met) for by, _, met in places.in_the_way(lenses.reshape(-1, 3)))
    reason = np.array([each or FREE for each in first_named(found, rows * columns)], dtype=object).reshape(rows, columns)
    return Region(across, up, held_m, low, high, reason)


def nearest_place(places: LensPlaces) -> Place | None:
    """The permitted place of the lens nearest to where it stands [m], in whole cm where that does; None where none was found.

    Source: clamped to the box of `limits`, else the nearest of a coarse grid, then each measure brought back as far as it goes.
    A search: a small gap between things in the way may be missed.
    """
    here, box = places.optics.projector.lens_m, places.box()
    if places.fits(here):
        return here
    if box is None:
        return None
    zoom = places.optics.projector.throw_ratio
    fine = zoom is not None and zoom[0] < ULTRA_SHORT
    clamped = _rounded(tuple(min(max(x, low), high) for x, low, high in zip(here, *box, strict=True)), box, fine)
    if places.fits(clamped):
        return clamped
    lines = [np.linspace(low, high, _COARSE).tolist() for low, high in zip(*box, strict=True)]
    tried = [_rounded(each, box, fine) for each in sorted(itertools.product(*lines), key=lambda place: math.dist(place, here))]
    found = next(itertools.compress(tried, places.fit(np.array(tried))), None)
    return None if found is None else _brought_back(places, found, clamped, box, fine)


def _rounded(place: tuple[float, ...], box: tuple[Place, Place], fine: bool) -> Place:
    each = [rounded_within(low, high, x, fine=fine) for x, low, high in zip(place, *box, strict=True)]
    return (each[0], each[1], each[2])


def _brought_back(places: LensPlaces, found: Place, wanted: Place, box: tuple[Place, Place], fine: bool) -> Place:
    """The place with each measure, in turn, as near to the wanted one as stays permitted: halving steps, then again."""
    for axis in (0, 1, 2, 0, 1, 2):
        part = 1.0
        while part > 1e-3:
            nearer = moved(found, axis, found[axis] + part * (wanted[axis] - found[axis]))
            nearer = _rounded(nearer, box, fine)
            if places.fits(nearer):
                found = nearer
                break
            part *= 0.5
    return found


def why_none(places: LensPlaces) -> tuple[By, By, int] | None:
    """The two causes that leave no place on an axis, which ask for more and for less, and the axis; None where there is a place.

    Source: `LensPlaces.limits`.
    """
    for axis in (0, 1, 2):
        each = [limit for limit in places.limits if limit.axis == axis]
        low, high = max(each, key=lambda limit: limit.low_m), min(each, key=lambda limit: limit.high_m)
        if low.low_m > high.high_m:
            return low.low_by, high.high_by, axis
    return None
