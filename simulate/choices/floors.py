"""Floors come before aims: what keeps a fabric from serving in a room at all, as a code with its numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum

from ...materials.dataclass import dataclass
from ...materials.fabric import Fabric
from ...materials.hangs import Hang
from ...scenes.geometry import HasScreen
from ...scenes.light_side import LEVEL_DEG, light_from_deg
from ..measuring.estimate import T_95, Estimate
from ..measuring.readings import CENTRE, NINE
from ..measuring.targets import Target, target_named
from .aims import Aim, FabricEvidence
from .flips import lumens_for
from .wishes import HANGS, Wishes

WHITE = target_named("white luminance, theatre")
EVEN = target_named("side to centre, theatre")


class Floor(StrEnum):
    """Why a fabric does not serve; programs go by this, never by the words."""

    NO_OPEN_AREA = "no-open-area"
    WRONG_SIDE = "light-from-the-wrong-side"
    NO_HANG = "no-hang-for-it"
    TOO_DARK = "too-dark"
    HOT_SPOT = "hot-spot"


@dataclass(frozen=True)
class Shortfall:
    """A floor that a fabric misses.

    got, least  the figure and the floor in `unit`: open area [1]; degrees from the side it wants its light from [deg];
                hangs left [1]; white at the dimmest seat [cd/m2]; least of nine points over the centre at the worst seat [%]
    seat        where; "" where it concerns no seat
    lacking_lm  light output that is missing [lm], where it is too dark
    side        the side it wants its light from, where that is the matter
    """

    floor: Floor
    got: float
    least: float
    unit: str
    seat: str = ""
    lacking_lm: float | None = None
    side: str = ""


def by_make(scene: HasScreen, fabric: Fabric, wishes: Wishes) -> tuple[Shortfall, ...]:
    """What is known before any measurement: sound has to pass, louvres want their light from their side, a hang has to take it.

    Source: louvred fabrics against their light, stiff sheets on rolls, sound through holes: common practice, no source.
    """
    found = []
    if wishes.speakers_behind and fabric.open_area <= 0.0:
        found.append(Shortfall(Floor.NO_OPEN_AREA, fabric.open_area, 0.0, "1"))
    side = fabric.wants_light_from
    if side is not None and light_from_deg(scene, side) < LEVEL_DEG:
        found.append(Shortfall(Floor.WRONG_SIDE, light_from_deg(scene, side), LEVEL_DEG, "deg", side=side))
    if not hangs_for(fabric, wishes):
        found.append(Shortfall(Floor.NO_HANG, 0.0, 1.0, "1"))
    return tuple(found)


def hangs_for(fabric: Fabric, wishes: Wishes) -> tuple[Hang, ...]:
    """Hangs that the wishes allow and the fabric is made for, as advice lists them. Source: `Fabric.hangs`, `possible`."""
    return tuple(hang for hang in HANGS if hang in fabric.hangs and possible(hang, wishes))


def possible(hang: Hang, wishes: Wishes) -> bool:
    """False for a frame where the wall must be clear after use."""
    return not (hang.is_frame and wishes.clear_wall)


def by_measure(evidence: FabricEvidence, aims: Sequence[Aim]) -> tuple[Shortfall, ...]:
    """What the measurement tells: white below the published least, and a hot spot.

    aims  as `aims_of` orders them
    Source: the least of SMPTE ST 431-1's ranges (targets.py); its least side to centre is asked of all nine points, the lens's own
    fall-off taken out, which is our own choice. A figure is below where it is so by more than its error.
    """
    found = []
    white, even = (evidence.value(aim) for aim in aims[:2])
    if _below(white, _low(WHITE)):
        lumens = lumens_for(evidence, white, _low(WHITE)) * (1.0 - white.value / _low(WHITE))
        found.append(Shortfall(Floor.TOO_DARK, white.value, _low(WHITE), WHITE.unit, evidence.seat[aims[0]], lumens))
    least = _low(EVEN) * light_evenness(evidence)
    if _below(Estimate(*(100.0 * part for part in even)), least):
        found.append(Shortfall(Floor.HOT_SPOT, 100.0 * even.value, least, EVEN.unit, evidence.seat[aims[1]]))
    return tuple(found)


def light_evenness(evidence: FabricEvidence) -> float:
    """Least of the nine points' illuminance over the centre's [1], at most 1: what the lens alone leaves of the evenness.

    A centre in a shadow is no measure: then 1.
    """
    lux = evidence.paired.seats.points.direct_lx
    return min(1.0, float(lux[NINE].min() / lux[CENTRE])) if lux[CENTRE] > 0.0 else 1.0


def _low(target: Target) -> float:
    return target.low or 0.0


def _below(value: Estimate, floor: float) -> bool:
    return value.value + T_95 * value.standard_error + value.bias_bound < floor


def serving(
    evidence: Sequence[FabricEvidence], missed: Mapping[str, Sequence[Shortfall]]
) -> tuple[list[FabricEvidence], tuple[Floor, ...]]:
    """Fabrics that miss no floor, and the floors that had to be waived because no fabric meets them all.

    Too little light is waived first, since lumens mend it, then the hot spot; what a fabric is made for never is.
    """
    waived: tuple[Floor, ...] = ()
    for extra in ((), (Floor.TOO_DARK,), (Floor.TOO_DARK, Floor.HOT_SPOT)):
        waived = extra
        left = [each for each in evidence if all(short.floor in waived for short in missed.get(each.name, ()))]
        if left:
            return left, waived
    return list(evidence), waived
