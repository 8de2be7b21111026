"""What advice says, as data: hangs, repaint, fabrics that serve and that do not, and what would change it."""

from __future__ import annotations

from collections.abc import Mapping

from ...materials.dataclass import dataclass
from ...scenes.cloth.hanging import Hang
from ...scenes.model import Scene
from ..measuring.showing import Showing
from .aims import Aim, FabricEvidence, Role
from .choosing import FabricOnHang
from .flips import AmbientFlip
from .floor_words import shortfall_words
from .floors import Floor, Shortfall
from .fold_sight import FoldSight
from .rules import RuleFound, RuleInputs
from .wishes import Wishes


@dataclass(frozen=True)
class HangAdvice:
    """A hang: can it be here, and what speaks for and against it; folds by fabric."""

    hang: Hang
    possible: bool
    reasons: tuple[str, ...]
    folds: tuple[FoldSight, ...]


@dataclass(frozen=True)
class Repaint:
    """One surface painted dark, and whether the lead turns.

    area_m2  what is to be painted [m2];  price  in the list's currency, None where the list lacks the finish
    before, after  checkerboard contrast in the dark at the worst seat [1], by name of each shortlisted fabric
    """

    surface: str
    finish: str
    area_m2: float
    price: float | None
    before: dict[str, float]
    after: dict[str, float]

    @property
    def lead_before(self) -> str:
        """Fabric with the most contrast as the room stands."""
        return max(self.before, key=lambda name: self.before[name])

    @property
    def lead_after(self) -> str:
        """Fabric with the most contrast once it is painted."""
        return max(self.after, key=lambda name: self.after[name])


@dataclass(frozen=True, eq=False, repr=False)
class Advice(Showing):
    """All of it; `evidence` holds every fabric measured, `good` those that meet the floors and no other beats, `balanced` the one to take.

    beaten   by name of a fabric left out: the fabric that beats it
    short    by name of a fabric that does not serve: the floors that it misses;  waived  floors that no fabric meets, and so not asked
    pairs    by shortlisted fabric whose folds were judged: the hang to take with it, and the price of both
    roles    what each shortlisted fabric is best at
    rules, silent_rules  the trade's rules that apply here, and those that do not
    limits   by fabric and contrast of a class [1]: most ambient light at the screen [lx] that leaves it, see `class_limits`
    lumens   by fabric: light output [lm] at which the dimmest seat has CINEMA_CD_M2, see `lumens_for`
    """

    scene: Scene
    wishes: Wishes
    aims: tuple[Aim, ...]
    evidence: tuple[FabricEvidence, ...]
    good: tuple[str, ...]
    balanced: str
    roles: Mapping[str, tuple[Role, ...]]
    beaten: Mapping[str, str]
    short: Mapping[str, tuple[Shortfall, ...]]
    waived: tuple[Floor, ...]
    pairs: Mapping[str, FabricOnHang]
    hangs: tuple[HangAdvice, ...]
    rules: tuple[RuleFound, ...]
    silent_rules: tuple[RuleFound, ...]
    flips: tuple[AmbientFlip, ...]
    limits: Mapping[str, Mapping[float, float]]
    lumens: Mapping[str, float]
    repaint: Repaint | None
    facts: RuleInputs

    def __repr__(self) -> str:
        return f"<Advice for {self.scene.title!r}: {self.balanced}; not beaten: {', '.join(self.good)}>"

    @property
    def refused(self) -> dict[str, str]:
        """Why fabrics do not serve, in words, by name; floors that were waived are not among the reasons."""
        asked = {name: [short for short in missed if short.floor not in self.waived] for name, missed in self.short.items()}
        return {name: "; ".join(map(shortfall_words, missed)) for name, missed in asked.items() if missed}

    @property
    def take(self) -> FabricOnHang:
        """The one answer: the advised fabric on its hang."""
        return self.pairs[self.balanced]

    def of(self, name: str) -> FabricEvidence:
        """The evidence of a fabric by name. raises StopIteration for a fabric that was not looked at"""
        return next(each for each in self.evidence if each.name == name)
