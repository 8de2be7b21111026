"""What is read at one seat: values of the registry by key, the usual ones under names of their own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ...materials.dataclass import dataclass
from ...materials.frozen import FrozenDict
from .estimate import Estimate


@dataclass(frozen=True)
class StateReading:
    """A seat in one light state; `values` by key of those quantities that other light changes, each with its error.

    white, black   luminances at the picture's centre, ambient light included [cd/m2]
    full_on_off    white over black there [1];  checkerboard  from pattern and complement, ambient light included [1]
    """

    name: str
    values: Mapping[str, Estimate]

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", FrozenDict(self.values))

    @property
    def white(self) -> Estimate:
        """[cd/m2]"""
        return self.values["white_cd_m2"]

    @property
    def black(self) -> Estimate:
        """[cd/m2]"""
        return self.values["black_cd_m2"]

    @property
    def full_on_off(self) -> Estimate:
        """[1]"""
        return self.values["full_on_off_ratio"]

    @property
    def checkerboard(self) -> Estimate:
        """[1]"""
        return self.values["checkerboard_ratio"]

    def __repr__(self) -> str:
        return f"<{self.name}: white {self.white} cd/m2, checkerboard {self.checkerboard} : 1>"


@dataclass(frozen=True)
class SeatReading:
    """All that is read at one seat, in the dark but for `states`.

    values   by key of the registry (quantities.py), each with its error;  share  of the wash-out by first surface [1]
    states   one a light state of the scene

    The usual ones have names of their own:
    white, direct   "centre", "mean", "min", "max" over the white picture; all light, and the projector's own alone [cd/m2]
    black           at the centre of the black picture [cd/m2]
    uniformity      least of the nine points over the centre [1]
    side_to_centre, brighter_side_to_centre   dimmer and brighter of the left and right of the nine points over the centre [1]
    edge_to_centre, brighter_edge_to_centre   the same 5 % of the picture's width in from its edges [1]
    full_on_off     the projector's native contrast [1]
    checkerboard, checkerboard_one_pattern   from pattern and complement; from the pattern with white at top left alone [1]
    washout         returned light on black patches, mean over the 16 centres [cd/m2]
    shift_white, shift_washout   (du', dv') from the projector's white, at the centre and of the wash-out [1]
    """

    name: str
    values: Mapping[str, Estimate]
    share: Mapping[str, Estimate]
    states: tuple[StateReading, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "values", FrozenDict(self.values))
        object.__setattr__(self, "share", FrozenDict(self.share))

    def with_values(self, **values: Estimate) -> SeatReading:
        """The reading with other values under these keys. raises KeyError for a key that is none"""
        if unknown := values.keys() - self.values.keys():
            raise KeyError(f"no quantity {', '.join(sorted(unknown))}; there are {', '.join(self.values)}")
        return replace(self, values={**self.values, **values})

    def _four(self, what: str) -> FrozenDict[str, Estimate]:
        keys = {"centre": f"{what}_cd_m2", **{part: f"{what}_{part}_cd_m2" for part in ("mean", "min", "max")}}
        return FrozenDict({part: self.values[key] for part, key in keys.items() if key in self.values})

    @property
    def white(self) -> Mapping[str, Estimate]:
        """[cd/m2]"""
        return self._four("white")

    @property
    def direct(self) -> Mapping[str, Estimate]:
        """[cd/m2]"""
        return self._four("direct")

    @property
    def black(self) -> Estimate:
        """[cd/m2]"""
        return self.values["black_cd_m2"]

    @property
    def uniformity(self) -> Estimate:
        """[1]"""
        return self.values["uniformity_ratio"]

    @property
    def side_to_centre(self) -> Estimate:
        """[1]"""
        return self.values["side_to_centre_ratio"]

    @property
    def brighter_side_to_centre(self) -> Estimate:
        """[1]"""
        return self.values["brighter_side_to_centre_ratio"]

    @property
    def edge_to_centre(self) -> Estimate:
        """[1]"""
        return self.values["edge_to_centre_ratio"]

    @property
    def brighter_edge_to_centre(self) -> Estimate:
        """[1]"""
        return self.values["brighter_edge_to_centre_ratio"]

    @property
    def full_on_off(self) -> Estimate:
        """[1]"""
        return self.values["full_on_off_ratio"]

    @property
    def checkerboard(self) -> Estimate:
        """[1]"""
        return self.values["checkerboard_ratio"]

    @property
    def checkerboard_one_pattern(self) -> Estimate:
        """[1]"""
        return self.values["checkerboard_one_pattern_ratio"]

    @property
    def washout(self) -> Estimate:
        """[cd/m2]"""
        return self.values["washout_cd_m2"]

    @property
    def shift_white(self) -> tuple[Estimate, Estimate]:
        """(du', dv') [1]"""
        return self.values["white_shift_u"], self.values["white_shift_v"]

    @property
    def shift_washout(self) -> tuple[Estimate, Estimate]:
        """(du', dv') [1]"""
        return self.values["washout_shift_u"], self.values["washout_shift_v"]

    def __repr__(self) -> str:
        parts = f"white {self.white['centre']} cd/m2, checkerboard {self.checkerboard} : 1, wash-out {self.washout} cd/m2"
        return f"<{self.name}: {parts}>"
