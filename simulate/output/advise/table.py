"""The terminal report of `advise`: evidence, a set of good choices, trade rules apart, what would change it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....materials.hangs import Hang
from ....scenes.warning import WarningCode
from ...choices.advice import Advice
from ...choices.aims import Aim, shares_of_best
from ...choices.choosing import fold_on
from ...choices.flips import CINEMA_CD_M2
from ...choices.floors import Floor
from ...choices.rules import SOURCE
from ...measuring.targets import DARK, RATED, UPPER_BOUND
from ...measuring.unit import in_unit
from ..cautions import CAUTIONS
from ..folds.sentence import fold_sentence
from ..layout import bullet, grid, heading, line, rendered
from ..units import figure as digits
from ..warned import gathered
from .role_words import role_words

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

IN_USE = "in-use light output"


def advise_report(advice: Advice, console: Console, *, full: bool = False) -> str:
    """The report as text for a console of 80 columns or more: what to take first and last, at most five fabrics.

    full  True: all good fabrics, what was left out, the rules of the trade and the cautions too
    Source: the project's own form.
    """
    parts: list[RenderableType] = [
        line(advice.scene.title, "bold"),
        line(f"{advice.scene.path}, sha256 {advice.scene.sha256[:12]}", "dim"),
        *_misfits(advice),
        line(conclusion(advice), "bold"),
        *_used(advice),
        *_good(advice, full),
        *_not_serving(advice),
        *(_left_out(advice) if full else ()),
        *_hangs(advice),
        *_changes(advice),
        *(_rules(advice) if full else ()),
        *((heading("Cautions"), *(bullet(caution) for caution in CAUTIONS)) if full else (_more(advice),)),
        heading("In one line"),
        line(conclusion(advice), "bold"),
    ]
    return rendered(parts, console)


def conclusion(advice: Advice) -> str:
    """The one answer in one sentence: which fabric on which hang, why that hang, the price of the two."""
    take = advice.take
    fold = fold_on(next(each for each in advice.hangs if each.hang == take.hang), take.fabric)
    price = "" if take.price is None else f", {take.price:g} together"
    waived = "".join(f"; no fabric reaches the floor: {WAIVED_WORDS[floor]}" for floor in advice.waived)
    return f'Take "{take.fabric}" on {ON_HANG[take.hang]}{price}. {fold_sentence(fold)}{waived}.'


ON_HANG = {
    Hang.FIXED_FRAME: "a fixed frame",
    Hang.TAB_TENSIONED: "a tab-tensioned screen",
    Hang.MOTORISED: "a motorised screen",
    Hang.PULL_DOWN: "a pull-down screen",
}
WAIVED_WORDS = {Floor.TOO_DARK: "all are too dark, more light output is the first thing to buy", Floor.HOT_SPOT: "all are uneven"}


def _misfits(advice: Advice) -> list[RenderableType]:
    """What does not fit comes before all advice."""
    first = [each for each in advice.scene.warnings if each.code in (WarningCode.DOES_NOT_FIT, WarningCode.IN_BEAM)]
    return [heading("First"), *(bullet(each.text) for each in gathered(first, advice.scene.seats))] if first else []


def _more(advice: Advice) -> RenderableType:
    rest = len(advice.good) - len(advice.roles)
    return line(
        f"--full adds {rest} more fabrics that serve, {len(advice.beaten)} that others beat, {len(advice.rules)} rules of the trade "
        "that apply, and the cautions.",
        "dim",
    )


def _not_serving(advice: Advice) -> list[RenderableType]:
    """Fabrics below a floor, with the floor."""
    refused = advice.refused
    return [heading("Do not serve here"), *(bullet(f"{name}: {why}") for name, why in refused.items())] if refused else []


def basis(advice: Advice) -> tuple[str, str]:
    """Which light output and which contrast the advice rests on, in words."""
    projector = advice.scene.projector
    lumens = (
        f"{projector.light_output_lm:g} lm, {RATED}"
        if projector.in_use is None
        else f"{projector.light_output_lm:g} lm x {projector.in_use:g}, the {IN_USE}"
    )
    contrast = (
        f"{UPPER_BOUND}, as the lens's own checkerboard contrast is not stated"
        if projector.checkerboard_contrast is None
        else f"room and lens together; the lens's own checkerboard contrast is {projector.checkerboard_contrast:g}:1"
    )
    return lumens, contrast


def _used(advice: Advice) -> list[RenderableType]:
    lumens, contrast = basis(advice)
    wishes, facts = advice.wishes, advice.facts
    free = "not said" if wishes.free_hanging is None else "yes" if wishes.free_hanging else "no"
    said = [
        f"use {wishes.use or 'not said'}",
        *(
            text
            for text, on in (
                ("speakers behind the screen", wishes.speakers_behind),
                ("the wall must be clear after use", wishes.clear_wall),
                ("small children", wishes.children),
                ("dust", wishes.dust),
            )
            if on
        ),
        f"free-hanging: {free}",
    ]
    table = grid(header=False)
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    table.add_row("asked", line(", ".join(said)))
    table.add_row("luminance", line(f"for {lumens}"))
    table.add_row("contrast", line(contrast))
    table.add_row(
        "scene",
        line(
            f"throw ratio {facts.throw_ratio:.2f}, {facts.diagonal_in:.0f} inches, seats to {facts.farthest_deg:.0f} deg off axis"
            + (f", brightest light state {100 * facts.bright:.0f} % of the picture's light" if facts.bright else ", no lights")
        ),
    )
    return [table]


def short_title(aim: Aim) -> str:
    """A column title of an aim, unit in it."""
    state = "dark" if aim.figure.state == DARK else aim.figure.state
    return {"white_cd_m2": "dimmest\nseat\ncd/m2", "uniformity_ratio": "min/\ncentre\n%"}.get(
        aim.figure.key, f"contrast\n{state}\n:1"
    )


def _good(advice: Advice, full: bool) -> list[RenderableType]:
    table = grid()
    table.add_column("fabric (flat)", min_width=14)
    for aim in advice.aims:
        table.add_column(short_title(aim), justify="right", max_width=9)
    priced = any(pair.price is not None for pair in advice.pairs.values())
    if priced:
        table.add_column("price\nwith hang", justify="right", min_width=9)
    order = sorted(advice.good, key=lambda name: (list(advice.roles).index(name) if name in advice.roles else 99, name))
    for name in order if full else [name for name in order if name in advice.roles]:
        cells = []
        for aim in advice.aims:
            scale = in_unit(1.0, aim.figure.unit)
            cells.append(digits(scale * advice.of(name).value(aim).value))
        if priced:
            cells.append(_price(advice, name))
        table.add_row(line(("* " if name in advice.roles else "  ") + name), *cells)
    floors = "the floors that any fabric meets here" if advice.waived else "the floors"
    notes = (
        f"{len(advice.evidence)} fabrics were measured in this room on the same light paths; {len(advice.good)} meet {floors} and no "
        "other beats them: for each, another is better in one aim only at a cost in another.",
        f"Every figure at its worst seat; {weighing(advice)}; advantages under 2 % do not count.",
    )
    said = [bullet(f"{name}: {', '.join(role_words(roles))}", mark="*") for name, roles in advice.roles.items()]
    shares = shares_of_best([advice.of(name) for name in advice.good], advice.aims)[advice.balanced]
    weakest = min(shares, key=lambda aim: shares[aim])
    least = f"{100 * shares[weakest]:.0f} % of the best in every aim (weakest: {weakest.title})"
    said.append(bullet(f"{advice.balanced} keeps at least {least}.", mark=" "))
    return [heading("Fabrics that serve"), table, *said, *(line(note, "dim") for note in notes)]


def weighing(advice: Advice) -> str:
    """How the aims weigh, in words."""
    wishes = advice.wishes
    said = [] if wishes.first_aim is None else [f"{wishes.first_aim} comes first"]
    said += [f"{name} weighs {weight:g}" for name, weight in wishes.weights.items()]
    return ", ".join(said) if said else "all aims weigh alike"


def _price(advice: Advice, name: str) -> str:
    """Of the fabric and the hang that is advised with it."""
    pair = advice.pairs.get(name)
    return "-" if pair is None or pair.price is None else f"{pair.price:g}\n{pair.hang}"


def _left_out(advice: Advice) -> list[RenderableType]:
    groups: dict[str, list[str]] = {}
    for name, beaten in advice.beaten.items():
        groups.setdefault(beaten, []).append(name)
    lines = [f"{', '.join(names)}: {by} is at least as good in every aim and better in one" for by, names in groups.items()]
    return [heading("Left out"), *(bullet(said) for said in lines)] if lines else []


def _hangs(advice: Advice) -> list[RenderableType]:
    parts: list[RenderableType] = [heading("Hangs")]
    for each in advice.hangs:
        prices = advice.wishes.prices
        price = f", {prices[each.hang]:g} without the fabric" if each.hang in prices else ""
        parts.append(line(f"{each.hang}{price}" + ("" if each.possible else " (cannot be)"), "bold"))
        parts += [bullet(reason, indent=2) for reason in each.reasons]
    note = "Folds at the worst seat, in an even bright field; several of the shapes are our own scale estimates."
    return [*parts, line(note, "dim")]


def changes(advice: Advice) -> list[str]:
    """What would change the advice, a sentence each with the figure at which it turns [lx at the screen, lm or contrast]."""
    found = []
    for flip in advice.flips:
        lx = flip.screen_lx
        found.append(
            f"Ambient light: below {digits(lx.value)} lx at the screen {flip.first} has more contrast at its worst seat than "
            f"{flip.second}, above it less (±{lx.standard_error:.1g} lx)."
        )
    for name, limits in advice.limits.items():
        if limits:
            said = ", ".join(f"{limit:g}:1 up to {digits(lx)} lx" for limit, lx in limits.items())
            found.append(f"With {name} the worst seat keeps {said} at the screen.")
    projector = advice.scene.projector
    have = projector.light_output_lm * (projector.in_use or 1.0)
    kind = "rated" if projector.in_use is None else "in-use"
    for name, lumens in advice.lumens.items():
        found.append(
            f"With {name} the dimmest seat has {CINEMA_CD_M2:g} cd/m2 (SMPTE ST 431-1) at {lumens:.0f} lm; "
            f"{have:.0f} {kind} lm are there."
        )
    if advice.repaint is not None:
        found.append(repaint_words(advice))
    return found


def repaint_words(advice: Advice) -> str:
    """What painting one surface dark would do to the shortlisted fabrics."""
    paint = advice.repaint
    if paint is None:
        return ""
    said = ", ".join(f"{name} {digits(paint.before[name])} to {digits(paint.after[name])}:1" for name in paint.before)
    lead = (
        f"the lead goes from {paint.lead_before} to {paint.lead_after}"
        if paint.lead_before != paint.lead_after
        else f"{paint.lead_before} keeps the lead"
    )
    cost = f"{paint.area_m2:.1f} m2" + ("" if paint.price is None else f", {paint.price:.0f} in all")
    return f"Paint: {paint.surface} in {paint.finish} ({cost}): contrast in the dark at the worst seat {said}; {lead}."


def _changes(advice: Advice) -> list[RenderableType]:
    return [heading("What would change this"), *(bullet(each) for each in changes(advice))]


def _rules(advice: Advice) -> list[RenderableType]:
    """Apart from the evidence; Source: SOURCE."""
    parts: list[RenderableType] = [heading(f"Rules of the trade ({SOURCE})")]
    if not advice.rules:
        parts.append(line("None applies to this scene."))
    words = {"agrees": "evidence agrees", "disagrees": "evidence disagrees", "no evidence": "no evidence either way"}
    for rule in advice.rules:
        parts.append(bullet(f"{rule.says} [{SOURCE}]\nhere: {rule.because}. {words[rule.evidence]}: {rule.computed}."))
    if advice.silent_rules:
        parts.append(line("Not for this scene:"))
        parts += [bullet(f"{rule.says} [{SOURCE}]; here: {rule.because}", "dim") for rule in advice.silent_rules]
    return parts
