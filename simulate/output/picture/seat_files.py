"""The files of one seat's picture, and the lines that go with them."""

from __future__ import annotations

import math

from ....scenes.lamps.behind import follows_light_through
from ...views.render import PictureSetup, SeatPicture, white_reference
from ..units import figure as digits
from .false_colour import false_colour
from .luminance_exr import exr_bytes
from .tone import ADAPTED_SHARE, png_bytes, tone_mapped, words


def levels(stage: PictureSetup, picture: SeatPicture, adaptation: float | None) -> tuple[float, float]:
    """Adaptation level and white of the tone curve [cd/m2].

    adaptation  [cd/m2]; None: a tenth of the white
    The white is full white at the picture's middle; the brightest pixel where that is hidden.
    Source: `white_reference`; the tenth is our own choice, see tone.py.
    """
    white = white_reference(stage, picture.camera) or float(picture.luminance.max()) or 1.0
    return (ADAPTED_SHARE * white if adaptation is None else adaptation), white


def state_words(stage: PictureSetup) -> str:
    """The light state in words."""
    if stage.light is None:
        return "room dark but for the picture"
    lit = stage.light
    even = "" if lit.traced and not lit.screen_lx else " taken as even on every surface"
    return f"{lit.name}: {lit.words}{even}"


def notes(stage: PictureSetup, seat: int, picture: SeatPicture) -> dict[str, str]:
    """What files say of themselves: scene hash, seed, seat, units, camera, method."""
    eye = ", ".join(f"{x:g}" for x in stage.scene.seats[seat].eye_m)
    return {
        "software": "halfgain",
        "units": "cd/m2 (luminance in Y; R, G, B linear, BT.709 primaries, D65)",
        "scene": stage.scene.title,
        "sceneSha256": stage.scene.sha256,
        "seat": stage.scene.seats[seat].name,
        "eyeMetresRightOutUp": eye,
        "seed": str(stage.seed),
        "shown": stage.content.name,
        "lightState": state_words(stage),
        "horizontalFieldDeg": f"{picture.camera.field_deg:.4f}",
        "method": "direct light exact; bounced light from the cells of the solved room; other people are drawn as heads alone",
    }


def seat_files(stage: PictureSetup, seat: int, picture: SeatPicture, stem: str, *, adaptation: float | None) -> dict[str, bytes]:
    """Bytes of NAME.exr, NAME.png and NAME-luminance.png by file name; adaptation [cd/m2] as `levels` takes it."""
    adapted, white = levels(stage, picture, adaptation)
    said = notes(stage, seat, picture)
    curve = words(adapted, white)
    display = tone_mapped(picture.cd_m2, adaptation_cd_m2=adapted, white_cd_m2=white)
    name = stage.scene.seats[seat].name
    line = f"showing {stage.content.name}; {state_words(stage)}; logarithmic scale"
    return {
        f"{stem}.exr": exr_bytes(picture.cd_m2, {**said, "toneCurveOfPng": curve}),
        f"{stem}.png": png_bytes(display, {**said, "toneCurve": curve}),
        f"{stem}-luminance.png": false_colour(picture.luminance, f"{name}: luminance of what it sees", line),
    }


def report(stage: PictureSetup, seat: int, picture: SeatPicture, *, adaptation: float | None) -> str:
    """What to know of one seat's picture: luminances of picture and surround, field, tone curve."""
    adapted, white = levels(stage, picture, adaptation)
    sides = []
    for side, value in zip(("left", "right"), picture.surround, strict=True):
        if math.isfinite(value):
            share = f" ({100 * value / picture.picture_mean:.2g} % of the picture's mean)" if picture.picture_mean > 0 else ""
            sides.append(f"{side} {digits(value)} cd/m2{share}")
    lines = [
        f"{stage.scene.seats[seat].name}: showing {stage.content.name}, {state_words(stage)}",
        f"  picture, mean        {digits(picture.picture_mean)} cd/m2",
        f"  beside the screen    {'; '.join(sides) or 'outside this field of view'}",
        f"  field of view        {picture.camera.field_deg:.0f} degrees across",
        f"  PNG                  {words(adapted, white)}",
    ]
    if follows_light_through(stage.scene.screen, stage.scene.lamps, stage.scene.windows):
        lines.append("  not drawn            what the wall behind sends back through the cloth; `measure` has it")
    return "\n".join(lines) + "\n"
