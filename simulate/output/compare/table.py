"""The terminal report of `compare`: what each variant changes, seat by seat, and what it does not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...choices.comparison import Comparison, varies_cloth
from ...choices.differences import Difference
from ...choices.fabric_models import ModelSpread, why
from ...choices.figures import Figure, seat_figures
from ...choices.turns import Turn
from ...measuring.estimate import T_95, Estimate, estimate
from ...measuring.targets import DARK, UPPER_BOUND, target_named
from ...measuring.unit import in_unit
from ..cautions import CAUTIONS
from ..folds.sentence import fold_sentence
from ..layout import bullet, grid, heading, line, rendered
from ..units import figure as digits
from ..units import spread
from ..warned import gathered
from .folds_table import folds_part

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.table import Table

NONE_FOUND = "no diff."
_TURNS_SHOWN, _STATES = 12, 4
Row = tuple[str, tuple[str, ...]]  # a variant's name and its cells
_SHORT_TITLES = {
    "white_cd_m2": "white\ncd/m2",
    "uniformity_ratio": "min/centre\n%",
    "checkerboard_ratio": "checkerboard\n:1",
    "washout_cd_m2": "wash-out\ncd/m2",
}


def compare_report(comparison: Comparison, console: Console, spread_of_models: tuple[ModelSpread, ...] = ()) -> str:
    """The report as text for a console of any width from 80 columns.

    Source: the project's rule: only what exceeds error and bias bound is called a difference.
    """
    parts: list[RenderableType] = [
        *_head(comparison),
        *_folds_first(comparison),
        *_sizes(comparison),
        *_in_short(comparison),
        *_turned(comparison.turns),
        *_models(spread_of_models, comparison),
        *folds_part(comparison),
        *_seats(comparison),
        *_sureness(comparison),
        heading("Cautions"),
        *(bullet(caution) for caution in CAUTIONS),
    ]
    return rendered(parts, console)


def _head(comparison: Comparison) -> list[RenderableType]:
    scene = comparison.variants[0].scene
    lines = [line(scene.title, "bold"), line(f"{scene.path}: {len(comparison.variants)} variants on the same light paths", "dim")]
    table = grid(header=False)
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    table.add_row("reference", line(comparison.variants[0].label))
    for axis in comparison.axes:
        table.add_row(axis.name, line(" | ".join(choice.label for choice in axis.choices)))
    lines.append(table)
    of_each = [(variant.label, gathered(variant.scene.warnings, variant.scene.seats)) for variant in comparison.variants]
    warned = dict.fromkeys(warning for _, warnings in of_each for warning in warnings)
    if warned:
        lines.append(heading("Warnings"))
        for warning in warned:
            where = [label for label, warnings in of_each if warning in warnings]
            lines.append(bullet(warning.text + ("" if len(where) == len(of_each) else f" [{'; '.join(where)}]")))
    return lines


def _folds_first(comparison: Comparison) -> list[RenderableType]:
    """Where hangs are compared: what folds do with each, before all else. Source: `fold_sentence`."""
    if not comparison.folds or not varies_cloth(comparison.variants):
        return []
    said = [
        f"{variant.label}: {fold_sentence(fold)}." for variant, fold in zip(comparison.variants, comparison.folds, strict=True)
    ]
    return [
        heading("What the folds do"),
        *(bullet(each) for each in said),
        *((line(FLAT_NOTE, "dim"),) if comparison.taken_flat else ()),
    ]


FLAT_NOTE = "The folds are estimates, so white, evenness and contrast below are those of the flat cloth: hangs are told apart by their folds alone."


def _sizes(comparison: Comparison) -> list[RenderableType]:
    """Where sizes or the projector's place differ: whether the throw fits, and how wide the picture looks."""
    shown = {(v.scene.screen.width_m, v.scene.projector.lens_m) for v in comparison.variants}
    if len(shown) < 2:
        return []
    table = grid()
    table.add_column("variant", overflow="fold", min_width=16)
    for title in ("throw\nratio", "fits", "picture looks\nwide, deg"):
        table.add_column(title, justify="right")
    for variant, paired in zip(comparison.variants, comparison.paired, strict=True):
        found = paired.measurement
        wide = [place.picture_width_deg for place in found.geometry]
        table.add_row(
            line(variant.label), f"{found.throw.ratio:.2f}", FITS[found.throw.feasible], f"{min(wide):.0f} to {max(wide):.0f}"
        )
    least = target_named("width of the picture")
    note = f"At least {least.low:g} degrees wide is asked ({least.source}, second-hand); what does not fit is told above, with the remedy."
    return [heading("Throw and size"), table, line(note, "dim")]


FITS = {True: "yes", False: "NO", None: "not stated"}


def _figures_shown(comparison: Comparison) -> list[Figure]:
    """Dark figures of the short table, then the checkerboard in each light state that all variants share."""
    every = [list(seat_figures(each.seats, 0)) for each in comparison.paired]
    shared = [figure for figure in every[0] if all(figure in other for other in every)]
    dark = [figure for figure in shared if figure.state == DARK and figure.key in _SHORT_TITLES]
    return dark + [figure for figure in shared if figure.state != DARK and figure.key == "checkerboard_ratio"]


def _blocks(figures: list[Figure]) -> list[tuple[str, list[Figure]]]:
    """Figures by table, lest columns get too narrow: those of the dark, then checkerboards with lights on, a few at a time."""
    lit = [figure for figure in figures if figure.state != DARK]
    found = [("variant", [figure for figure in figures if figure.state == DARK])]
    return found + [("checkerboard :1,\nwith", lit[i : i + _STATES]) for i in range(0, len(lit), _STATES)]


def _table(first: str, figures: list[Figure]) -> Table:
    table = grid()
    table.add_column(first, overflow="fold", min_width=16)
    for figure in figures:
        if figure.state == DARK:
            table.add_column(_SHORT_TITLES[figure.key], justify="right", no_wrap=True)
        else:
            table.add_column(figure.state, justify="right", min_width=10, overflow="fold")
    return table


def _in_short(comparison: Comparison) -> list[RenderableType]:
    """Least and greatest difference over the seats, and at how many of them there is one."""
    if len(comparison.variants) < 2:
        return [heading("Nothing to compare"), line("There is one variant only.")]
    parts: list[RenderableType] = [heading("In short")]
    for i, (first, figures) in enumerate(_blocks(_figures_shown(comparison))):
        table = _table(first, figures)
        for variant, found in zip(comparison.variants[1:], comparison.differences[1:], strict=True):
            table.add_row(line(variant.label), *(_over_seats([d for d in found if d.figure == f]) for f in figures))
        parts += [line(""), table] if i else [table]
    note = (
        f'Difference from "{comparison.variants[0].label}" in percent, least to greatest over the seats; "{NONE_FOUND}" = '
        "no difference found; in brackets at how many seats there is one, where not at all."
    )
    return [*parts, line(note, "dim")]


def _over_seats(found: list[Difference]) -> str:
    sure = [each for each in found if each.found]
    if not sure:
        return NONE_FOUND
    low, high = min(e.relative.value for e in sure), max(e.relative.value for e in sure)
    said = signed(low) if signed(low) == signed(high) else f"{signed(low)} to\n{signed(high)}"
    return said if len(sure) == len(found) else f"{said}\n({len(sure)} of {len(found)})"


def signed(share: float) -> str:
    """A relative difference in percent with its sign."""
    percent = 100.0 * share
    return f"{percent:+.0f}" if abs(percent) >= 99.5 else f"{percent:+.1f}" if abs(percent) >= 0.95 else f"{percent:+.2g}"


def _turned(found: tuple[Turn, ...]) -> list[RenderableType]:
    """Rankings that change with something else, gathered over the seats."""
    if not found:
        return []
    groups: dict[tuple[str, str, Figure, str, str], list[Turn]] = {}
    for turn in found:
        groups.setdefault((turn.first, turn.second, turn.figure, turn.ahead, turn.behind), []).append(turn)
    lines = []
    for (first, second, figure, ahead, behind), each in list(groups.items())[:_TURNS_SHOWN]:
        state = "" if figure.state == DARK else f" with {figure.state}"
        seats = ", ".join(turn.seat for turn in each)
        worst, best = min(t.by_ahead.value for t in each), max(t.by_behind.value for t in each)
        lines.append(
            bullet(
                f"{figure.title}{state}: with {ahead}, {second} has less than {first} (to {signed(worst)} %); "
                f"with {behind} it has more (to {signed(best)} %). Seats: {seats}."
            )
        )
    if len(groups) > _TURNS_SHOWN:
        lines.append(line(f"  and {len(groups) - _TURNS_SHOWN} more; --json has them all", "dim"))
    return [heading("Where the ranking turns"), *lines]


def _models(found: tuple[ModelSpread, ...], comparison: Comparison) -> list[RenderableType]:
    """What the fabric's model leaves open at each seat."""
    if not found:
        return []
    table = grid()
    table.add_column("seat", overflow="fold")
    table.add_column("figure", overflow="fold")
    for title in ("scene's model", "least", "greatest", "spread %"):
        table.add_column(title, justify="right", no_wrap=True)
    for each in found:
        if each.figure.key not in _SHORT_TITLES:
            continue
        state = "" if each.figure.state == DARK else f" with {each.figure.state}"
        scale = in_unit(1.0, each.figure.unit)
        values = (digits(scale * v.value) for v in (each.reference, each.least, each.greatest))
        said = line(f"{each.figure.title}{state}, {each.figure.unit}")
        table.add_row(line(each.seat), said, *values, f"{100 * each.relative:.1f}")
    note = (
        f"All models meet what is stated of the fabric: {why(comparison.variants[0].scene.screen.fabric)}. The spread is model "
        "uncertainty, beside the standard errors."
    )
    return [heading("Spread over fabric models"), table, line(note, "dim")]


def _seats(comparison: Comparison) -> list[RenderableType]:
    """Tables of each seat, seats with the same figures together: a row a variant, the difference under the value."""
    blocks = _blocks(_figures_shown(comparison))
    note = f'Under each value: difference from "{comparison.variants[0].label}" in percent ± its standard error.'
    groups: dict[tuple[Row, ...], list[str]] = {}
    for seat in comparison.variants[0].scene.seats:
        rows = tuple(row for _, figures in blocks for row in _seat_rows(comparison, seat.name, figures))
        groups.setdefault(rows, []).append(seat.name)
    parts: list[RenderableType] = []
    for rows, names in groups.items():
        parts.append(heading(f"Seat{'s' if len(names) > 1 else ''} {', '.join(names)}"))
        each = len(rows) // len(blocks)
        for k, (first, figures) in enumerate(blocks):
            table = _table(first, figures)
            for label, cells in rows[k * each : (k + 1) * each]:
                table.add_row(line(label), *cells)
            parts += [line(""), table] if k else [table]
    return [*parts, line(note, "dim")]


def _seat_rows(comparison: Comparison, seat: str, figures: list[Figure]) -> list[Row]:
    """A row for each variant that has this seat."""
    found = []
    for variant, paired, differences in zip(comparison.variants, comparison.paired, comparison.differences, strict=True):
        place = next((k for k, other in enumerate(variant.scene.seats) if other.name == seat), None)
        if place is not None:
            stacks = seat_figures(paired.seats, place)
            against = {each.figure: each for each in differences if each.seat == seat}
            cells = tuple(_cell(figure, estimate(stacks[figure]), against.get(figure)) for figure in figures)
            found.append((variant.label, cells))
    return found


def _cell(figure: Figure, value: Estimate, against: Difference | None) -> str:
    scale = in_unit(1.0, figure.unit)
    said = digits(scale * value.value)
    if against is None:
        error = spread(scale * value.standard_error)
        return said + (f"\n±{error}" if error else "")
    if not against.found:
        return f"{said}\n{NONE_FOUND}"
    error = spread(100.0 * against.relative.standard_error)
    return f"{said}\n{signed(against.relative.value)}" + (f" ±{error}" if error else "")


def _sureness(comparison: Comparison) -> list[RenderableType]:
    paired = comparison.paired
    reached, asked = 100.0 * comparison.error_reached, 100.0 * comparison.error_asked
    count = sum(len(found) for found in comparison.differences)
    used = comparison.ledger
    lines = [
        f"{paired[0].measurement.paths:,} light paths for each variant, the same ones, seed {comparison.seed}, "
        f"{comparison.elapsed_s:.1f} s{'' if used is None or used.retraced else f', all from {used.file}: none was traced'}.",
        *(f"{used.file}: {sentence}." for used in (comparison.ledger,) if used is not None for sentence in used.retraced),
        f"Largest standard error of a value {reached:.2g} % (asked {asked:.2g} %); differences are surer than values, as "
        "the paths are shared.",
        f"A difference is called one above {T_95:.2f} standard errors (16 replications) plus its bias bound; of {count} "
        f"comparisons about one in twenty of those without any difference may still pass.",
    ]
    if not comparison.met:
        lines.insert(0, "NOT AS PRECISE AS ASKED: the cap on paths was met first.")
    if any(variant.scene.projector.checkerboard_contrast is None for variant in comparison.variants):
        lines.append(f"Checkerboard: {UPPER_BOUND}, as the lens's own contrast is not stated.")
    if any(variant.scene.projector.in_use is None for variant in comparison.variants):
        lines.append("Luminance: for the rated light output, not in-use.")
    return [heading("How sure"), *(line(said) for said in lines)]
