"""What a scene is to sound."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from halfgain.kinds import SCENE
from halfgain.runs import AnyScene, as_scene
from halfgain.scenes.given import NUMBER, NUMBER_OR_NUMBERS, is_list, takes

if TYPE_CHECKING:
    from halfgain.simulate.sound.room import RoomSound

MOST_PEOPLE = 100


@takes(scene=SCENE, sheet_mass_kg_m2=NUMBER.optional, speaker_gap_m=NUMBER_OR_NUMBERS.optional)
def sound(
    scene: AnyScene,
    *,
    people: int = 0,
    sheet_mass_kg_m2: float | None = None,
    speaker_gap_m: float | Sequence[float] | None = None,
) -> RoomSound:
    """Sound absorption of a scene's finishes, reverberation time, room modes, and what its screen takes from a loudspeaker behind it.

    Parameters
    ----------
    scene : Scene, or name or file of one
    people : int
        Seated in the room, 0 to 100; at least those whose seat has a `body`.
    sheet_mass_kg_m2 : float, optional
        Mass of the screen's cloth [kg/m2], 0.02 to 5. Left out: both ends of what is usual.
    speaker_gap_m : float or sequence of float, optional
        Cloth to loudspeaker [m], above 0, up to 5. Left out: 0.1, 0.2 and 0.3.

    Returns
    -------
    RoomSound
        Where a finish states no absorption every figure has two ends.

    Raises
    ------
    halfgain.Error
        A scene that cannot be, or numbers out of range.
    """
    from halfgain.simulate.sound.room import room_sound
    from halfgain.simulate.sound.through import GAPS_M

    asked = GAPS_M if speaker_gap_m is None else speaker_gap_m
    gaps = tuple(float(gap) for gap in (asked if is_list(asked) else (cast("float", asked),)))
    _checked(people, sheet_mass_kg_m2, gaps)
    return room_sound(as_scene(scene), people=int(people), sheet_mass_kg_m2=sheet_mass_kg_m2, gaps_m=gaps)


def _checked(people: int, mass: float | None, gaps: tuple[float, ...]) -> None:
    """Refuses numbers out of range. raises halfgain.Error"""
    from halfgain.scenes.errors import SceneError, SceneErrors
    from halfgain.simulate.sound.sheets import HEAVIEST, LIGHTEST
    from halfgain.simulate.sound.through import FARTHEST_M

    wrong = []
    if isinstance(people, bool) or not hasattr(people, "__index__") or not 0 <= int(people) <= MOST_PEOPLE:
        wrong.append(
            SceneError("halfgain", 0, "people", people, "is no number of people", f"a whole number from 0 to {MOST_PEOPLE}")
        )
    if mass is not None and not LIGHTEST <= mass <= HEAVIEST:
        wrong.append(
            SceneError("halfgain", 0, "sheet_mass_kg_m2", mass, "is no mass of a cloth", f"{LIGHTEST:g} to {HEAVIEST:g}")
        )
    wrong += [
        SceneError("halfgain", 0, "speaker_gap_m", gap, "is no distance of a loudspeaker", f"above 0, up to {FARTHEST_M:g}")
        for gap in gaps
        if not 0.0 < gap <= FARTHEST_M
    ]
    if wrong:
        raise SceneErrors(wrong)
