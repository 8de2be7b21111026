"""The "viewing angle" of a specification sheet, which may mean five things, made into a half-gain angle."""

from __future__ import annotations

import math

from ..dataclass import dataclass
from ..fabric_error import FabricError


@dataclass(frozen=True)
class Meaning:
    """What a sheet's viewing angle counts: `words`; True in `cone`: both sides together; in `third`: to a third of the gain, not half."""

    words: str
    cone: bool = False
    third: bool = False
    one_plane: bool = False


MEANINGS = {
    "half-gain": Meaning("from the normal to where the gain is half"),
    "full-cone": Meaning("both sides together, to half the gain", cone=True),
    "one-plane": Meaning("from the normal to half the gain, in the horizontal plane only", one_plane=True),
    "third": Meaning("from the normal to where the gain is a third", third=True),
    "full-cone-third": Meaning("both sides together, to a third of the gain", cone=True, third=True),
}
QUESTION = " | ".join(f"{key} ({meaning.words})" for key, meaning in MEANINGS.items())


@dataclass(frozen=True)
class HalfGain:
    """Half-gain angle [deg]; `no_base` where the sheet's angle is exact only for a lobe without a base; notes."""

    half_gain_deg: float
    no_base: bool
    notes: tuple[str, ...]


def half_gain_of(angle_deg: float, meaning: str | None) -> HalfGain:
    """The half-gain angle that a sheet's viewing angle [deg] stands for.

    raises  FabricError where the meaning is not said, or the angle is out of range
    Source: a third of a Gaussian lies at sqrt(ln 3 / ln 2) of its half-gain angle; other lobes differ and the note says by
    how much: cos^n, and a Gaussian on a base of 0.3.
    """
    if meaning is None:
        raise FabricError("viewing_angle_is", None, QUESTION, "which viewing angle does the sheet mean?")
    if meaning not in MEANINGS:
        raise FabricError("viewing_angle_is", meaning, QUESTION, "unknown meaning of a viewing angle")
    meant = MEANINGS[meaning]
    cone = meant.cone
    if not 0.0 < angle_deg < (180.0 if cone else 90.0):
        raise FabricError("viewing_angle_deg", angle_deg, f"above 0, below {180 if cone else 90}", "out of range")
    side = 0.5 * angle_deg if cone else angle_deg
    notes = [f"viewing angle {angle_deg:g} degrees, {meant.words}"]
    if not meant.third:
        if meant.one_plane:
            notes.append("up and down the same angle is taken, as the sheet does not say; state half_gain_up_deg if known")
        return HalfGain(side, False, tuple(notes))
    half = side * math.sqrt(math.log(2.0) / math.log(3.0))
    cosine = math.degrees(math.acos(math.cos(math.radians(side)) ** (math.log(2.0) / math.log(3.0))))
    on_base = side * math.sqrt(math.log(0.7 / 0.2) / math.log(0.7 / (1.0 / 3.0 - 0.3)))
    low, high = min(half, cosine, on_base), max(half, cosine, on_base)
    notes.append(
        f"half-gain angle {half:.1f} degrees for a Gaussian lobe without a base; {low:.1f} to {high:.1f} for other lobes"
    )
    return HalfGain(half, True, tuple(notes))
