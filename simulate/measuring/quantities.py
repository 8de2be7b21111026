"""The registry of what is read at a seat: each quantity once, with its names, its unit and its formula.

Every output (JSON, tables, CSV, comparison, page, Python) takes names and values from here: a new column is one new entry.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.frozen import FrozenDict
from .estimate import Estimate, exact, least

if TYPE_CHECKING:
    from .readings import Seats
    from .seat_light import SeatLight

Reading = np.ndarray | Estimate  # replicates (R + 2,), or an estimate where it has a bias bound of its own


class Precision(Enum):
    """How a quantity counts for the asked error: relative to its value, absolutely, on the scale of u'v', or not at all."""

    RELATIVE = "relative"
    OF_WASHOUT = "relative where there is wash-out"
    UV = "u'v' where there is wash-out"
    NONE = "none"


@dataclass(frozen=True)
class Quantity:
    """One thing that is read at a seat.

    key        its name in Python, in tidy tables and in comparisons, unit in it
    title      in tables and pictures;  unit  as it is shown: "cd/m2", ":1", "%" for shares [1], "" for plain numbers
    better     +1 where more is better, -1 where less is, 0 where neither
    read       the formula: replicates (R + 2,), or an Estimate, in cd/m2 or [1]
    json       where it stands in a seat's entry of `measure --json`
    lit        its key in a light state's entry; None: it is read in the dark only, for other light changes nothing of it
    compared   True where `compare` tells differences of it;  compared_in_the_dark  False where it says nothing without other light
    precision  how it counts for the asked error
    lit_judged   False where its error in a light state does not count for the asked error
    needs_field  True where it is read between the measuring points
    """

    key: str
    title: str
    unit: str
    better: int
    read: Callable[[SeatLight], Reading]
    json: tuple[str, ...]
    lit: str | None = None
    compared: bool = False
    compared_in_the_dark: bool = True
    precision: Precision = Precision.NONE
    lit_judged: bool = True
    needs_field: bool = False


def _over_centre(seat: SeatLight, white: np.ndarray, *, greatest: bool = False) -> np.ndarray:
    """Least or greatest of luminances (R + 2, n) over that of the picture's centre [1]."""
    return least(white, greatest=greatest) / seat.centre


QUANTITIES: tuple[Quantity, ...] = (
    Quantity(
        "white_cd_m2",
        "white",
        "cd/m2",
        1,
        lambda s: s.lit_centre,
        ("white_cd_m2", "centre"),
        lit="white_cd_m2",
        compared=True,
        precision=Precision.RELATIVE,
    ),
    Quantity(
        "white_mean_cd_m2",
        "white, mean",
        "cd/m2",
        1,
        lambda s: s.everywhere("mean"),
        ("white_cd_m2", "mean"),
        precision=Precision.RELATIVE,
        needs_field=True,
    ),
    Quantity(
        "white_min_cd_m2", "white, least", "cd/m2", 1, lambda s: s.everywhere("min"), ("white_cd_m2", "min"), needs_field=True
    ),
    Quantity(
        "white_max_cd_m2", "white, greatest", "cd/m2", 0, lambda s: s.everywhere("max"), ("white_cd_m2", "max"), needs_field=True
    ),
    Quantity("direct_cd_m2", "direct", "cd/m2", 1, lambda s: exact(s.direct_centre), ("direct_cd_m2", "centre")),
    Quantity(
        "direct_mean_cd_m2",
        "direct, mean",
        "cd/m2",
        1,
        lambda s: exact(s.direct_mean),
        ("direct_cd_m2", "mean"),
        needs_field=True,
    ),
    Quantity(
        "direct_min_cd_m2",
        "direct, least",
        "cd/m2",
        1,
        lambda s: exact(s.direct_least),
        ("direct_cd_m2", "min"),
        needs_field=True,
    ),
    Quantity(
        "direct_max_cd_m2",
        "direct, greatest",
        "cd/m2",
        0,
        lambda s: exact(s.direct_greatest),
        ("direct_cd_m2", "max"),
        needs_field=True,
    ),
    Quantity(
        "uniformity_ratio",
        "least of nine points / centre",
        "%",
        1,
        lambda s: _over_centre(s, s.nine),
        ("uniformity",),
        compared=True,
        precision=Precision.RELATIVE,
    ),
    Quantity(
        "side_to_centre_ratio", "dimmer side / centre", "%", 1, lambda s: _over_centre(s, s.sides), ("side_to_centre", "darker")
    ),
    Quantity(
        "brighter_side_to_centre_ratio",
        "brighter side / centre",
        "%",
        0,
        lambda s: _over_centre(s, s.sides, greatest=True),
        ("side_to_centre", "brighter"),
    ),
    Quantity(
        "edge_to_centre_ratio",
        "dimmer edge / centre",
        "%",
        1,
        lambda s: s.widened(_over_centre(s, s.edges)),
        ("edge_to_centre", "darker"),
        needs_field=True,
    ),
    Quantity(
        "brighter_edge_to_centre_ratio",
        "brighter edge / centre",
        "%",
        0,
        lambda s: s.widened(_over_centre(s, s.edges, greatest=True)),
        ("edge_to_centre", "brighter"),
        needs_field=True,
    ),
    Quantity(
        "black_cd_m2", "black", "cd/m2", -1, lambda s: s.dark_centre, ("black_cd_m2", "centre"), lit="black_cd_m2", compared=True
    ),
    Quantity(
        "full_on_off_ratio",
        "full on : full off",
        ":1",
        1,
        lambda s: s.full_on_off,
        ("contrast", "full_on_off"),
        lit="full_on_off",
        compared=True,
        compared_in_the_dark=False,
        precision=Precision.RELATIVE,
    ),
    Quantity(
        "checkerboard_ratio",
        "checkerboard contrast",
        ":1",
        1,
        lambda s: s.board[0],
        ("contrast", "checkerboard"),
        lit="checkerboard",
        compared=True,
        precision=Precision.RELATIVE,
    ),
    Quantity(
        "checkerboard_one_pattern_ratio",
        "checkerboard contrast, one pattern",
        ":1",
        1,
        lambda s: s.board[1],
        ("contrast", "checkerboard_one_pattern"),
        precision=Precision.RELATIVE,
    ),
    Quantity(
        "washout_cd_m2",
        "wash-out",
        "cd/m2",
        -1,
        lambda s: s.washout,
        ("washout", "cd_m2"),
        compared=True,
        precision=Precision.OF_WASHOUT,
    ),
    Quantity(
        "white_shift_u",
        "white, shift of u'",
        "",
        0,
        lambda s: s.shift_white[:, 0],
        ("shift_uv", "white", "0"),
        precision=Precision.UV,
    ),
    Quantity(
        "white_shift_v",
        "white, shift of v'",
        "",
        0,
        lambda s: s.shift_white[:, 1],
        ("shift_uv", "white", "1"),
        precision=Precision.UV,
    ),
    Quantity(
        "washout_shift_u",
        "wash-out, shift of u'",
        "",
        0,
        lambda s: s.shift_washout[:, 0],
        ("shift_uv", "washout", "0"),
        precision=Precision.UV,
    ),
    Quantity(
        "washout_shift_v",
        "wash-out, shift of v'",
        "",
        0,
        lambda s: s.shift_washout[:, 1],
        ("shift_uv", "washout", "1"),
        precision=Precision.UV,
    ),
)


def replicates_of(seats: Seats) -> FrozenDict[str, np.ndarray]:
    """What the quantities of all seats are made of, by key: (seats, states or 1, R + 2), dark first; none for what is exact."""
    from .seat_light import SeatLight

    levels = [None, *seats.scene.lights]
    lights = [[SeatLight(seats, seat, light) for light in levels] for seat in range(len(seats.scene.seats))]
    found = {}
    with np.errstate(divide="ignore", invalid="ignore"):
        for quantity in QUANTITIES:
            read = [[light.of(quantity) for light in row[: len(levels) if quantity.lit else 1]] for row in lights]
            if all(isinstance(part, np.ndarray) for row in read for part in row):
                found[quantity.key] = np.array(read)
    return FrozenDict(found)


# What only a light state has: nothing of it is read in the dark.
LIT_ONLY: tuple[Quantity, ...] = (
    Quantity(
        "ambient_lx", "ambient light at the screen", "lx", -1, lambda s: s.ambient_lux, (), lit="ambient_lx", lit_judged=False
    ),
    Quantity(
        "ambient_uniformity_ratio",
        "ambient light, least / mean",
        "%",
        1,
        lambda s: s.ambient_over_mean(greatest=False),
        (),
        lit="ambient_uniformity",
        lit_judged=False,
        needs_field=True,
    ),
    Quantity(
        "ambient_hot_spot_ratio",
        "ambient light, greatest / mean",
        "%",
        -1,
        lambda s: s.ambient_over_mean(greatest=True),
        (),
        lit="ambient_hot_spot",
        lit_judged=False,
        needs_field=True,
    ),
)
LIT = (*(quantity for quantity in QUANTITIES if quantity.lit is not None), *LIT_ONLY)
BY_KEY = {quantity.key: quantity for quantity in (*QUANTITIES, *LIT_ONLY)}
