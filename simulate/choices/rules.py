"""The trade's rules of thumb, kept apart from the computed evidence, and whether the two agree.

Every rule here is common practice, no source: that is what each is marked as wherever it is printed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

from ...materials.dataclass import dataclass
from ...materials.fabric import LOUVRED
from ...materials.solving.special import CEILING_DEG, rejection
from ...scenes.cloth.hanging import Hang
from ...scenes.throw import ULTRA_SHORT
from ..eye.verdict import NOT_VISIBLE
from ..measuring.unit import in_unit
from .aims import Aim, FabricEvidence, better
from .fold_sight import FoldSight
from .wishes import Wishes

_ROLLED = (Hang.MOTORISED, Hang.PULL_DOWN)
SOURCE = "common practice, no source"
Agreement = Literal["agrees", "disagrees", "no evidence"]

WIDE_DEG = 30.0  # off axis from which the trade speaks of a wide row (common practice, no source)
BRIGHT = 1.0 / 14.0  # ambient over picture illuminance above which 15 : 1 is lost on a diffuse screen; source: derived
LARGE_IN = 100.0
WHITE_LIKE = 0.85  # diffuse gain from which a fabric counts as white: no white cloth gives back much more than 0.9


@dataclass(frozen=True)
class RuleInputs:
    """What rules look at: throw ratio [1], diagonal [in], farthest view angle [deg]; `folds` by hang, of the balanced fabric.

    bright  the brightest light state's illuminance over the picture's [1], 0 without light states
    """

    wishes: Wishes
    throw_ratio: float
    diagonal_in: float
    farthest_deg: float
    bright: float
    evidence: Sequence[FabricEvidence]
    aims: Sequence[Aim]
    folds: dict[Hang, FoldSight]


@dataclass(frozen=True)
class RuleFound:
    """A rule: what it says, why it applies here or does not, and what the computed evidence says of it where it does."""

    says: str
    because: str
    evidence: Agreement
    computed: str
    applies: bool = True


Judged = tuple[Agreement, str]


def every_rule(facts: RuleInputs) -> list[RuleFound]:
    """All rules, those that do not apply here too. Source: common practice, no source."""
    return [rule(facts) for rule in _RULES]


def rules_for(facts: RuleInputs) -> list[RuleFound]:
    """Every rule that applies, with the evidence's word on it. Source: common practice, no source."""
    return [found for found in every_rule(facts) if found.applies]


def _silent(says: str, because: str) -> RuleFound:
    return RuleFound(says, because, "no evidence", "", applies=False)


def _folds_between(facts: RuleInputs, hangs: tuple[Hang, ...]) -> Judged:
    """Whether the folds of untensioned hangs can be seen, as evidence for tension."""
    seen = [facts.folds[hang] for hang in hangs if hang in facts.folds]
    if not seen:
        return "no evidence", "fold visibility was not computed"
    worst = max(seen, key=lambda each: each.ratio["high"])
    said = f"{worst.hang} with {worst.fabric}: {worst.in_words}"
    if worst.whole_word("high") == NOT_VISIBLE:
        return "disagrees", said + ": even high folds stay unseen, a good untensioned sheet is enough here"
    if worst.whole_word("typical") == NOT_VISIBLE:
        return "no evidence", said + ": the estimate is too wide for a verdict"
    return "agrees", said


def _against(judged: Judged) -> Judged:
    """The word of the evidence for tension, turned into the word on a rule that does without."""
    turned: dict[Agreement, Agreement] = {"agrees": "disagrees", "disagrees": "agrees", "no evidence": "no evidence"}
    return turned[judged[0]], judged[1]


def _pull_down(facts: RuleInputs) -> RuleFound:
    says = "a pull-down up to 100 inches diagonal; above, repeated pulls at the middle leave V-grooves"
    because = f"the screen has {facts.diagonal_in:.0f} inches"
    judged = _folds_between(facts, (Hang.PULL_DOWN,))
    return RuleFound(says, because, *(judged if facts.diagonal_in > LARGE_IN else _against(judged)))


def _motor(facts: RuleInputs) -> RuleFound:
    says = "tube motors run smoother and last longer than geared synchronous ones"
    if facts.wishes.use == "dedicated" and not facts.wishes.clear_wall:
        return _silent(says, "a dedicated room where the wall need not be clear wants no motor")
    return RuleFound(says, "a motor is among the hangs", "no evidence", "nothing here computes motors")


def _free(facts: RuleInputs) -> RuleFound:
    says = "a screen that hangs free of any wall calls for tension"
    if facts.wishes.free_hanging is not True:
        return _silent(says, "free-hanging was not said")
    return RuleFound(says, "it was said to hang free", *_folds_between(facts, _ROLLED))


def _dedicated(facts: RuleInputs) -> RuleFound:
    says = "a fixed frame for a dedicated, closed room"
    if facts.wishes.use != "dedicated":
        return _silent(says, "the room was not said to be dedicated")
    if facts.wishes.clear_wall:
        return RuleFound(says, "the room is dedicated", "disagrees", "the wall was said to be clear after use: no fixed frame")
    return RuleFound(says, "the room is dedicated", *_folds_between(facts, _ROLLED))


def _clear(facts: RuleInputs) -> RuleFound:
    says = "a motorised or pull-down screen where the wall must be clear after use"
    if not facts.wishes.clear_wall:
        return _silent(says, "the wall was not said to be clear after use")
    agreement, said = _against(_folds_between(facts, _ROLLED))
    if agreement == "disagrees":
        said += "; a tab-tensioned one rolls up too and has an estimate of its own"
    return RuleFound(says, "the wall must be clear", agreement, said)


def _ultra_short_flat(facts: RuleInputs) -> RuleFound:
    says = "a flat surface for an ultra-short throw"
    because = f"the throw ratio is {facts.throw_ratio:.2f}"
    if facts.throw_ratio >= ULTRA_SHORT:
        return _silent(says, because)
    return RuleFound(says, because, *_folds_between(facts, _ROLLED))


def _ultra_short_fabric(facts: RuleInputs) -> RuleFound:
    says = "a fabric that rejects light from above for an ultra-short throw"
    because = f"the throw ratio is {facts.throw_ratio:.2f}"
    if facts.throw_ratio >= ULTRA_SHORT:
        return _silent(says, because)
    louvred = [each for each in facts.evidence if each.fabric.kind == LOUVRED]
    if not louvred:
        return RuleFound(says, because, "no evidence", "no louvred fabric is among those that were looked at")
    rest = [each for each in facts.evidence if each not in louvred]
    found = _in_each_state(facts, says, because, louvred, rest)
    if found.evidence == "no evidence":
        return found
    best = max(louvred, key=lambda each: float(each.worst[facts.aims[-1]][0]))
    ratio = rejection(best.fabric)
    more = (
        f"; {best.name} sends the projector's light on {ratio:.2g} times as well as light at {CEILING_DEG:g} degrees from above"
    )
    return replace(found, computed=f"{found.computed}{more}, and the light states here come evenly from everywhere")


def _bright_gain(facts: RuleInputs) -> RuleFound:
    says = "gain for a bright room"
    because = f"the brightest light state adds {100 * facts.bright:.0f} % of the picture's light"
    if facts.bright < BRIGHT:
        return _silent(says, because if facts.bright else "no light state is stated")
    gain = [each for each in facts.evidence if each.fabric.gain > 1.05]
    plain = [each for each in facts.evidence if WHITE_LIKE <= each.fabric.gain <= 1.05 and each.fabric.half_gain_deg is None]
    return _in_each_state(facts, says, because, gain, plain)


def _dark_grey(facts: RuleInputs) -> RuleFound:
    says = "grey for a dark picture (deep black)"
    because = "the room is dedicated" if facts.wishes.use == "dedicated" else "no light state is bright"
    if facts.wishes.use != "dedicated" and facts.bright >= BRIGHT:
        return _silent(says, "a light state is bright")
    grey = [each for each in facts.evidence if each.fabric.gain < WHITE_LIKE and each.fabric.open_area == 0.0]
    grey = [each for each in grey if each.fabric.kind != LOUVRED]
    white = [each for each in facts.evidence if each.fabric.gain >= WHITE_LIKE and each.fabric.half_gain_deg is None]
    return _best_against(says, because, grey, white, facts.aims[2])


def _wide(facts: RuleInputs) -> RuleFound:
    says = "a wide half-gain angle for wide rows"
    because = f"the farthest seat lies {facts.farthest_deg:.0f} degrees off the screen's normal"
    if facts.farthest_deg < WIDE_DEG:
        return _silent(says, because)
    lobed = [each for each in facts.evidence if each.fabric.kind != LOUVRED]
    wide = [each for each in lobed if (each.fabric.half_gain_deg or 90.0) >= 45.0]
    narrow = [each for each in lobed if (each.fabric.half_gain_deg or 90.0) < 45.0]
    return _best_against(says, because, wide, narrow, facts.aims[1])


def _touch(facts: RuleInputs) -> RuleFound:
    says = "caution with a fixed fabric where there are small children or dust"
    if not (facts.wishes.children or facts.wishes.dust):
        return _silent(says, "neither was named")
    who = " and ".join(name for name, said in (("small children", facts.wishes.children), ("dust", facts.wishes.dust)) if said)
    return RuleFound(
        says,
        f"{who} {'was' if who == 'dust' else 'were'} named",
        "no evidence",
        "nothing here computes wear; a screen rolled up is out of reach",
    )


def _in_each_state(
    facts: RuleInputs, says: str, because: str, ones: Sequence[FabricEvidence], others: Sequence[FabricEvidence]
) -> RuleFound:
    """Evidence from contrast in every light state; the word is that of the brightest one."""
    found = [_best_against(says, because, ones, others, aim) for aim in facts.aims[2:]]
    said = "; ".join(dict.fromkeys(each.computed for each in found))
    return replace(found[-1], computed=said)


def _best_against(
    says: str, because: str, ones: Sequence[FabricEvidence], others: Sequence[FabricEvidence], aim: Aim
) -> RuleFound:
    """Evidence from the best of two groups in one aim."""
    if not ones or not others:
        return RuleFound(says, because, "no evidence", "the fabrics that were looked at are all of one sort")
    one, other = (max(group, key=lambda each: float(each.worst[aim][0])) for group in (ones, others))
    scale = in_unit(1.0, aim.figure.unit)
    unit = aim.figure.unit if aim.figure.unit == ":1" else f" {aim.figure.unit}"
    said = (
        f"{aim.title}: {one.name} {scale * one.value(aim).value:.3g}{unit}, "
        f"{other.name} {scale * other.value(aim).value:.3g}{unit}"
    )
    if better(one, other, aim):
        return RuleFound(says, because, "agrees", said)
    if better(other, one, aim):
        return RuleFound(says, because, "disagrees", said)
    return RuleFound(says, because, "no evidence", said + ": too close to call")


_RULES: tuple[Callable[[RuleInputs], RuleFound], ...] = (
    _dedicated,
    _clear,
    _free,
    _pull_down,
    _ultra_short_flat,
    _ultra_short_fabric,
    _bright_gain,
    _dark_grey,
    _wide,
    _touch,
    _motor,
)
