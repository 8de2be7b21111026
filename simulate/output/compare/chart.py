"""compare.png: small multiples, folds first if there are any, a row a figure, a column a setting of the other axes, seats along each panel."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from ....scenes.cloth.surface import LEVELS
from ...choices.comparison import Comparison
from ...choices.figures import Figure, seat_figures
from ...measuring.estimate import T_95, estimate
from ...measuring.targets import DARK
from ...measuring.unit import in_unit
from ..drawing import GREY, INK, figure_of, label, png
from ..units import TYPESET

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Drawing

# Okabe and Ito's eight colours, told apart by most colour-blind readers; source: Wong 2011, Nature Methods 8, 441
SERIES = ("#000000", "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00", "#8a7f00")
MARKS = ("o", "s", "^", "D", "v", "P", "X", "*")
_SHOWN = ("white_cd_m2", "uniformity_ratio", "checkerboard_ratio")
_MOST_COLUMNS, _MOST_STATES = 6, 4
_LINE_IN = 0.24


def compare_chart(comparison: Comparison) -> bytes:
    """The chart as PNG bytes: colours and marks for the choices of the longest axis, 95 % intervals where they show.

    Source: small multiples (Tufte 1983); interval = Student's t x standard error + bias bound.
    """
    which = max(range(len(comparison.axes)), key=lambda i: (len(comparison.axes[i].choices), -i))
    columns = _columns(comparison, which)[:_MOST_COLUMNS]
    figures = _figures(comparison)
    choices = comparison.axes[which].choices
    width = max(7.5, 1.4 + sum(_panel_in(comparison) for _ in columns))
    legend = 0.1 + _LINE_IN * -(-len(choices) // _per_line(comparison, which, width))
    top, row = 0.85 + legend + 0.28 * max(title.count("\n") + 1 for title, _ in columns) * (len(columns) > 1), 2.05
    bottom = 0.35 + 0.062 * min(40, max(len(seat.name) for seat in comparison.variants[0].scene.seats))
    folds = bool(comparison.folds)
    rows = len(figures) + folds
    height = top + row * rows + bottom
    drawing = figure_of(width, height)
    grid = drawing.add_gridspec(
        rows,
        len(columns),
        left=0.95 / width,
        right=1 - 0.25 / width,
        top=1 - top / height,
        bottom=bottom / height,
        hspace=0.22,
        wspace=0.09,
    )
    for c, (title, members) in enumerate(columns if folds else ()):
        axes = drawing.add_subplot(grid[0, c])
        _fold_panel(axes, comparison, members)
        _dress(axes, comparison, FOLD_TITLE, first=c == 0, last=False)
        if title:
            axes.set_title(label(title), fontsize=11, color=INK)
    for r, figure in enumerate(figures, folds):
        limits = _limits(comparison, figure)
        for c, (title, members) in enumerate(columns):
            axes = drawing.add_subplot(grid[r, c])
            _panel(axes, comparison, figure, members)
            axes.set_ylim(*limits)
            _dress(axes, comparison, row_title(figure), first=c == 0, last=r == rows - 1)
            if r == 0 and title:
                axes.set_title(label(title), fontsize=11, color=INK)
    _words(drawing, comparison, [choice.label for choice in choices], comparison.axes[which].name, width, height)
    return png(drawing)


def _panel_in(comparison: Comparison) -> float:
    return min(7.0, max(2.6, 0.62 * len(comparison.variants[0].scene.seats)))


def _per_line(comparison: Comparison, which: int, width: float) -> int:
    longest = max(len(choice.label) for choice in comparison.axes[which].choices)
    return max(1, int((width - 1.2) / (0.5 + 0.085 * min(longest, 40))))


def _columns(comparison: Comparison, which: int) -> list[tuple[str, list[int]]]:
    """(title, variants by choice of the series axis) for every setting of the other axes."""
    others = [i for i in range(len(comparison.axes)) if i != which]
    settings = itertools.product(*(comparison.axes[i].choices for i in others))
    found = []
    for setting in settings:
        wanted = {i: choice.label for i, choice in zip(others, setting, strict=True)}
        members = [
            k for k, variant in enumerate(comparison.variants) if all(variant.picks[i] == name for i, name in wanted.items())
        ]
        title = "\n".join(f"{comparison.axes[i].name}: {name}" for i, name in wanted.items())
        found.append((title, members))
    return found


def _figures(comparison: Comparison) -> list[Figure]:
    """White, uniformity, checkerboard in the dark, then the checkerboard in light states that all share."""
    every = [list(seat_figures(each.seats, 0)) for each in comparison.paired]
    shared = [figure for figure in every[0] if all(figure in other for other in every)]
    dark = [figure for figure in shared if figure.state == DARK and figure.key in _SHOWN]
    lit = [figure for figure in shared if figure.state != DARK and figure.key == "checkerboard_ratio"]
    return dark + lit[:_MOST_STATES]


def _values(comparison: Comparison, figure: Figure, variant: int) -> list[tuple[float, float]]:
    """(value, half interval) at each seat in the figure's unit."""
    scale = in_unit(1.0, figure.unit)
    seats = comparison.paired[variant].seats
    found = [estimate(seat_figures(seats, i)[figure]) for i in range(len(seats.scene.seats))]
    return [(scale * v.value, scale * (T_95 * v.standard_error + v.bias_bound)) for v in found]


def _limits(comparison: Comparison, figure: Figure) -> tuple[float, float]:
    """From zero, lest small differences look large; a row shares them."""
    ends = [value + half for k in range(len(comparison.variants)) for value, half in _values(comparison, figure, k)]
    return 0.0, 1.12 * max(ends) if max(ends) > 0.0 else 1.0


def _panel(axes: Axes, comparison: Comparison, figure: Figure, members: list[int]) -> None:
    count = len(members)
    for order, k in enumerate(members):
        found = _values(comparison, figure, k)
        shift = 0.5 * (order - (count - 1) / 2) / max(count, 2)
        places = [i + shift for i in range(len(found))]
        axes.errorbar(
            places,
            [value for value, _ in found],
            yerr=[half for _, half in found],
            ls=":",
            lw=0.8,
            elinewidth=1.4,
            color=SERIES[order % len(SERIES)],
            marker=MARKS[order % len(MARKS)],
            ms=5.5,
            mec="white",
            mew=0.5,
        )


FOLD_TITLE = "folds, low to high\n[eye's threshold = 1]"
_LINEAR_TO = 1.0  # times the threshold; above it the scale is logarithmic


def _fold_panel(axes: Axes, comparison: Comparison, members: list[int]) -> None:
    """Folds over the eye's threshold at each seat: mark = typical, bar = low to high; the line is what an eye can just see."""
    count, most = len(members), max(1.0, *(fold.ratio[level] for fold in comparison.folds for level in LEVELS))
    for order, k in enumerate(members):
        fold = comparison.folds[k]
        shift = 0.5 * (order - (count - 1) / 2) / max(count, 2)
        low, typical, high = (list(fold.by_seat[level].values()) for level in LEVELS)
        bars = [
            [max(0.0, t - b) for t, b in zip(typical, low, strict=True)],
            [max(0.0, b - t) for t, b in zip(typical, high, strict=True)],
        ]
        axes.errorbar(
            [i + shift for i in range(len(typical))],
            typical,
            yerr=bars,
            ls="none",
            elinewidth=1.6,
            color=SERIES[order % len(SERIES)],
            marker=MARKS[order % len(MARKS)],
            ms=5.5,
            mec="white",
            mew=0.5,
            clip_on=False,
        )
    axes.axhline(1.0, color=GREY, lw=1.0, ls="--")
    axes.set_yscale("symlog", linthresh=_LINEAR_TO)
    axes.set_ylim(0.0, 1.6 * most)
    ticks = [tick for tick in (0, 1, 3, 10, 30, 100, 300, 1000) if tick <= 1.6 * most]
    axes.set_yticks(ticks, [f"{tick}" for tick in ticks], minor=False)
    axes.minorticks_off()


def _dress(axes: Axes, comparison: Comparison, title: str, *, first: bool, last: bool) -> None:
    seats = [seat.name for seat in comparison.variants[0].scene.seats]
    axes.set_xlim(-0.6, len(seats) - 0.4)
    axes.set_xticks(range(len(seats)), [label(name) for name in seats] if last else [], rotation=40, ha="right")
    axes.tick_params(labelsize=9, colors=INK)
    axes.grid(axis="y", color="#e6e6e6", lw=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    if first:
        axes.set_ylabel(title, fontsize=10, color=INK)
    else:
        axes.tick_params(labelleft=False)


def row_title(figure: Figure) -> str:
    """A figure's name and unit for an axis, the light state below."""
    unit = TYPESET.sign(figure.unit)
    title = {"uniformity_ratio": "least of nine\n/ centre", "checkerboard_ratio": "checkerboard"}.get(figure.key, figure.title)
    state = "" if figure.state == DARK else f"\nwith {label(figure.state)}"
    return f"{title} [{unit}]{state}"


def _words(drawing: Drawing, comparison: Comparison, names: list[str], axis: str, width: float, height: float) -> None:
    from matplotlib.lines import Line2D

    scene = comparison.variants[0].scene
    drawing.text(0.2 / width, 1 - 0.3 / height, label(scene.title), fontsize=14, weight="bold", color=INK, va="center")
    note = f"{axis} as marks; bars: 95 % interval with bias bound, often smaller than the mark"
    note += "; of folds: low to high" if comparison.folds else ""
    drawing.text(0.2 / width, 1 - 0.6 / height, label(note) if len(note) < 40 else note, fontsize=9.5, color=GREY, va="center")
    marks = [
        Line2D([], [], ls="none", marker=MARKS[i % len(MARKS)], color=SERIES[i % len(SERIES)], ms=7, label=label(name))
        for i, name in enumerate(names)
    ]
    which = next(i for i, each in enumerate(comparison.axes) if each.name == axis)
    drawing.legend(
        handles=marks,
        loc="upper left",
        bbox_to_anchor=(0.12 / width, 1 - 0.75 / height),
        frameon=False,
        fontsize=10,
        ncols=min(len(names), _per_line(comparison, which, width)),
        handletextpad=0.2,
        columnspacing=1.2,
    )
