"""The recommendation in plain words, from the advice: hang, fabric, reasons, other choices, what would change it."""

from __future__ import annotations

from ...materials.dataclass import dataclass
from ...scenes.cloth.hanging import Hang
from ..choices.advice import Advice, HangAdvice
from ..choices.aims import Aim, shares_of_best
from ..choices.floors import Floor
from ..choices.fold_sight import FoldSight
from ..output.advise.role_words import role_words
from ..output.advise.table import basis, changes
from ..output.folds.sentence import client_sentence
from ..output.units import TYPESET
from .tables import PageTable


@dataclass(frozen=True)
class Recommendation:
    """What the page says: one sentence, reasons, planned against advised, other choices as (aim, fabric), tables, what would change it."""

    lead: str
    reasons: tuple[str, ...]
    against: PageTable | None
    others: tuple[tuple[str, str], ...]
    fabrics: PageTable
    hangs: tuple[tuple[str, tuple[str, ...]], ...]
    changes: tuple[str, ...]
    rules: tuple[tuple[str, str, str, str], ...]
    left_out: tuple[str, ...]
    basis: tuple[str, str]


def recommendation(advice: Advice) -> Recommendation:
    """The advice put into sentences. Source: choices/advice.py; rules of the trade stay apart and marked."""
    hang = chosen_hang(advice)
    planned = advice.scene.screen
    fabric = advice.balanced
    keep = fabric == planned.fabric.name, hang.hang == planned.hang
    sheet = f"{quoted(fabric)} on a {hung(hang.hang)}"
    if all(keep):
        lead = f"Keep what is planned: {sheet}."
    elif keep[0]:
        lead = f"Keep the planned fabric {quoted(fabric)}, but on a {hung(hang.hang)}."
    else:
        lead = f"Take the fabric {sheet}."
    return Recommendation(
        lead=lead,
        reasons=(_why_fabric(advice),),
        against=_against_plan(advice),
        others=tuple(
            (", ".join(role_words(roles, balanced="no weak side")), name)
            for name, roles in advice.roles.items()
            if name != fabric
        ),
        fabrics=_fabric_table(advice),
        hangs=tuple((each.hang + ("" if each.possible else " (cannot be)"), each.reasons) for each in advice.hangs),
        changes=tuple(changes(advice)),
        rules=tuple((rule.says, rule.because, _EVIDENCE[rule.evidence], rule.computed) for rule in advice.rules),
        left_out=tuple(
            [f"{name}: {other} is at least as good in every aim and better in one" for name, other in advice.beaten.items()]
            + [f"{name}: {why}" for name, why in advice.refused.items()]
        ),
        basis=basis(advice),
    )


_UNMET = {
    Floor.TOO_DARK: "No fabric gives every seat the least white of a cinema here: more light output is the first thing to buy.",
    Floor.HOT_SPOT: "No fabric looks even from every seat here.",
}


def unmet(advice: Advice) -> tuple[str, ...]:
    """What no fabric gives in this room, a sentence each; a recommendation among such fabrics does not stand without it. Source: `Advice.waived`."""
    return tuple(_UNMET[floor] for floor in advice.waived)


def quoted(name: str) -> str:
    """A fabric's name in a sentence: in quotation marks, since it may hold a comma."""
    return f"\u201c{name}\u201d"


def hung(hang: Hang) -> str:
    """A hang as the thing that hangs: "fixed frame", "motorised screen"."""
    return hang.value if hang.is_frame else f"{hang.value} screen"


_EVIDENCE = {"agrees": "the evidence agrees", "disagrees": "the evidence disagrees", "no evidence": "no evidence either way"}


def chosen_hang(advice: Advice) -> HangAdvice:
    """The hang that the advice takes with its fabric. Source: `Advice.take`."""
    return next(each for each in advice.hangs if each.hang == advice.take.hang)


def fold_of(advice: Advice, hang: HangAdvice) -> FoldSight | None:
    """Folds of a hang with the balanced fabric; None where they were not looked at."""
    return next((each for each in hang.folds if each.fabric == advice.balanced), None)


def _why_fabric(advice: Advice) -> str:
    shares = shares_of_best([advice.of(name) for name in advice.good], advice.aims)[advice.balanced]
    weakest = min(shares, key=lambda aim: shares[aim])
    wishes, by = advice.wishes, ""
    if wishes.first_aim is not None:
        by = f", {AIMS[wishes.first_aim]} first of all as asked"
    if wishes.weights:
        by += f", weighed as asked ({', '.join(f'{AIMS[aim]} {weight:g}' for aim, weight in wishes.weights.items())}, others 1)"
    least = "least where it counts" if by else "least in its weakest aim"
    return (
        f"Of {len(advice.evidence)} fabrics measured in this room on the same light paths, {advice.balanced} gives up {least}{by}: it "
        f"keeps at least {100 * shares[weakest]:.0f} % of the best fabric's figure everywhere (weakest: {weakest.title})."
    )


AIMS = {"white": "white", "evenness": "evenness", "contrast": "contrast in the dark", "lights-on": "contrast with the lights on"}


def _against_plan(advice: Advice) -> PageTable | None:
    planned = advice.scene.screen.fabric.name
    if planned == advice.balanced or all(each.name != planned for each in advice.evidence):
        return None
    before, after = advice.of(planned), advice.of(advice.balanced)
    rows = tuple((aim.title, _value(aim, before.value(aim).value), _value(aim, after.value(aim).value)) for aim in advice.aims)
    return PageTable(
        "Planned against advised, both on a flat cloth", ("aim", f"{planned}, planned", f"{advice.balanced}, advised"), rows
    )


def _value(aim: Aim, value: float) -> str:
    return f"{100 * value:.0f} %" if aim.figure.unit == "%" else TYPESET.of(value, aim.figure.unit)


def why_hang(advice: Advice, hang: HangAdvice) -> str:
    """What folds do on the advised hang, and on the planned one where it is another, in words."""
    planned = next((each for each in advice.hangs if each.hang == advice.scene.screen.hang), None)
    own = fold_of(advice, planned) if planned is not None else None
    fold = fold_of(advice, hang)
    if fold is None or fold.flat:
        text = f"The cloth of a {hung(hang.hang)} is taken as flat (common practice, no source); how flat it is was not judged."
    else:
        text = f"On a {hung(hang.hang)}: {client_sentence(fold)}"
    if planned is not None and planned is not hang and own is not None and not own.flat:
        same = advice.balanced == advice.scene.screen.fabric.name
        text += f" {'On' if same else 'The same fabric on'} the planned {hung(planned.hang)}: {client_sentence(own)}"
    if hang.hang.is_frame and planned is not hang:
        text += " Where the wall must be clear after use, a tab-tensioned screen is the next choice."
    return text


def _fabric_table(advice: Advice) -> PageTable:
    order = sorted(advice.good, key=lambda name: (list(advice.roles).index(name) if name in advice.roles else 99, name))
    planned = advice.scene.screen.fabric.name
    if planned not in order and any(each.name == planned for each in advice.evidence):
        order.append(planned)
    rows = tuple(
        (
            name + (" (planned)" if name == planned else ""),
            *(_value(aim, advice.of(name).value(aim).value) for aim in advice.aims),
        )
        for name in order
    )
    heads = ("fabric, flat", *(aim.title for aim in advice.aims))
    return PageTable("Fabrics that no other beats in this room, and the planned one; each figure at its worst seat", heads, rows)
