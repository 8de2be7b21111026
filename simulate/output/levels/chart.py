"""levels.png: contrast at each seat against the average picture level; frames as points and their spread beside."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...answers.level_curve import LevelCurve
from ..drawing import FAINT, GREY, INK, figure_of, label, png

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_CLOSE = 0.01  # seats whose curves differ by less are drawn as one
_INKS = ("#00457c", "#c9a227", "#b0413e", "#3f7d4e", "#6f4e9c", "#4a4a4a", "#d1793b", "#2a9d9d")
_STYLES = ("-", "--", "-.", ":")


def levels_chart(curve: LevelCurve) -> bytes:
    """The curve of every seat on logarithmic axes, as PNG bytes. Seats that agree within 1 % share a line."""
    return png(levels_figure(curve))


def levels_figure(curve: LevelCurve, *, small: bool = False) -> Figure:
    """The chart as a figure; small: a narrow one without title, for a page that says it in its own words."""
    figure = figure_of(5.4, 4.2) if small else figure_of(10.0, 6.4)
    wide = 0.66 if curve.frames is not None else 0.85
    axes = figure.add_axes((0.135, 0.125, 0.84, 0.85) if small else (0.09, 0.1, wide, 0.72))
    groups = _groups(curve.contrast)
    for i, seats in enumerate(groups):
        ink, style = _INKS[i % len(_INKS)], _STYLES[(i // len(_INKS)) % len(_STYLES)]
        name = ", ".join(label(curve.seats[s]) for s in seats[:4]) + (f" and {len(seats) - 4} more" if len(seats) > 4 else "")
        value, error = curve.contrast[:, seats[0]], curve.error[:, seats[0]]
        axes.fill_between(100 * curve.level, value - 2 * error, value + 2 * error, color=ink, alpha=0.18, lw=0)
        axes.plot(100 * curve.level, value, color=ink, ls=style, lw=2.2, label=name)
        axes.plot(50, curve.checkerboard[seats[0]], marker="s", ms=8, color=ink, mec=INK, ls="none")
        if curve.frames is not None:
            axes.plot(
                100 * np.clip(curve.frames.average, 0.005, 1),
                curve.frames.contrast[:, seats[0]],
                ls="none",
                marker="o",
                ms=3.5,
                color=ink,
                alpha=0.45,
            )
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(0.5, 100)
    low, high = float(curve.contrast.min()), float(curve.contrast.max())
    if curve.frames is not None:
        low, high = min(low, float(curve.frames.contrast.min())), max(high, float(curve.frames.contrast.max()))
    axes.set_ylim(low / 1.2, high * 1.2)
    _ticks(axes, low / 1.2, high * 1.2)
    axes.grid(color=FAINT, lw=0.8)
    axes.set_axisbelow(True)
    axes.set_xlabel("average picture level [%]", fontsize=11, color=INK)
    axes.set_ylabel("contrast, white detail to black detail", fontsize=11, color=INK)
    axes.legend(fontsize=10, loc="upper right", frameon=True, framealpha=0.9, edgecolor=FAINT)
    if small:
        return figure
    figure.text(
        0.03, 0.95, "Contrast against the average level of the picture", fontsize=14, color=INK, weight="bold", va="center"
    )
    words = "squares: the checkerboard, for comparison; bands: two standard errors"
    if curve.frames is not None:
        words += f"; points: {len(curve.names)} frames"
        _distribution(figure, curve, groups, (low / 1.2, high * 1.2))
    figure.text(0.03, 0.9, words, fontsize=10, color=GREY, va="center")
    return figure


def _groups(contrast: np.ndarray) -> list[list[int]]:
    """Seats whose curves agree within `_CLOSE`, in order."""
    groups: list[list[int]] = []
    for seat in range(contrast.shape[1]):
        for group in groups:
            if np.abs(contrast[:, seat] / contrast[:, group[0]] - 1).max() < _CLOSE:
                group.append(seat)
                break
        else:
            groups.append([seat])
    return groups


def _ticks(axes: object, low: float, high: float) -> None:
    """Plain numbers on both axes."""
    from matplotlib.ticker import FixedLocator, NullLocator

    for axis, ends in ((axes.xaxis, (0.5, 100.0)), (axes.yaxis, (low, high))):  # type: ignore[attr-defined]
        axis.set_major_locator(
            FixedLocator([t * 10.0**e for e in range(-1, 7) for t in (1, 2, 5) if ends[0] <= t * 10.0**e <= ends[1]])
        )
        axis.set_major_formatter(lambda x, _: f"{x:g}")
        axis.set_minor_locator(NullLocator())


def _distribution(figure: object, curve: LevelCurve, groups: list[list[int]], ends: tuple[float, float]) -> None:
    """Share of frames with less contrast, beside the curve on the same upright axis."""
    axes = figure.add_axes((0.81, 0.1, 0.16, 0.72))  # type: ignore[attr-defined]
    assert curve.frames is not None
    for i, seats in enumerate(groups):
        values = np.sort(curve.frames.contrast[:, seats[0]])
        share = 100.0 * (np.arange(len(values)) + 0.5) / len(values)
        axes.plot(
            share,
            values,
            color=_INKS[i % len(_INKS)],
            ls=_STYLES[(i // len(_INKS)) % len(_STYLES)],
            lw=2.2,
            marker="o" if len(values) < 3 else None,
        )
    axes.set_yscale("log")
    axes.set_ylim(*ends)
    axes.set_xlim(0, 100)
    _ticks(axes, *ends)
    from matplotlib.ticker import FixedLocator

    axes.xaxis.set_major_locator(FixedLocator([0, 50, 100]))
    axes.grid(color=FAINT, lw=0.8)
    axes.set_xlabel("frames with less [%]", fontsize=11, color=INK)
    axes.tick_params(labelleft=False)
