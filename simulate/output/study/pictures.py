"""The pictures of a study: main effects, ranking, the front of two figures, a map over two factors."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ...measuring.quantities import BY_KEY
from ...measuring.targets import DARK
from ...studies.effects import MainEffect, main_effects
from ...studies.figures import Findings, StudyFigure, figure_over_variants
from ...studies.outcome import StudyResult
from ...studies.ranking import pareto_front, ranked
from ...studies.study import Study
from .effects_chart import effects_chart
from .front_chart import front_chart
from .map_chart import map_chart
from .ranking_chart import ranking_chart
from .words import where_words

EFFECTS, RANKING, FRONT, MAP = "effects.png", "ranking.png", "front.png", "map.png"


class Wanted(NamedTuple):
    """What is to be drawn.

    figure, against  keys;  state, seat  where, seat "": the worst;  over  two factors of the map, (): the two that tell most
    """

    figure: str
    against: str | None
    state: str = DARK
    seat: str = ""
    over: tuple[str, ...] = ()


def wanted_of(outputs: Sequence[str], figure: str | None = None, against: str | None = None) -> Wanted:
    """What is drawn unless something else is asked for: the first figure of which more or less is better, against the next such."""
    judged = [key for key in outputs if BY_KEY[key].better] or list(outputs)
    first = figure or judged[0]
    rest = [key for key in judged if key != first]
    return Wanted(first, against or (rest[0] if rest else None))


def picture_names(study: Study) -> list[str]:
    """Names of the pictures to come, known before anything runs."""
    wanted = wanted_of(study.outputs)
    names = [EFFECTS, RANKING, *([FRONT] if wanted.against else [])]
    return [*names, *([MAP] if len(study.factors) > 1 else [])]


def study_pictures(found: StudyResult | Findings, wanted: Wanted | None = None) -> dict[str, bytes]:
    """Pictures by name; none of a study of which all variants failed. raises SceneErrors for what the study did not read"""
    labels = found.labels()
    if not labels:
        return {}
    if wanted is None:
        wanted = wanted_of(found.outputs)
        states = [row.state for row in labels if row.key == wanted.figure]
        wanted = wanted if wanted.state in states else wanted._replace(state=states[0], against=None)
    shown, drawn = found.shown(), found.drawn
    columns = [[row[i] for row in shown] for i in range(len(found.factors))]
    figure = figure_over_variants(found, wanted.figure, state=wanted.state, seat=wanted.seat)
    effects = main_effects(found.factors, columns, drawn, figure.stack, found.draws)
    ranking = ranked(figure.stack, figure.better)
    pair = _pair(found, wanted, effects) if len(found.factors) > 1 else None
    other = None
    if wanted.against is not None:
        state = wanted.state if BY_KEY[wanted.against].lit is not None else DARK
        other = figure_over_variants(found, wanted.against, state=state, seat=wanted.seat)
    pictures = {  # all that can be refused is by now
        EFFECTS: effects_chart(found.title, figure, effects, note=_note(figure, drawn)),
        RANKING: ranking_chart(found.title, figure, ranking, found.factors, shown),
    }
    if other is not None:
        front = pareto_front(figure.stack, other.stack, (figure.better, other.better))
        if len(front.front):
            pictures[FRONT] = front_chart(found.title, figure, other, front, found.factors, shown)
    if pair is not None:
        at = [found.factors.index(name) for name in pair]
        sides = (columns[at[0]], columns[at[1]]), (drawn[at[0]], drawn[at[1]])
        draws = found.draws
        pictures[MAP] = map_chart(found.title, figure, pair, *sides, (draws[:, at[0]], draws[:, at[1]]))
    return pictures


def _pair(found: Findings, wanted: Wanted, effects: Sequence[MainEffect]) -> tuple[str, str]:
    """The two factors of the map: those asked for, filled up by those that tell most."""
    from ....scenes.errors import SceneError, SceneErrors

    for name in wanted.over:
        if name not in found.factors:
            raise SceneErrors([SceneError("study", 0, "over", name, "is no factor of the study", ", ".join(found.factors))])
    names = list(dict.fromkeys([*wanted.over, *(effect.factor for effect in effects)]))
    return names[0], names[1]


def _note(figure: StudyFigure, drawn: Sequence[bool]) -> str:
    count = int(np.isfinite(figure.stack[:, 0]).sum())
    bars = "light paths and draw" if any(drawn) else "light paths, with bias bound"
    return f"means over {count:,} variants, {where_words(figure)}; bars: 95 % interval of {bars}"
