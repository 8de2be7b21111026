"""The finish of a room surface: diffuse reflectance, and sound absorption where a published table has it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from .dataclass import dataclass
from .frozen import FrozenDict
from .tint import luminance

NO_SOURCE = "common practice, no source"


@dataclass(frozen=True)
class Finish:
    """A diffuse finish.

    reflectance  linear red, green, blue on BT.709 primaries [1], each 0 .. 1
    absorption   sound absorption coefficient [1] by octave band centre [Hz]; empty where unknown
    source       where the numbers come from, or that there is none
    """

    name: str
    reflectance: tuple[float, float, float]
    absorption: Mapping[int, float] = field(default_factory=FrozenDict)
    source: str = NO_SOURCE

    def __post_init__(self) -> None:
        """Keeps the absorption as a mapping that cannot change, so that a finish can be hashed and sent to another process."""
        if not isinstance(self.absorption, FrozenDict):
            object.__setattr__(self, "absorption", FrozenDict(self.absorption))

    @property
    def luminous(self) -> float:
        """Reflectance for luminance [1], white light in. Source: ITU-R BT.709-6 luminance weights."""
        return luminance(self.reflectance)
