"""Lamps, windows and light states as the rest of the program sees them: frozen, checked, metres and degrees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from ...materials.dataclass import dataclass
from ...materials.frozen import FrozenDict
from ..digest import LATER
from .colour import WHITE, Colour
from .photometry import Photometry

Place = tuple[float, float, float]
Span = tuple[float, float]
DOWN: Place = (0.0, 0.0, -1.0)


@dataclass(frozen=True)
class Lamp:
    """A lamp at full output.

    place_m     [right, out, up] where its light comes from, of a strip its one end [m];  end_m its other end
    photometry  of the whole lamp;  aim  its axis, any length;  turn_deg  of its planes about the aim [deg]
    colour      linear RGB of luminance 1;  words  what it is, for tables;  file  that it was read from, as the scene names it
    """

    name: str
    place_m: Place
    photometry: Photometry
    words: str
    aim: Place = DOWN
    turn_deg: float = 0.0
    end_m: Place | None = None
    colour: Colour = WHITE
    file: str | None = None


@dataclass(frozen=True)
class Window:
    """A window in a surface of the room, two of three spans [m]; luminance from inside with the blind up [cd/m2].

    blind_transmission  share of the light with the blind down [1]; None: it has no blind
    colour      linear RGB of luminance 1
    """

    name: str
    surface: str
    luminance_cd_m2: float
    right_m: Span | None = None
    out_m: Span | None = None
    up_m: Span | None = None
    blind_transmission: float | None = None
    colour: Colour = WHITE


@dataclass(frozen=True)
class Light:
    """A light state: even illuminance at the screen with the projector off [lx], and what else is on.

    lamps, windows  share of full output, by name [1];  blinds_down  windows whose blind is down
    """

    name: str
    screen_lx: float = 0.0
    lamps: Mapping[str, float] = field(default_factory=dict, metadata=LATER)
    windows: Mapping[str, float] = field(default_factory=dict, metadata=LATER)
    blinds_down: tuple[str, ...] = field(default=(), metadata=LATER)

    def __post_init__(self) -> None:
        """Keeps the shares as mappings that cannot change."""
        for key in ("lamps", "windows"):
            if not isinstance(getattr(self, key), FrozenDict):
                object.__setattr__(self, key, FrozenDict(getattr(self, key)))

    @property
    def traced(self) -> bool:
        """True where lamps or windows are in it, whose light is followed through the room."""
        return bool(self.lamps or self.windows)

    @property
    def words(self) -> str:
        """What is on, for headings: `12 lx on the screen`, `table lamp at 20 %, garden behind its blind`."""
        parts = [f"{self.screen_lx:g} lx on the screen"] if self.screen_lx or not self.traced else []
        parts += [name if level == 1.0 else f"{name} at {100.0 * level:.3g} %" for name, level in self.lamps.items()]
        for name, level in self.windows.items():
            said = name if level == 1.0 else f"{name} at {100.0 * level:.3g} %"
            parts.append(f"{said} behind its blind" if name in self.blinds_down else said)
        return ", ".join(parts)
