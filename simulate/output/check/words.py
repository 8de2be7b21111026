"""What `check` found, in sentences: for the terminal, the hand-over sheet and the document alike."""

from __future__ import annotations

import math
from collections.abc import Iterable

from ....materials.text.plain import plain
from ...commissioning.check import Check, Compared, Estimated
from ...commissioning.correction import KeyChange
from ...commissioning.meters import Meter
from ...commissioning.parameter import Parameter, ParameterKind
from ...commissioning.site_reading import BLACK_PATCHES, BOARDS, MIDDLE, NINE_PLACES, WHITE_PATCHES, ShownPicture, SiteReading
from ...commissioning.suspects import Suspect, What
from ...commissioning.told_apart import Pair
from ...measuring.targets import DARK
from ..units import PLAIN, figure

_WORTH_SAYING = 0.25  # probability from which a suspect that was not taken is told
_UNUSUAL = 0.05
WOULD_TELL = {
    ParameterKind.LUMENS: "lux at the nine points of the white picture",
    ParameterKind.GAIN: "both lux at the screen and cd/m2 from a seat",
    ParameterKind.REFLECTANCE: "patches of the checkerboard from the seats",
    ParameterKind.EVENNESS: "lux at all nine points",
    ParameterKind.NATIVE: "a black picture from a seat, in the dark",
    ParameterKind.LENS: "black patches of the checkerboard, white and black picture beside them",
    ParameterKind.AMBIENT: "lux at the screen with the projector off",
}


def percent(value: float) -> str:
    """A probability as people say it."""
    if value > 0.99:
        return "more than 99 %"
    return f"{100.0 * value:.0f} %" if value >= 0.01 else "less than 1 %"


def to_width(value: float, width: float) -> str:
    """A value to the second digit of the width it is known to: 0.678, 1600; nought where it is none beside that width."""
    if not (math.isfinite(value) and width > 0.0):
        return figure(value)
    decimals = 1 - math.floor(math.log10(width))
    rounded = round(value, decimals)
    return "0" if rounded == 0.0 else f"{rounded:.{max(decimals, 0)}f}"


def amount(value: float, unit: str) -> str:
    """A parameter's value with its unit."""
    return PLAIN.of(value, unit) if unit else figure(value)


def ends(low: float, high: float) -> str:
    """An interval as its two ends."""
    return f"{to_width(low, high - low)} to {to_width(high, high - low)}"


def estimate(each: Estimated) -> str:
    """A parameter's value to the width it is known to."""
    return to_width(each.value, each.high - each.low)


def interval(each: Estimated) -> str:
    """Value and its 95 % interval: 812 lm (780 to 845)."""
    unit = each.parameter.unit
    return f"{PLAIN.written(estimate(each), unit) if unit else estimate(each)} ({ends(each.low, each.high)})"


def built(change: KeyChange) -> str:
    """The value of the scene as built, to the width it is known to, with its unit."""
    unit, text = change.by.parameter.unit, to_width(change.value, change.by.high - change.by.low)
    return f"as built {PLAIN.written(text, unit) if unit else text}"


def stated(each: Estimated) -> str:
    """What the scene says of it."""
    return "not stated" if each.parameter.stated is None else f"stated {amount(each.parameter.stated, each.parameter.unit)}"


def reading_name(reading: SiteReading) -> str:
    """A reading in few words under a heading that names its meter: "white 5", "black patches, sofa left"."""
    place = "" if reading.place == MIDDLE else f" {reading.place}"
    what = reading.shown.value + place
    if reading.shown is ShownPicture.CHECKERBOARD:
        what = reading.place if reading.place in (WHITE_PATCHES, BLACK_PATCHES) else f"patch {reading.place}"
    return plain(", ".join(part for part in (what, reading.seat, "" if reading.light == DARK else reading.light) if part))


def headline(check: Check) -> str:
    """How many readings are as promised."""
    agree, count = sum(each.agrees for each in check.compared), len(check.compared)
    if agree == count:
        return f"All {count} readings are as promised, within both uncertainties." if count > 1 else "The reading is as promised."
    return f"{agree} of {count} readings are as promised, within both uncertainties."


def findings(check: Check) -> list[str]:
    """What explains the differences: finishes and readings that are other than stated, then all that lies outside its interval."""
    said = [_found(check, each) for each in check.finding.found]
    opened = {i for each in check.finding.found if each.what is What.FINISH for i in each.places}
    said += [
        f"{_capital(each.parameter.title)}: {interval(each)}, {stated(each)}."
        for i, each in enumerate(check.estimates)
        if each.differs and i not in opened and each.parameter.kind is not ParameterKind.METER
    ]
    said += _perhaps(check)
    return said or ["Nothing is found to be other than stated."]


def _found(check: Check, suspect: Suspect) -> str:
    if suspect.what is What.READING:
        each = check.compared[suspect.places[0]]
        unit = each.reading.unit
        return (
            f'The reading "{check.named(suspect)}" is wrong ({percent(suspect.probability)}): {PLAIN.of(each.reading.value, unit)} where all '
            f"others say {PLAIN.of(each.explained, unit)}; it is left out. Take it again."
        )
    estimates = [check.estimates[i] for i in suspect.places]
    values = "; ".join(f"{each.parameter.what} {interval(each)}, {stated(each)}" for each in estimates)
    paint = estimates[0].parameter.paint
    return f"Another finish than {paint} ({percent(suspect.probability)}): reflectance of {values}."


def _perhaps(check: Check) -> list[str]:
    """What else may be other than stated, where that is likely enough to say; no one of them is likely enough to be taken."""
    others = check.finding.others
    whole = sum(each.probability for each in others)
    if whole < _WORTH_SAYING:
        return []
    named = ", or ".join(f"{_thing(check, each)} ({percent(each.probability)})" for each in others[:3])
    return [f"Perhaps ({percent(whole)}) one thing more is other than stated; these readings do not tell which: {named}."]


def _thing(check: Check, suspect: Suspect) -> str:
    name = check.named(suspect)
    return f'the reading "{name}"' if suspect.what is What.READING else f"the finish of {name}"


def pair_words(check: Check, pair: Pair) -> str:
    """Two things known only together."""
    first, second = check.estimates[pair.first].parameter, check.estimates[pair.second].parameter
    kinds = {first.kind, second.kind}
    if kinds == {ParameterKind.LUMENS, ParameterKind.GAIN}:
        together = "product" if pair.together > 0 else "ratio"
        lux = "Finer lux" if any(_white_lux(each.reading) for each in check.compared) else "Lux"
        return f"{_capital(first.title)} and {second.title}: only their {together} is known. {lux} at the screen would part them."
    if kinds == {ParameterKind.NATIVE, ParameterKind.AMBIENT}:
        lux = "Finer lux" if _were_read(check, first if first.kind is ParameterKind.AMBIENT else second) else "Lux"
        return f"{_capital(first.title)} and {second.title}: only their effect together is known. {lux} with the projector off would part them."
    how = "what one has more the other has less" if pair.together > 0 else "both more or both less"
    return f"{_capital(first.title)} and {second.title}: only their effect together is known ({how})."


def untold(check: Check) -> list[str]:
    """What the readings do not tell, by what would; where that was read, by finer readings of it."""
    found: dict[str, list[str]] = {}
    for each in check.estimates:
        if not each.informed and each.parameter.kind is not ParameterKind.METER:
            finer = "finer readings than these of " if _were_read(check, each.parameter) else ""
            found.setdefault(finer + WOULD_TELL[each.parameter.kind], []).append(each.parameter.title)
    return [f"{_capital(_joined(titles))}. It takes {would}." for would, titles in found.items()]


def _were_read(check: Check, parameter: Parameter) -> bool:
    """Whether what WOULD_TELL names for a parameter is among the readings."""
    readings = [each.reading for each in check.compared]
    nine = set(NINE_PLACES) <= {each.place for each in readings if _white_lux(each)}
    seen = {each.shown for each in readings if each.meter is Meter.LUMINANCE}
    patches = not seen.isdisjoint(BOARDS)
    return {
        ParameterKind.LUMENS: nine,
        ParameterKind.GAIN: bool(seen) and any(map(_white_lux, readings)),
        ParameterKind.REFLECTANCE: patches,
        ParameterKind.EVENNESS: nine,
        ParameterKind.NATIVE: ShownPicture.BLACK in seen,
        ParameterKind.LENS: patches and {ShownPicture.WHITE, ShownPicture.BLACK} <= seen,
        ParameterKind.AMBIENT: any(each.shown is ShownPicture.OFF and each.light == parameter.what for each in readings),
    }[parameter.kind]


def _white_lux(reading: SiteReading) -> bool:
    return reading.meter is Meter.ILLUMINANCE and reading.shown is ShownPicture.WHITE


def strain(check: Check) -> str:
    """Whether the readings are what scene, meters and what is held beforehand let expect."""
    first, last = check.finding.chance
    if not check.finding.found and sum(each.probability for each in check.finding.others) >= _WORTH_SAYING and not check.strained:
        return ""
    if check.strained:
        return (
            f"Even so the readings do not fit together (chance {percent(last)}): what is wrong is none of the things that were asked "
            "for, and the intervals are too short."
        )
    if check.finding.found:
        return (
            f"With that, readings as far off as these are to be expected of such a room and such meters (chance {percent(last)})."
        )
    if first >= _UNUSUAL:
        return f"Readings as far off as these are to be expected of such a room and such meters (chance {percent(first)})."
    return (
        f"Readings as far off as these are unusual for such a room and such meters (chance {percent(first)}), but no other finish and "
        "no wrong reading stands out as the reason."
    )


def reading_words(each: Compared) -> str:
    """Promised and measured in a few words."""
    unit = each.reading.unit
    return f"{PLAIN.of(each.predicted, unit)} promised, {PLAIN.of(each.reading.value, unit)} measured"


def _joined(words: Iterable[str]) -> str:
    return ", ".join(words)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
