"""The plan and the outcome of a study, for the terminal."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from ...measuring.targets import DARK
from ...studies.cost import Cost
from ...studies.effects import main_effects
from ...studies.factors import Factor, LevelFactor, SpreadFactor
from ...studies.figures import figure_over_variants
from ...studies.outcome import StudyResult
from ...studies.plan import StudyPlan
from ..layout import bullet, grid, heading, line, rendered
from ..units import PLAIN
from .document import MOVES_WORDS
from .words import where_words

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

_MOST_FAILED, _MOST_FIGURES = 5, 6
_NUMBER = re.compile(r"\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")


def plan_report(plan: StudyPlan, cost: Cost | None, workers: int, console: Console, *, kept: int = 0) -> str:
    """What will be made, and what it takes: factors with what they move, counts, seconds."""
    study, counts = plan.study, plan.counts
    parts: list[RenderableType] = [heading(study.title)]
    table = grid()
    for name in ("factor", "values", "moves"):
        table.add_column(name)
    for factor, moves in zip(study.factors, plan.moves, strict=True):
        table.add_row(factor.name, factor_words(factor), MOVES_WORDS[moves])
    parts.append(table)
    parts.append(line(""))
    parts.append(line(f"{counts.variants:,} variants: {counts_words(plan)}"))
    if study.drawn:
        parts.append(line(f"drawn by {study.design.method}, {study.design.samples:,} samples, seed {study.design.seed}"))
    parts.append(line(f"read: {', '.join(study.outputs)}; error {100 * study.error:g} %, seed {study.seed}"))
    if kept:
        parts.append(line(f"kept from before: {kept:,} variants; those among them that this study has are not done again"))
    parts.append(line(cost_words(plan, cost, workers)))
    return rendered(parts, console)


def counts_words(plan: StudyPlan) -> str:
    """How often light is traced, mapped and put in, and that all else is read."""
    counts = plan.counts
    words = [f"light traced for {_count(counts.paths, 'geometry', 'geometries')}"]
    if counts.places > counts.paths:
        words.append(f"mapped for {_count(counts.places, 'place', 'places')} of seats and lens")
    if counts.fabrics > counts.places:
        words.append(f"{_count(counts.fabrics, 'fabric', 'fabrics')} put in")
    return ", ".join(words) + ", all else read from that"


def cost_words(plan: StudyPlan, cost: Cost | None, workers: int) -> str:
    """Seconds in all, and a thing."""
    if cost is None:
        return "cost: not known, the first variants cannot be"
    whole, counts = cost.of(plan.counts), plan.counts
    each = [f"geometry {_seconds(cost.paths)}"]
    each += [f"place {_seconds(cost.places)}"] if counts.places > counts.paths else []
    each += [f"fabric {_seconds(cost.fabric)}"] if counts.fabrics > counts.places else []
    each += [f"variant {_seconds(cost.variant)}"] if cost.variant else []
    spread = f", {_seconds(whole / workers)} on {workers} workers" if workers > 1 else ""
    return f"cost here: about {_seconds(whole)} of one worker{spread} ({', '.join(each)})"


def study_report(result: StudyResult, console: Console) -> str:
    """What came of it, the failed by name."""
    done = sum(1 for key in result.keys if key)
    parts: list[RenderableType] = [
        line(f"{done:,} of {len(result.keys):,} variants have figures, in {_seconds(result.elapsed_s)}")
    ]
    if result.known or result.same:
        parts.append(line(f"of them {result.known:,} kept from before, {result.same:,} equal to another"))
    parts += [line(words) for words in effect_words(result)]
    if result.failed:
        parts.append(heading(f"{len(result.failed):,} variants failed"))
        parts += [bullet(words) for words in failed_words(result)]
    return rendered(parts, console)


def effect_words(result: StudyResult) -> list[str]:
    """Each figure's range over the variants at the worst seat in the dark, and the factors that bring most of its variance."""
    found, shown = [], result.shown()
    columns = [[row[i] for row in shown] for i in range(len(result.factors))]
    for key in result.outputs[:_MOST_FIGURES]:
        if not any(row.key == key and row.state == DARK for row in result.labels()):
            continue
        figure = figure_over_variants(result, key)
        there = figure.stack[np.isfinite(figure.stack[:, 0]), 0]
        low, high = (PLAIN.of(float(end), figure.unit) for end in (there.min(), there.max()))
        effects = main_effects(result.factors, columns, result.drawn, figure.stack, result.draws)[:3]
        shares = ", ".join(
            f"{effect.factor} {100 * effect.share.value:.0f} %" for effect in effects if effect.share.value >= 0.005
        )
        told = f"; of its variance {shares}" if shares else ""
        found.append(f"{figure.title}, {where_words(figure)}: {low} to {high}{told}")
    return found


def failed_words(result: StudyResult) -> list[str]:
    """Failed variants by what is wrong, the first of each with its values; what is too much is counted."""
    alike: dict[str, list[int]] = {}
    for number, why in result.failed.items():
        alike.setdefault(_NUMBER.sub("x", why.splitlines()[0]), []).append(number)
    shown, found = result.shown(), []
    for numbers in list(alike.values())[:_MOST_FAILED]:
        first = numbers[0]
        values = zip(result.factors, shown[first - 1], strict=True)
        named = ", ".join(f"{name} {value:.6g}" if isinstance(value, float) else f"{name} {value}" for name, value in values)
        more = f", and {len(numbers) - 1:,} others for the same reason" if len(numbers) > 1 else ""
        found.append(f"variant {first} ({named}){more}: {result.failed[first].splitlines()[0]}")
    if len(alike) > _MOST_FAILED:
        found.append(f"and {len(alike) - _MOST_FAILED:,} other reasons, all in failed.csv")
    return found


def factor_words(factor: Factor) -> str:
    """A factor's values in a few words."""
    if isinstance(factor, LevelFactor):
        words = [f"{each:g}" if isinstance(each, float) else each for each in factor.shown]
        return ", ".join(words) if len(words) <= 6 else f"{words[0]}, {words[1]} ... {words[-1]} ({len(words)})"
    return spread_words(factor)


def spread_words(factor: SpreadFactor) -> str:
    """A spread as it was given."""
    if factor.range is not None:
        return f"{factor.range[0]:g} to {factor.range[1]:g}, {factor.kind}"
    about = "its value" if factor.value is None else f"{factor.value:g}"
    unit = {"": "", "%": " %", "m": " m"}
    if factor.kind == "normal":
        return f"{about} ± {factor.high.value:g}{unit[factor.high.unit]} (standard deviation)"
    low, high = factor.low, factor.high
    if low.value == -high.value and low.unit == high.unit:
        return f"{about} ± {high.value:g}{unit[high.unit]}, {factor.kind}"
    return f"{about} {low.value:+g}{unit[low.unit]} to {high.value:+g}{unit[high.unit]}, {factor.kind}"


def _count(number: int, one: str, many: str) -> str:
    return f"{number:,} {one if number == 1 else many}"


def _seconds(seconds: float) -> str:
    if seconds < 0.1:
        return f"{1e3 * seconds:.2g} ms"
    if seconds < 90.0:
        return f"{seconds:.2g} s"
    return f"{seconds / 60.0:.0f} min" if seconds < 5400.0 else f"{seconds / 3600.0:.1f} h"
