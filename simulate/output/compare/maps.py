"""before-after-NAME.png: the white picture of each variant as one seat sees it, and its ratio to the reference."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from ....scenes.geometry import picture
from ...choices.comparison import Comparison
from ..drawing import COLOURS, GREY, INK, figure_of, label, luminance_range, png
from ..units import figure as digits

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ACROSS, _MOST = 4, 16
_MAP_IN, _GAP_IN, _LEFT_IN, _RIGHT_IN = 2.9, 0.25, 0.35, 1.1
_TOP_IN, _BETWEEN_IN, _FOOT_IN = 0.75, 0.12, 0.3
_LETTERS = 32  # of a variant's name in a line above its map


def compare_maps(comparison: Comparison, seat: str) -> bytes:
    """Maps of the first 16 variants that have this seat, one scale for all; below each after the first its ratio to it.

    seat  name of a seat of the reference
    Luminance [cd/m2] at full white, the room dark but for the picture; ratios [1] at the same share of the picture.
    Source: `ScreenMap`; places are shares of each variant's own picture, so that sizes can differ.
    """
    members = [
        (k, [s.name for s in variant.scene.seats].index(seat))
        for k, variant in enumerate(comparison.variants)
        if seat in [s.name for s in variant.scene.seats]
    ][:_MOST]
    white = [comparison.paired[k].measurement.maps[i].white_cd_m2 for k, i in members]
    ratios = [each / white[0] for each in white]
    columns = min(_ACROSS, len(members))
    rows = -(-len(members) // columns)
    areas = [picture(comparison.variants[k].scene) for k, _ in members]
    shape = max(area.height_m / area.width_m for area in areas)
    tall = min(_MAP_IN * shape, 3.2)
    names = ["\n".join(label(x) for x in textwrap.wrap(comparison.variants[k].label, _LETTERS)[:2]) for k, _ in members]
    words_in = 0.78 + 0.2 * max(name.count("\n") for name in names)
    block = words_in + 2 * tall + _BETWEEN_IN
    width = _LEFT_IN + columns * (_MAP_IN + _GAP_IN) + _RIGHT_IN
    height = _TOP_IN + rows * block + _FOOT_IN
    drawing = figure_of(width, height)
    scales = luminance_range(min(float(m.min()) for m in white), max(float(m.max()) for m in white)), _ratio_range(ratios)
    drawn = None
    for n, (k, i) in enumerate(members):
        row, column = divmod(n, columns)
        left, top = _LEFT_IN + column * (_MAP_IN + _GAP_IN), _TOP_IN + row * block
        high = tall * (areas[n].height_m / areas[n].width_m) / shape
        lows = [1 - (top + words_in + high + s * (tall + _BETWEEN_IN)) / height for s in (0, 1)]
        axes = [drawing.add_axes((left / width, low, _MAP_IN / width, high / height)) for low in lows]
        drawn = _pair(axes, white[n], ratios[n] if n else None, scales)
        centre = comparison.paired[k].measurement.seats[i].white["centre"].value
        words: dict[str, Any] = dict(x=left / width, fontsize=10, color=INK, va="baseline")
        drawing.text(y=1 - (top + words_in - 0.3) / height, s=names[n], weight="bold", linespacing=1.05, **words)
        said = f"centre {digits(centre)} cd/m²" + ("" if n else ", the reference")
        drawing.text(y=1 - (top + words_in - 0.08) / height, s=said, **words)
    _words(drawing, comparison, seat, width, height)
    if drawn is not None:
        right = _LEFT_IN + columns * (_MAP_IN + _GAP_IN) + 0.38
        _bars(drawing, drawn, (right, _TOP_IN + words_in, tall), len(members) > 1, width, height)
    return png(drawing)


def _ratio_range(ratios: list[np.ndarray]) -> tuple[float, float]:
    """Ends of the ratio's scale, even in the logarithm round 1, at least 5 % each way."""
    far = max(float(np.abs(np.log(each[np.isfinite(each) & (each > 0.0)])).max(initial=0.0)) for each in ratios)
    far = min(max(far, np.log(1.05)), np.log(10.0))
    return float(np.exp(-far)), float(np.exp(far))


Range = tuple[float, float]


def _pair(axes: list[Axes], white: np.ndarray, ratio: np.ndarray | None, scales: tuple[Range, Range]) -> tuple[Any, Any]:
    from matplotlib.colors import LogNorm

    for each in axes:
        each.set_xticks([])
        each.set_yticks([])
    (low, high), ends = scales
    first = axes[0].imshow(white, cmap=COLOURS, vmin=low, vmax=high, interpolation="bicubic", aspect="auto")
    if ratio is None:
        axes[1].set_axis_off()
        return first, None
    second = axes[1].imshow(ratio, cmap="PuOr_r", norm=LogNorm(*ends), interpolation="bicubic", aspect="auto")
    return first, second


def _words(drawing: Figure, comparison: Comparison, seat: str, width: float, height: float) -> None:
    title = f"{label(seat)}: the screen at full white, room lights off"
    drawing.text(_LEFT_IN / width, 1 - 0.3 / height, title, fontsize=14, weight="bold", color=INK, va="center")
    note = "Upper maps: luminance, one scale. Lower maps: ratio to the reference at the same place of the picture."
    if len(comparison.variants) > _MOST:
        note += f" First {_MOST} of {len(comparison.variants)} variants."
    drawing.text(_LEFT_IN / width, 1 - 0.62 / height, note, fontsize=9.5, color=GREY, va="center")


def _bars(
    drawing: Figure, drawn: tuple[Any, Any], place: tuple[float, float, float], ratio: bool, width: float, height: float
) -> None:
    """Colour bars beside the first block: luminance, and below it the ratio."""
    left, top, tall = place
    for s, (mappable, title) in enumerate(zip(drawn, ("cd/m²", "ratio"), strict=True)):
        if mappable is None or (s and not ratio):
            continue
        low = 1 - (top + tall + s * (tall + _BETWEEN_IN)) / height
        axes = drawing.add_axes((left / width, low, 0.16 / width, 0.96 * tall / height))
        drawing.colorbar(mappable, cax=axes)
        axes.yaxis.set_ticks_position("right")
        axes.set_ylabel(title, fontsize=10, color=INK)
        axes.yaxis.set_label_position("left")
        axes.tick_params(labelsize=9)
        if s:
            _ratio_ticks(axes, mappable.norm.vmin, mappable.norm.vmax)


def _ratio_ticks(axes: Axes, low: float, high: float) -> None:
    from matplotlib.ticker import FixedLocator, NullLocator

    steps = (0.1, 0.2, 0.33, 0.5, 0.67, 0.8, 0.85, 0.9, 0.95, 0.97, 1.0, 1.03, 1.05, 1.1, 1.15, 1.25, 1.5, 2.0, 3.0, 5.0, 10.0)
    inside = [s for s in steps if low * 0.999 <= s <= high * 1.001]
    if high > 4.0:
        inside = [s for s in inside if s in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)]
    elif high > 1.3:
        inside = [s for s in inside if s not in (0.85, 0.9, 0.95, 0.97, 1.03, 1.05, 1.1, 1.15)]
    elif high > 1.1:
        inside = [s for s in inside if s not in (0.97, 1.03)]
    axes.yaxis.set_major_locator(FixedLocator(inside))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.set_yticklabels([f"{s:g}" for s in inside])
