"""Checks of what is placed, ordered and shown in another shape: trigonometry, published angles, areas, the half-life law."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.ordering.ageing import hours_until
from halfgain.simulate.placing.placement import place
from halfgain.simulate.placing.published import widest_by_pixels

from benchmarks.check import Check
from tests.film.test_film_light import SCOPE, filmed, just_its_size
from tests.placing.test_closed_forms import BARE
from tests.rooms import ANGULAR
from tests.scenes.scene_texts import edit


def site() -> Iterator[Check]:
    """Rows of the inverse questions, of ageing and of films."""
    for pixels, degrees in ((1920, 31.0), (3840, 58.0)):
        got = 2.0 * math.degrees(math.atan(widest_by_pixels(pixels) / 2.0))
        what = f"{pixels} pixels of one minute of arc: width of the picture, degrees"
        yield Check(what, degrees, got, 0.0, "ITU-R BT.1845-1 (from memory; whole degrees)")
    yield _riser()
    yield Check(
        "hours until a quarter of the light at a half-life of 4,000 h",
        8000.0,
        hours_until(1.0, 0.25, 4000.0),
        0.0,
        "half-life law",
    )
    yield from _films()


def _riser() -> Check:
    """The rear row over the head before it, to a cm above the tangent."""
    from halfgain.scenes.load import scene_from_text

    scene = scene_from_text(edit(BARE, ("bottom_m = 0.75", "bottom_m = 0.45"), ("[1.2, 5.5, 1.2]", "[0.0, 5.2, 1.1]")))
    slope = math.atan2(0.65, 3.2) + math.asin(0.11 / math.hypot(3.2, 0.65))
    least = 0.45 + 5.1 * math.tan(slope) - 1.1
    lift = place(scene).rows[1].lift.low_m or 0.0
    return Check("rear row over a head of 0.11 m: lift, m (rounded up to cm)", least, lift, 0.0, "tangent to a circle")


def _films() -> Iterator[Check]:
    zoomed, drawn = (
        measure(filmed(shown, aspect=f"{SCOPE}:1"), error=0.1).illuminance_lx["centre"] for shown in ("zoomed", "anamorphic")
    )
    what = "2.35:1 drawn out from 16:9 by a lens over the same film zoomed: illuminance"
    yield Check(what, SCOPE * 9.0 / 16.0, drawn / zoomed, 0.0, "lumens over area")
    masked = filmed(
        masked=True, own='checkerboard_contrast = 300\nfit = "width"', border=0.0, fabric="border_finish = 0.5\n" + ANGULAR
    )
    film, small = measure(masked, error=0.0015).seats[0], measure(just_its_size(masked, 1000.0), seed=2, error=0.0015).seats[0]
    for what, one, other in (
        ("white", film.white["centre"], small.white["centre"]),
        ("checkerboard", film.checkerboard, small.checkerboard),
    ):
        error = math.hypot(one.standard_error, other.standard_error) / other.value
        yield Check(
            f"masked 2.35:1 film over a screen of just its size, traced anew: {what}",
            1.0,
            one.value / other.value,
            error,
            "the same room twice",
        )
