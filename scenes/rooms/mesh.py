"""A mesh of triangles with a name for each: the walls of a room, or a thing in it."""

from __future__ import annotations

from dataclasses import field
from functools import cached_property

import numpy as np

from ...materials.dataclass import dataclass
from ..digest import LATER


def still(array: np.ndarray) -> np.ndarray:
    """A contiguous copy that nobody can write to. Source: definition."""
    array = np.array(array, order="C")
    array.flags.writeable = False
    return array


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles in the inside frame (x right, y towards the screen wall, z up), [m]; arrays read-only.

    corners  (V, 3) [m];  faces (F, 3) int64, the side that reflects is where they turn left
    surface  (F,) int32, index into `names`
    facet    (F,) int32, triangles with one number lie in one plane and are one convex part of it, or any where that is not known
    sheet    (F,) bool, True where both sides reflect
    nameable names that a file may use for parts of a surface, in use or not
    part_of  names that are parts of a surface which a file may mean as a whole: ("ceiling 2", "ceiling")
    """

    corners: np.ndarray
    faces: np.ndarray
    surface: np.ndarray
    names: tuple[str, ...]
    facet: np.ndarray = field(default_factory=lambda: np.zeros(0, np.int32))
    sheet: np.ndarray = field(default_factory=lambda: np.zeros(0, bool))
    part_of: tuple[tuple[str, str], ...] = field(default=(), metadata=LATER)
    nameable: tuple[str, ...] = field(default=(), compare=False)  # no contents of the room: it counts in no digest

    def __post_init__(self) -> None:
        """Freezes the arrays; a facet that is not given is 0, a sheet False."""
        count = len(self.faces)
        facet = self.facet if len(self.facet) == count else np.zeros(count, np.int32)
        sheet = self.sheet if len(self.sheet) == count else np.zeros(count, bool)
        given = (self.corners, float), (self.faces, np.int64), (self.surface, np.int32), (facet, np.int32), (sheet, bool)
        for name, (array, kind) in zip(("corners", "faces", "surface", "facet", "sheet"), given, strict=True):
            object.__setattr__(self, name, still(np.asarray(array, kind)))

    def named(self, name: str) -> tuple[str, ...]:
        """The surfaces that a name means: itself and what is part of it; none for a name that is no surface's. Source: definition."""
        return tuple(each for each in self.names if each == name or (each, name) in self.part_of)

    @cached_property
    def triangles(self) -> np.ndarray:
        """Corners of each triangle (F, 3, 3) [m]. Source: definition."""
        return still(self.corners[self.faces])

    @cached_property
    def cross(self) -> np.ndarray:
        """Normal of each triangle times twice its area (F, 3) [m2]. Source: definition."""
        a, b, c = (self.triangles[:, k] for k in range(3))
        return still(np.cross(b - a, c - a))

    @cached_property
    def bounds(self) -> np.ndarray:
        """Low and high corner (2, 3) [m] of what the triangles span. Source: definition."""
        used = self.triangles.reshape(-1, 3)
        return still(np.array([used.min(axis=0), used.max(axis=0)]))

    def areas_m2(self) -> dict[str, float]:
        """Area of each named surface [m2], of one side of sheets. Source: half the cross products."""
        sizes = np.bincount(self.surface, 0.5 * np.linalg.norm(self.cross, axis=1), minlength=len(self.names))
        return dict(zip(self.names, map(float, sizes), strict=True))

    @property
    def volume_m3(self) -> float:
        """Volume [m3] on the reflecting side of a closed mesh that is seen from inside, negative where it is seen from outside.

        Source: divergence theorem.
        """
        return -float(np.einsum("ij,ij->", self.triangles[:, 0], self.cross)) / 6.0
