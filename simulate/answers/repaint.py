"""What each surface costs in contrast, alone and together with the others, and which set of allowed finishes is cheapest."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.finish import Finish
from ...scenes.model import Body
from ...scenes.rooms.spots import areas_m2
from ..light.geometry import is_pieced
from ..measuring.estimate import Estimate, estimate
from ..measuring.flatten import BORDER, SCREEN_NAME
from .answers import Answers, Quick
from .polynomial import ContrastPolynomial, contrast_polynomial
from .search import MOST_NODES, Found, Option, cheapest
from .slopes import log_slopes

BLACK = Finish("black", (0.0, 0.0, 0.0))


@dataclass(frozen=True)
class SurfaceCost:
    """One surface, what it costs now; lists hold one entry a seat.

    area_m2         gross area, all faces of an object [m2]
    contrast_black, black_cd_m2   checkerboard contrast [1], black patches' luminance [cd/m2], with this surface black, no other
    contrast_alone  contrast with this surface as it is and all the others black [1]
    slope           d ln contrast / d ln reflectance [1]
    """

    name: str
    finish: Finish
    area_m2: float
    contrast_black: list[Estimate]
    black_cd_m2: list[Estimate]
    contrast_alone: list[Estimate]
    slope: list[Estimate]


@dataclass(frozen=True)
class RoomCosts:
    """A room's surfaces, dearest first, and what they do together; lists hold one entry a seat.

    contrast_now, contrast_all_black   checkerboard contrast [1];  black_now  black patches' luminance [cd/m2]
    together  (n, n) ln of the contrast factor [1] both surfaces black give beyond the product of their own, seat `worst`
    worst     seat of the least contrast now
    """

    seats: tuple[str, ...]
    surfaces: tuple[SurfaceCost, ...]
    contrast_now: list[Estimate]
    black_now: list[Estimate]
    contrast_all_black: list[Estimate]
    together: np.ndarray
    worst: int


@dataclass(frozen=True)
class Allowed:
    """A finish allowed on a surface, with its price [currency / m2], or None where area alone counts."""

    surface: str
    finish: Finish
    price_per_m2: float | None


@dataclass(frozen=True)
class Plan:
    """The cheapest set: finish by surface, the search's proof, contrast re-measured with standard errors at each seat [1].

    priced  True: costs in the list's currency, False: in repainted area [m2];  target  checkerboard contrast asked [1]
    """

    found: Found
    changes: dict[str, Finish]
    contrast: list[Estimate]
    priced: bool
    target: float


def surface_areas(answers: Answers) -> dict[str, float]:
    """Gross area of each named surface [m2]. Source: area of its patches; of a surface less its parts, of what is cut into pieces its own."""
    geometry, room = answers.arrays.geometry, answers.scene.room
    size = np.linalg.norm(np.cross(geometry.edge_u, geometry.edge_v), axis=1) * np.where(geometry.plane[:, 12] > 0, 0.5, 1.0)
    found = {name: float(size[geometry.surface == i].sum()) for i, name in enumerate(answers.arrays.surfaces)}
    if is_pieced(geometry):
        found |= areas_m2(room)
        found |= {each.name: sum(each.mesh.areas_m2().values()) for each in room.objects if isinstance(each, Body)}
    return found


def _contrasts(quick: Quick) -> list[Estimate]:
    return [estimate(quick.checkerboard[:, seat]) for seat in range(quick.checkerboard.shape[1])]


def _blacks(quick: Quick) -> list[Estimate]:
    return [estimate(quick.black[:, seat]) for seat in range(quick.black.shape[1])]


def room_costs(answers: Answers) -> RoomCosts:
    """What every surface of a room costs in contrast [1] and in black luminance [cd/m2], most costly first.

    Source: repaints of one ledger, so that differences between surfaces carry the same noise; slopes by one backward pass.
    """
    areas, now = surface_areas(answers), answers.quick()
    names = [name for name in answers.arrays.surfaces if name != SCREEN_NAME and areas[name] > 0.0]
    finishes = finishes_of(answers)
    slopes = log_slopes(answers, ("checkerboard",))["checkerboard"]
    worst = int(np.argmin(now.checkerboard[0]))
    found = []
    for name in names:
        quick = answers.with_finish(name, BLACK).quick()
        alone = answers.with_finishes({other: BLACK for other in names if other != name}).quick()
        place = answers.arrays.surfaces.index(name)
        found.append(
            SurfaceCost(
                name,
                finishes[name],
                areas[name],
                _contrasts(quick),
                _blacks(quick),
                _contrasts(alone),
                [slopes[seat][place] for seat in range(len(answers.scene.seats))],
            )
        )
    found.sort(key=lambda surface: -surface.contrast_black[worst].value)
    all_black = answers.with_finishes(dict.fromkeys(names, BLACK)).quick()
    return RoomCosts(
        seats=tuple(seat.name for seat in answers.scene.seats),
        surfaces=tuple(found),
        contrast_now=_contrasts(now),
        black_now=_blacks(now),
        contrast_all_black=_contrasts(all_black),
        together=_together(answers, [surface.name for surface in found], worst),
        worst=worst,
    )


def _together(answers: Answers, names: list[str], seat: int) -> np.ndarray:
    """ln (C of both black x C now / (C of one black x C of the other black)), (n, n); 0 on the diagonal."""
    polynomial = contrast_polynomial(answers)
    place = [answers.arrays.surfaces.index(name) for name in names]
    tables = []
    for i in place:
        for j in place:
            table = answers.reflectance.copy()
            table[[i, j]] = 0.0
            tables.append(table)
    tables.append(answers.reflectance)
    logs = np.log(polynomial.contrast(np.stack(tables))[:, seat])
    both, now = logs[:-1].reshape(len(place), len(place)), logs[-1]
    one = np.diag(both)
    together = both + now - one[:, None] - one[None, :]
    np.fill_diagonal(together, 0.0)
    return together


def finishes_of(answers: Answers) -> dict[str, Finish]:
    """Finish of every surface by name."""
    scene = answers.scene
    return {**scene.room.finishes, BORDER: scene.screen.border_finish}


def cheapest_repaint(answers: Answers, allowed: Sequence[Allowed], target: float, *, most_nodes: int = MOST_NODES) -> Plan:
    """Cheapest allowed set that reaches a checkerboard contrast [1] at every seat; leaving a surface as it is costs nothing.

    allowed   with all prices, or with none: then the repainted area [m2] is the cost
    raises    ValueError for a mixture of both
    Source: search.cheapest on the ledger's own mean; the choice is then measured again with its standard error.
    """
    priced = [entry.price_per_m2 is not None for entry in allowed]
    if any(priced) and not all(priced):
        raise ValueError("some finishes have a price and some have none; allowed: all or none")
    areas, now = surface_areas(answers), finishes_of(answers)
    by_surface: dict[str, list[Allowed]] = {}
    for entry in allowed:
        by_surface.setdefault(entry.surface, []).append(entry)
    # the surfaces that matter most are decided first: the search then sees early what cannot work
    order = sorted(by_surface, key=lambda name: -areas[name] * now[name].luminous)
    table, polynomial = allowed_polynomial(answers, allowed)
    channels = table.shape[1]
    options = [
        [Option("", table[answers.arrays.surfaces.index(name)], 0.0)]
        + [
            Option(
                entry.finish.name,
                np.array(entry.finish.reflectance)[:channels],
                areas[name] * (1.0 if entry.price_per_m2 is None else entry.price_per_m2),
            )
            for entry in by_surface[name]
        ]
        for name in order
    ]
    free = [answers.arrays.surfaces.index(name) for name in order]
    found = cheapest(polynomial.folded(table, free), table, free, options, target, most_nodes=most_nodes)
    changes: dict[str, Finish] = {}
    if found.choice is not None:
        changes = {name: by_surface[name][i - 1].finish for name, i in zip(order, found.choice, strict=True) if i > 0}
    return Plan(found, changes, _contrasts(answers.with_finishes(changes).quick()), all(priced) and bool(priced), target)


def allowed_polynomial(answers: Answers, allowed: Sequence[Allowed]) -> tuple[np.ndarray, ContrastPolynomial]:
    """Reflectances now (surfaces, C) [1], and the contrast polynomial in as many channels; C is 3 where an allowed finish has colour."""
    table, channels = _table(answers, allowed)
    polynomial = contrast_polynomial(answers)
    if channels > len(polynomial.channel):
        polynomial = polynomial._replace(channel=_colour_weights(polynomial.channel))
    return table, polynomial


def _table(answers: Answers, allowed: Sequence[Allowed]) -> tuple[np.ndarray, int]:
    """Reflectances now (surfaces, C), in colour where the room or an allowed finish has any."""
    table = answers.reflectance
    coloured = table.shape[1] == 3 or any(len(set(entry.finish.reflectance)) > 1 for entry in allowed)
    return (np.repeat(table, 3, axis=1) if coloured and table.shape[1] == 1 else table), 3 if coloured else 1


def _colour_weights(channel: np.ndarray) -> np.ndarray:
    from ...materials.tint import LUMINANCE_WEIGHTS

    return channel[0] * np.array(LUMINANCE_WEIGHTS)


__all__ = [
    "Allowed",
    "Plan",
    "RoomCosts",
    "SurfaceCost",
    "allowed_polynomial",
    "cheapest_repaint",
    "finishes_of",
    "room_costs",
    "surface_areas",
]
