"""The first thing a client reads: six short findings, each with a word on how it stands and where to read on."""

from __future__ import annotations

from ...materials.dataclass import dataclass
from ...scenes.cloth.notes import flat_words
from ..choices.fold_sight import sight_of
from ..eye.verdict import NOT_VISIBLE
from ..measuring.lens import levels_of
from ..measuring.targets import UPPER_BOUND, ClassStanding, class_standing, target_named, verdicts
from ..output.folds.sentence import client_sentence
from ..output.measure.first_block import projector_places
from ..output.units import TYPESET, figure, foot_lamberts
from .evidence import CONTRAST, Evidence
from .pairs import surface_words
from .tables import between, both_luminances

GOOD, LOOK, NOTE = "good", "look", "note"


@dataclass(frozen=True)
class Finding:
    """A finding: state GOOD, LOOK or NOTE, what it is about, sentences, the id of the section with more; blocks: nothing else counts yet."""

    state: str
    title: str
    text: str
    more: str
    blocks: bool = False


def findings(evidence: Evidence) -> list[Finding]:
    """What does not fit first, then what to look at, what to know, what is good. Source: the measurement; targets as named."""
    found = [_throw(evidence)] if evidence.measurement.throw.feasible is False else []
    found += [_brightness(evidence), _contrast(evidence), *_light(evidence), _flatness(evidence), _sight(evidence)]
    return sorted(found, key=lambda each: (not each.blocks, (LOOK, NOTE, GOOD).index(each.state)))


def _brightness(evidence: Evidence) -> Finding:
    theatre = target_named("white luminance, theatre")
    low, high = theatre.low or 0.0, theatre.high or 0.0
    white = [reading.white["centre"].value for reading in evidence.measurement.seats]
    dimmest = evidence.seats[white.index(min(white))]
    feet = TYPESET.written(f"{foot_lamberts(low):.0f} to {foot_lamberts(high):.0f}", "fL")
    cinema = f"{TYPESET.written(f'{low:g} to {high:g}', theatre.unit)} ({feet})"
    text = f"A white picture has {both_luminances(white)}. "
    if min(white) < low:
        state = LOOK
        text += f"{dimmest} stays below the {cinema} of a cinema ({theatre.source}, second-hand)."
    elif min(white) > high:
        state = GOOD
        text += (
            f"That is more than the {cinema} of a cinema ({theatre.source}, second-hand): a reserve for lamps, "
            "for a projector that ages, or for a darker fabric with more contrast."
        )
    else:
        state = GOOD
        text += f"Cinemas have {cinema} ({theatre.source}, second-hand)."
    if evidence.measurement.scene.projector.in_use is None:
        text += " This is for the rated light output; in use it is usually less."
    even = [reading.uniformity.value for reading in evidence.measurement.seats]
    text += f" The darkest part of a white picture keeps {between(even, '%')} of its middle."
    return Finding(state, "Brightness", text, "seats")


def _contrast(evidence: Evidence) -> Finding:
    found = evidence.measurement
    contrast = [reading.checkerboard.value for reading in found.seats]
    worst = evidence.seats[contrast.index(min(contrast))]
    target = CONTRAST.low or 100.0
    text = (
        f"With half of the picture white, white is {figure(min(contrast))} times as bright as black at {worst}, the worst seat; "
        f"a cinema reaches {target:g} ({CONTRAST.source}, second-hand)."
    )
    level = levels_of(found.scene).board_black
    if found.scene.projector.checkerboard_contrast is None:
        text += f" It is {UPPER_BOUND}: the projector's own is not stated."
    elif level > 0.0 and 1.0 / level > 1.02 * min(contrast):
        text += f" In a black room this projector would reach {1.0 / level:.0f}; the rest is light that the room sends back."
    if evidence.steps:
        step = evidence.steps[0]
        text += f" With the {surface_words(step.surface)} in {step.finish.name} it would be {figure(step.contrast.value)}."
    sure = found.scene.projector.checkerboard_contrast is not None  # an upper bound decides only what lies below
    state = LOOK if min(contrast) < target else GOOD if sure else NOTE
    return Finding(state, "Contrast in the dark", text, "returned")


def _light(evidence: Evidence) -> list[Finding]:
    found = evidence.measurement
    if not found.scene.lights:
        return []
    said, states = [], []
    judged = [verdicts(found.scene, reading, place) for reading, place in zip(found.seats, found.geometry, strict=True)]
    for i, light in enumerate(found.scene.lights):
        worst = min(reading.states[i].checkerboard.value for reading in found.seats)
        standings = [standing for each in judged if (standing := class_standing(each, light.name)) is not None]
        state, words = _class_words(standings)
        said.append(f"{light.name} {TYPESET.of(worst, ':1')} ({words})")
        states.append(state)
    text = f"With light on, the worst seat keeps: {'; '.join(said)}. Classes are those of ANSI/AVIXA V201.01 (second-hand)."
    return [Finding(max(states, key=(GOOD, NOTE, LOOK).index), "Contrast with light on", text, "seats")]


def _class_words(standings: list[ClassStanding]) -> tuple[str, str]:
    """State and words for the worst seat's contrast class: below every class only where that is sure."""
    if any(standing.below_all for standing in standings):
        return LOOK, "below every class"
    reached = [standing.reached for standing in standings]
    sure = [target for target in reached if target is not None]
    if len(sure) < len(reached) or not sure:
        return NOTE, "no class is sure"
    least = min(sure, key=lambda target: target.low or 0.0)
    return GOOD if (least.low or 0.0) >= 15.0 else NOTE, f"enough for {least.name}"


def _flatness(evidence: Evidence) -> Finding:
    found = evidence.measurement
    folds, hang = found.folds, found.scene.screen.hang
    if folds.flat:
        return Finding(NOTE, "Flatness", f"The cloth ({hang}) {flat_words(found.scene.screen)}.", "flatness")
    sight = sight_of(found.scene, folds)
    cloth = "The cloth as stated." if folds.stated else f"The cloth of a {hang} screen, estimated."
    calm = sight.whole_word("high") == NOT_VISIBLE
    state = GOOD if calm else NOTE if sight.whole_word("typical") == NOT_VISIBLE else LOOK
    return Finding(state, "Flatness", f"{cloth} {client_sentence(sight, stated=folds.stated)}", "flatness")


def _sight(evidence: Evidence) -> Finding:
    places = evidence.measurement.geometry
    hidden = [place.hidden_share for place in places]
    width = [place.picture_width_deg for place in places]
    text = f"The picture fills {_degrees(width)} of the view."
    worst = evidence.sights[hidden.index(max(hidden))]
    if max(hidden) >= 0.005:
        by = worst.by[0][0] if worst.by else "something"
        text += f" At {worst.seat} {100 * max(hidden):.0f} % of it is hidden, most by {by}."
    else:
        text += " Nothing is in the way of any seat."
    top = max(place.picture_top_deg for place in places)
    text += f" Its top edge lies at most {top:.0f}° above the eye line."
    target = target_named("width of the picture")
    least = target.low or 0.0
    if min(width) < least:
        text += f" Below {least:g}° ({target.source}, second-hand) a cinema picture counts as small."
    return Finding(GOOD if max(hidden) < 0.005 and min(width) >= least else LOOK, "Sight", text, "sight")


def _degrees(values: list[float]) -> str:
    low, high = f"{min(values):.0f}", f"{max(values):.0f}"
    return f"{low}°" if low == high else f"{low} to {high}°"


def _throw(evidence: Evidence) -> Finding:
    throw = evidence.measurement.throw
    mend = f" With {projector_places(throw.remedies, evidence.measurement.scene)} it would." if throw.remedies else ""
    return Finding(LOOK, "Projector", f"It does not fit where it stands: {throw.lines[-1]}.{mend}", "room", blocks=True)
