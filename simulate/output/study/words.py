"""Words that tables and pictures of studies share."""

from __future__ import annotations

from collections.abc import Sequence

from ...measuring.targets import DARK
from ...studies.effects import MainEffect
from ...studies.factors import Shown
from ...studies.figures import StudyFigure
from ..drawing import label
from ..units import TYPESET


def figure_title(figure: StudyFigure, *, short: bool = False) -> str:
    """A figure with its unit; where and in which light, unless short."""
    unit = f" [{TYPESET.sign(figure.unit)}]" if figure.unit else ""
    return f"{figure.title}{unit}" if short else f"{figure.title}{unit}, {where_words(figure)}"


def where_words(figure: StudyFigure) -> str:
    """The seat and the light of a figure."""
    seat = label(figure.seat) if figure.seat else ("worst seat" if figure.better else "mean over the seats")
    return seat if figure.state == DARK else f"{seat}, {label(figure.state)}"


def share_words(effect: MainEffect) -> str:
    """The share of the variance that a factor brings."""
    percent, error = 100.0 * effect.share.value, 100.0 * effect.share.standard_error
    if percent < 0.5 and error < 0.5:
        return "next to nothing"
    return f"{percent:.0f} % of the variance" if error < 0.5 else f"{percent:.0f} ± {error:.0f} % of the variance"


def variant_words(names: Sequence[str], shown: Sequence[Shown], *, most: int = 60) -> str:
    """The values of a variant in the order of the factors; names alone where values speak for themselves."""
    parts = [f"{name} {value:.4g}" if isinstance(value, float) else value for name, value in zip(names, shown, strict=True)]
    text = ", ".join(parts)
    return text if len(text) <= most else text[: most - 1] + "…"
