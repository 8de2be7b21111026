"""seen-NAME.png: the room as one seat sees it in every variant, before and after, under one tone curve."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence

import numpy as np

from ....materials.dataclass import dataclass
from ...choices.variants import Variant
from ...views.content import Content
from ...views.render import seat_camera, seat_picture, set_the_stage
from ..drawing import GREY, INK, figure_of, label, png
from ..picture.seat_files import levels
from ..picture.tone import tone_mapped
from ..units import figure as digits

MOST_VIEWS = 9
_WIDTH, _HEIGHT, _ACROSS = 640, 360, 3
_PICTURE_IN, _GAP_IN, _LEFT_IN, _TOP_IN, _WORDS_IN = 4.0, 0.2, 0.3, 0.95, 0.62
_LETTERS = 46


@dataclass(frozen=True)
class SeenVariant:
    """One variant from a seat: sRGB bytes (height, width, 3) and the picture's mean luminance [cd/m2]."""

    label: str
    display: np.ndarray
    picture_cd_m2: float


@dataclass(frozen=True)
class SeenVariants:
    """All variants from one seat; adapted and white of the tone curve [cd/m2] are those of the first."""

    seat: str
    shown: str
    adapted_cd_m2: float
    variants: tuple[SeenVariant, ...]
    left_out: int


def see_variants(
    variants: Sequence[Variant], seat: str, content: Callable[[Variant], Content], *, seed: int = 1, threads: int = 1
) -> SeenVariants:
    """The first MOST_VIEWS variants from a seat that all of them have, room dark but for the picture.

    seat     its name;  content  what a variant's screen shows
    raises   ValueError where one of those variants has no such seat
    Source: views/render.py; one field of view and one tone curve, those of the first variant, so that pictures compare.
    """
    found: list[SeenVariant] = []
    field = adapted = white = 0.0
    for variant in variants[:MOST_VIEWS]:
        index = [each.name for each in variant.scene.seats].index(seat)
        camera = seat_camera(variant.scene, index, width=_WIDTH, height=_HEIGHT, field_deg=field or None)
        stage = set_the_stage(variant.scene, content(variant), seed=seed, threads=threads)
        seen = seat_picture(stage, camera, threads=threads)
        if not found:
            field = camera.field_deg
            adapted, white = levels(stage, seen, None)
        display = tone_mapped(seen.cd_m2, adaptation_cd_m2=adapted, white_cd_m2=white)
        found.append(SeenVariant(variant.label, display, seen.picture_mean))
    left_out = max(0, len(variants) - MOST_VIEWS)
    return SeenVariants(seat, content(variants[0]).name, adapted, tuple(found), left_out)


def views_picture(seen: SeenVariants) -> bytes:
    """Pictures side by side, a name over each; PNG bytes."""
    columns = min(_ACROSS, len(seen.variants))
    rows = -(-len(seen.variants) // columns)
    tall = _PICTURE_IN * _HEIGHT / _WIDTH
    width = 2 * _LEFT_IN + columns * _PICTURE_IN + (columns - 1) * _GAP_IN
    height = _TOP_IN + rows * (tall + _WORDS_IN) + 0.15
    drawing = figure_of(width, height)
    for n, each in enumerate(seen.variants):
        row, column = divmod(n, columns)
        left, top = _LEFT_IN + column * (_PICTURE_IN + _GAP_IN), _TOP_IN + row * (tall + _WORDS_IN)
        axes = drawing.add_axes((left / width, 1 - (top + _WORDS_IN + tall - 0.1) / height, _PICTURE_IN / width, tall / height))
        axes.imshow(each.display, interpolation="lanczos", aspect="auto")
        axes.set_axis_off()
        name = textwrap.shorten(each.label, _LETTERS, placeholder=" ...")
        drawing.text(left / width, 1 - (top + 0.2) / height, label(name), fontsize=11, weight="bold", color=INK, va="baseline")
        said = f"picture, mean {digits(each.picture_cd_m2)} cd/m²" + ("" if n else ", the reference")
        drawing.text(left / width, 1 - (top + 0.42) / height, said, fontsize=9.5, color=INK, va="baseline")
    title = f"What {label(seen.seat)} sees: {seen.shown}, room lights off"
    drawing.text(_LEFT_IN / width, 1 - 0.33 / height, title, fontsize=14, weight="bold", color=INK, va="center")
    note = f"One tone curve for all, adapted to {digits(seen.adapted_cd_m2)} cd/m²."
    if seen.left_out:
        note += f" The first {len(seen.variants)} variants; {seen.left_out} more are not drawn."
    drawing.text(_LEFT_IN / width, 1 - 0.66 / height, note, fontsize=9.5, color=GREY, va="center")
    return png(drawing)
