"""The three reasons on the first sheet, each in plain words: what the fabric gives, what folds do, what paint would do."""

from __future__ import annotations

from ..choices.aims import Aim
from ..measuring.targets import DARK
from ..output.advise.role_words import CONTRAST
from ..output.units import TYPESET, figure
from .evidence import Evidence
from .pairs import surface_words
from .recommendation import chosen_hang, quoted, unmet, why_hang
from .tables import both_luminances


def reasons(evidence: Evidence) -> tuple[str, ...]:
    """Light and contrast of the advised fabric, its hang, the surface to repaint first. Source: advice, finishes, in this room."""
    advice = evidence.advice
    return (_light(evidence, advice.balanced), why_hang(advice, chosen_hang(advice)), _paint(evidence))


def _light(evidence: Evidence, name: str) -> str:
    """What the advised fabric gives, and the planned one where it is another: in the dark and in the brightest light state."""
    advice = evidence.advice
    contrasts = [aim for aim in advice.aims if aim.figure.key == CONTRAST]
    ends = list(dict.fromkeys((contrasts[0], contrasts[-1])))

    def gives(fabric: str) -> str:
        found = advice.of(fabric)
        white = both_luminances([found.value(advice.aims[0]).value])
        ratios = " and ".join(f"{figure(found.value(aim).value)} times as bright as black beside it {_when(aim)}" for aim in ends)
        return f"{white} for white at the dimmest seat; at the worst seat white is {ratios}"

    text = f"{quoted(name)} gives {gives(name)}."
    planned = advice.scene.screen.fabric.name
    if planned != name and any(each.name == planned for each in advice.evidence):
        text += f" The planned {quoted(planned)} gives {gives(planned)}."
    return " ".join((text, *unmet(advice)))


def _when(aim: Aim) -> str:
    return "in the dark" if aim.figure.state == DARK else f"with {aim.figure.state}"


def _paint(evidence: Evidence) -> str:
    costs = evidence.costs
    now = TYPESET.of(costs.contrast_now[costs.worst].value, ":1")
    if not evidence.steps:
        return (
            f"The room is dark enough for the picture: no dark paint or carpet would add as much as 3 % to the contrast of {now}."
        )
    step = evidence.steps[0]
    return (
        f"What the room gives back to the screen costs contrast: the {surface_words(step.surface)} in {step.finish.name} alone would "
        f"bring the planned screen from {now} to {TYPESET.of(step.contrast.value, ':1')} at the worst seat."
    )
