"""The sound of a scene in one object: absorption, reverberation, target, modes, and the loss through its screen."""

from __future__ import annotations

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.model import Room, Scene
from ...scenes.recheck import check_scene
from .air import energy_loss_per_m
from .areas import areas_of
from .bands import BANDS, Array, mid
from .modes import LISTED_HZ, Modes, modes, transition_hz
from .reverberation import all_four, chosen, to_trust, unscattered
from .surfaces import ASSUMED, SoundSurface, surfaces_of
from .target import ReverberationTarget, target, verdicts
from .through import GAPS_M, Through, through


@dataclass(frozen=True, eq=False)
class Reverberation:
    """Reverberation times; arrays hold the least-absorbing end first, then the greatest, then the middle of both, (3, 8) [s].

    formulas   by name;  trusted   the formula to trust, (3, 8) names;  time_s   its time
    bare_s     where nothing scatters, between the hardest walls;  mean   absorption coefficient over all surfaces [1]
    """

    formulas: dict[str, Array]
    trusted: np.ndarray
    time_s: Array
    bare_s: Array
    mean: Array

    @property
    def longest_s(self) -> Array:
        """With the least absorption, (8,) [s]."""
        return self.time_s[0]

    @property
    def shortest_s(self) -> Array:
        """With the greatest absorption, (8,) [s]."""
        return self.time_s[1]

    @property
    def middle_s(self) -> Array:
        """With the mean of both absorptions, (8,) [s]."""
        return self.time_s[2]

    @property
    def mid_s(self) -> tuple[float, float]:
        """Mean of 500 and 1000 Hz: shortest and longest [s]. Source: ISO 3382-1 (from memory)."""
        return float(mid(self.shortest_s)), float(mid(self.longest_s))


@dataclass(frozen=True, eq=False)
class RoomSound:
    """What a scene is to sound.

    volume_m3     of air [m3];  surfaces   what absorbs;  reverberation, asked, bands   the times, the target, a verdict a band
    transition_hz below it single modes ring, least and greatest [Hz];  modes   up to the greatest, or LISTED_HZ
    through       loss of a loudspeaker behind the screen
    """

    scene: Scene
    volume_m3: float
    surfaces: tuple[SoundSurface, ...]
    reverberation: Reverberation
    asked: ReverberationTarget
    bands: tuple[str, ...]
    transition_hz: tuple[float, float]
    modes: Modes
    through: Through

    @property
    def unknown(self) -> tuple[SoundSurface, ...]:
        """Surfaces whose finish states no absorption."""
        return tuple(surface for surface in self.surfaces if surface.basis == ASSUMED and not surface.people)

    def __str__(self) -> str:
        short, long = self.reverberation.mid_s
        return (
            f"{self.scene.title}: reverberation {short:.2f} to {long:.2f} s at 500 and 1000 Hz, asked {self.asked.nominal_s:.2f} s; "
            f"single modes below {self.transition_hz[0]:.0f} to {self.transition_hz[1]:.0f} Hz"
        )


def room_sound(
    scene: Scene, *, people: int = 0, sheet_mass_kg_m2: float | None = None, gaps_m: tuple[float, ...] = GAPS_M
) -> RoomSound:
    """Absorption, reverberation, modes and screen loss of a scene.

    people   in the room, at least those with a body in the scene
    sheet_mass_kg_m2   of the cloth [kg/m2], None: not known;  gaps_m   cloth to loudspeaker [m]
    raises   SceneErrors for a scene that cannot be
    """
    check_scene(scene)
    areas = areas_of(scene)
    surfaces = surfaces_of(scene, people=people, sheet_mass_kg_m2=sheet_mass_kg_m2, areas=areas)
    found = reverberation(room_size(scene), areas.volume_m3, surfaces)
    asked = target(areas.volume_m3)
    ends = sorted(transition_hz(areas.volume_m3, times) for times in (found.shortest_s, found.longest_s))
    room = scene.room
    return RoomSound(
        scene,
        areas.volume_m3,
        surfaces,
        found,
        asked,
        verdicts(asked, found.shortest_s, found.longest_s),
        (ends[0], ends[1]),
        modes_of(room, min(ends[1], LISTED_HZ)),
        through(scene.screen.fabric, mass_kg_m2=sheet_mass_kg_m2, gaps_m=gaps_m),
    )


def modes_of(room: Room, up_to_hz: float) -> Modes:
    """Modes of a box; of a room of another shape none, which `output.sound.words` says. Source: `modes`."""
    if room.shell is not None:
        return Modes(up_to_hz, (), (), ())
    return modes(room.width_m, room.depth_m, room.height_m, up_to_hz)


def room_size(scene: Scene) -> Array:
    """Width, depth, height (3,) [m]."""
    return np.array([scene.room.width_m, scene.room.depth_m, scene.room.height_m])


def reverberation(size_m: Array, volume_m3: float, surfaces: tuple[SoundSurface, ...]) -> Reverberation:
    """Times by all formulas of a room of this size (3,) [m] and volume of air [m3], with air of 20 degrees and 50 %.

    People have no face: what they take is dealt to the three pairs of walls by their areas.
    """
    pairs = np.sum([surface.area for surface in surfaces], axis=0)
    low, high = (_by_pair(surfaces, pairs, end) for end in ("low", "high"))
    absorbed = np.stack([low, high, 0.5 * (low + high)])
    air = energy_loss_per_m(BANDS)
    times = all_four(volume_m3, pairs, absorbed, air)
    mean = absorbed.sum(axis=1) / pairs.sum()
    names = to_trust(times, mean)
    return Reverberation(times, names, chosen(times, names), unscattered(size_m, pairs, absorbed, air), mean)


def _by_pair(surfaces: tuple[SoundSurface, ...], pairs: Array, end: str) -> Array:
    """Absorption area of the three pairs of walls, (3, 8) [m2]."""
    total = np.zeros((3, len(BANDS)))
    for surface in surfaces:
        share = pairs / pairs.sum() if surface.people else surface.area
        total += share[:, None] * getattr(surface, end)
    return total
