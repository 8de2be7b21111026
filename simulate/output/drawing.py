"""What all pictures share: figures without a window, PNG bytes, colours, names that are not taken for formulas."""

from __future__ import annotations

import io
import warnings
from typing import TYPE_CHECKING, Any

import numpy as np

from ...scenes.quiet import quiet_drawing
from .units import foot_lamberts

if TYPE_CHECKING:
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure

COLOURS = "cividis"  # perceptually even, also for most colour-blind readers (Nunez et al. 2018, PLOS ONE 13(7))
DOTS_PER_INCH = 150
INK, GREY, FAINT = "#222222", "#6b6b6b", "#d9d9d9"
_MOST_LETTERS = 40
quiet_drawing()


def figure_of(width_in: float, height_in: float) -> Figure:
    """An empty figure on the file-only canvas, size in [in]; no window system is touched. Source: matplotlib's Agg."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in), dpi=DOTS_PER_INCH, facecolor="white")
    FigureCanvasAgg(figure)
    return figure


def png(figure: Figure) -> bytes:
    """A figure as PNG bytes, without dates, so that the same numbers give the same file. Source: PNG, ISO/IEC 15948."""
    from .lettering import give_fallbacks

    give_fallbacks(figure)
    data = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # letters that no installed font has are drawn as boxes
        figure.savefig(data, format="png", metadata={"Software": "halfgain"})
    return data.getvalue()


def pixels(figure: Figure) -> np.ndarray:
    """A figure as sRGB (rows, columns, 3), uint8, the pixels of its `png`."""
    from .lettering import give_fallbacks

    give_fallbacks(figure)
    canvas: Any = figure.canvas
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # letters that no installed font has are drawn as boxes
        canvas.draw()
    return np.array(canvas.buffer_rgba())[..., :3]


def label(name: str) -> str:
    """A user's name as text to draw: dollar signs do not start a formula, long names are cut."""
    return plain(name if len(name) <= _MOST_LETTERS else name[: _MOST_LETTERS - 1] + "…")


def plain(text: str) -> str:
    """Text to draw as it is: dollar signs do not start a formula."""
    return text.replace("$", r"\$")


def luminance_range(low: float, high: float) -> tuple[float, float]:
    """Ends of a colour scale [cd/m2]: it spans at least a tenth of the brightest, lest noise be painted as contrast."""
    high = high if high > 0.0 else 1.0
    return min(low, 0.9 * high), high


def luminance_bar(figure: Figure, mappable: Any, place: tuple[float, float, float, float], title: str) -> None:
    """An upright colour bar, [cd/m2] on its left and [fL] on its right; `place` left, low, width, height in figure fractions."""
    axes = figure.add_axes(place)
    figure.colorbar(mappable, cax=axes)
    axes.yaxis.set_ticks_position("left")
    axes.yaxis.set_label_position("left")
    axes.set_ylabel(f"{title} [cd/m²]", fontsize=11, color=INK)
    axes.tick_params(labelsize=10)
    low, high = mappable.get_clim()
    other = axes.twinx()
    other.set_ylim(foot_lamberts(low), foot_lamberts(high))
    other.set_ylabel("[fL]", fontsize=11, color=INK)
    other.tick_params(labelsize=10)


def ink_on(colour: Any) -> str:
    """Black or white, whichever reads better on a colour (3 or 4,) of 0 .. 1 [1]. Source: weights of ITU-R BT.709 on display values."""
    return "black" if float(np.dot(colour[:3], (0.2126, 0.7152, 0.0722))) > 0.45 else "white"


def plain_ticks(axis: Axis) -> None:
    """Plain numbers 1, 2, 5, 10 ... on a logarithmic axis whose limits are set."""
    from matplotlib.ticker import FixedLocator, NullLocator

    low, high = axis.get_view_interval()
    axis.set_major_locator(FixedLocator([t * 10.0**e for e in range(-4, 5) for t in (1, 2, 5) if low <= t * 10.0**e <= high]))
    axis.set_major_formatter(lambda x, _: f"{x:g}")
    axis.set_minor_locator(NullLocator())
