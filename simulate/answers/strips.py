"""Strips and rugs: how much of a surface, from the screen wall outwards, is worth another finish, from the paths of one ledger."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.finish import Finish
from ...scenes.model import SurfacePart
from ...scenes.rooms.spots import areas_m2
from ..light.ledger import PLACES
from ..measuring.estimate import Estimate, estimate, replicates
from .answers import Answers, Quick, quick_figures
from .repaint import Allowed

MOST_OF_IT = 0.8  # share of what the whole surface would give, in the logarithm of contrast (our own choice)
STEP_M = 0.05
LEAST_GAIN = 0.03  # relative, of the whole surface: less is not worth a strip (our own choice)
_NAME = "a strip of its own"


@dataclass(frozen=True)
class Strip:
    """A surface from the screen wall out to `out_m` [m] in another finish; contrast at the worst seat [1].

    whole  the same with all of the surface in it;  area_m2 of the strip, whole_m2 of the surface
    price_per_m2  in the list's currency, None where the list has none
    """

    surface: str
    finish: Finish
    out_m: float
    area_m2: float
    whole_m2: float
    price_per_m2: float | None
    contrast: Estimate
    whole: Estimate

    @property
    def price(self) -> float | None:
        """Of the strip, in the list's currency."""
        return None if self.price_per_m2 is None else self.price_per_m2 * self.area_m2


def strips(answers: Answers, allowed: Sequence[Allowed]) -> list[Strip]:
    """For each surface with an allowed finish the narrowest strip that gives MOST_OF_IT of what all of it would, the best first.

    allowed  finishes by surface; of each the darkest is tried; surfaces that all lie against the screen wall have no strips
    Source: hits of the ledger within the strip count as a surface of their own; bisection, contrast rises with the width.
    """
    darkest: dict[str, Allowed] = {}
    for each in allowed:
        if each.surface not in darkest or each.finish.luminous < darkest[each.surface].finish.luminous:
            darkest[each.surface] = each
    found = [strip for each in darkest.values() if (strip := _strip(answers, each)) is not None]
    return sorted(found, key=lambda strip: -strip.contrast.value)


def _strip(answers: Answers, entry: Allowed) -> Strip | None:
    room = answers.scene.room
    if entry.surface not in room.surfaces:
        return None
    out = _out_of_hits(answers, entry.surface)
    now, all_of_it = (
        _worst(_with_strip(answers, out, -1.0, entry.finish)),
        _worst(_with_strip(answers, out, math.inf, entry.finish)),
    )
    reach = float(out[np.isfinite(out)].max(initial=0.0))
    if all_of_it.value < (1.0 + LEAST_GAIN) * now.value or reach < 2.0 * STEP_M:
        return None
    wanted = now.value * (all_of_it.value / now.value) ** MOST_OF_IT
    low, high = 0, math.ceil(reach / STEP_M)
    while high - low > 1:
        middle = (low + high) // 2
        if _worst(_with_strip(answers, out, middle * STEP_M, entry.finish)).value >= wanted:
            high = middle
        else:
            low = middle
    width = round(high * STEP_M, 4)
    area = _area_m2(answers, entry, width)
    whole = areas_m2(room)[entry.surface]
    if area <= 0.0 or area > 0.9 * whole:  # a strip that is nearly all of it is none
        return None
    contrast = _worst(_with_strip(answers, out, width, entry.finish))
    return Strip(entry.surface, entry.finish, width, area, whole, entry.price_per_m2, contrast, all_of_it)


def part_of(strip: Strip) -> SurfacePart:
    """The strip as a part of a surface, as a scene file would state it. Source: definition."""
    everywhere = (-math.inf, math.inf)
    return SurfacePart(_NAME, strip.surface, (everywhere, (0.0, strip.out_m), everywhere), strip.finish)


def _area_m2(answers: Answers, entry: Allowed, width: float) -> float:
    everywhere = (-math.inf, math.inf)
    part = SurfacePart(_NAME, entry.surface, (everywhere, (0.0, width), everywhere), entry.finish)
    room = answers.scene.room
    return areas_m2(replace(room, parts=(part, *room.parts))).get(_NAME, 0.0)


def _out_of_hits(answers: Answers, surface: str) -> np.ndarray:
    """How far out from the screen wall each hit of the ledger on a surface lies (H,) [m], infinite for hits on others."""
    ledger, geometry = answers.stage.ledger, answers.arrays.geometry
    mine = geometry.surface[ledger.patch] == answers.arrays.surfaces.index(surface)
    patch, out = ledger.patch[mine], np.full(len(ledger.patch), np.inf)
    u, v = ledger.u[mine] / PLACES, ledger.v[mine] / PLACES
    out[mine] = -(geometry.corner[patch, 1] + u * geometry.edge_u[patch, 1] + v * geometry.edge_v[patch, 1])
    return out


def _with_strip(answers: Answers, out: np.ndarray, width: float, finish: Finish) -> Quick:
    """Figures with what lies nearer to the screen wall than `width` [m] in another finish."""
    table = answers.reflectance
    channels = np.broadcast_to(np.array(finish.reflectance), 3)[: table.shape[1]]
    more = np.vstack([table, channels[None]])
    facts = answers.facts
    surface = np.where(np.isfinite(out) & (out <= width), len(table), facts.surface).astype(facts.surface.dtype)
    sums = answers.stage.sums(facts._replace(surface=surface), more).sum(axis=3, keepdims=True)
    stack = answers.spread_out(replicates(sums[..., :2, :], sums[..., 2:, :].mean(axis=0)))
    return quick_figures(answers.seats(stack, whole=False))


def _worst(quick: Quick) -> Estimate:
    """Checkerboard contrast [1] at the seat that has least."""
    return estimate(quick.checkerboard[:, int(np.argmin(quick.checkerboard[0]))])
