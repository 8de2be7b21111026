"""What could be read of a scene, for checks to run on even where other parts are wrong."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from .model import Lamp, Light, Projector, Room, Screen, Seat, SurfacePart, Thing, Window
from .normalise import Path
from .units import Unit, from_metres


class Optics(NamedTuple):
    """A screen and a projector: all that raster, picture and throw need of a scene."""

    screen: Screen
    projector: Projector


@dataclass
class Parts:
    """The parts of a scene that are sound in themselves; lists by place in the file, so that errors find their line.

    light_names  of all "lamp" and "window" entries, faulty ones too
    units   the unit the user wrote a length in, by its place under the `_m` name
    """

    room: Room | None = None
    projector: Projector | None = None
    screen: Screen | None = None
    objects: dict[int, Thing] = field(default_factory=dict)
    parts: dict[int, SurfacePart] = field(default_factory=dict)
    lights: dict[int, Light] = field(default_factory=dict)
    lamps: dict[int, Lamp] = field(default_factory=dict)
    windows: dict[int, Window] = field(default_factory=dict)
    light_names: dict[str, list[str]] = field(default_factory=dict)
    seats: dict[int, Seat] = field(default_factory=dict)
    units: dict[Path, Unit] = field(default_factory=dict)

    @property
    def has_plane(self) -> bool:
        """True where the screen's plane is in the room, so that things can be in front of it or behind."""
        return self.screen is not None and (self.room is None or self.screen.gap_to_wall_m < self.room.depth_m)

    def length(self, path: Path, *values_m: float) -> str:
        """Lengths [m] as text in the unit the user wrote at `path`: `-2.1 to 2.1 m`."""
        unit = self.units.get(path)
        name = unit.suffix[1:] if unit else "m"
        return " to ".join(f"{(from_metres(value, unit) if unit else value):.5g}" for value in values_m) + f" {name}"
