"""A small room with every kind of reading, and readings made of it with the noise that meters have."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from halfgain.scenes.model import Scene
from halfgain.simulate.commissioning.meters import Meter
from halfgain.simulate.commissioning.predictor import Knobs, Predictor
from halfgain.simulate.commissioning.site_reading import (
    BLACK_PATCHES,
    WHITE_PATCHES,
    Calibration,
    ShownPicture,
    SiteReading,
    SiteReadings,
)

from tests.rooms import ANGULAR, room

LAMPS = '[[light]]\nname = "lamps on"\nscreen_lx = 5'
EMULSION = '{ name = "emulsion", reflectance = 0.5 }'
CALIBRATION = 0.03


def site_room(**changes: object) -> Scene:
    """A room whose side walls share a paint, with an uneven projector and a lens that strays."""
    given = {
        "lights": LAMPS,
        "fabric": ANGULAR,
        "front": 0.2,
        "left": EMULSION,
        "right": EMULSION,
        "ceiling": 0.25,
        "projector": "corner_to_centre = 0.85\ncheckerboard_contrast = 300",
    }
    return room(**{**given, **changes})


def luminances(seats: Sequence[str] = ("middle", "side")) -> list[SiteReading]:
    """White, black and the checkerboard from each seat, in a dark room."""
    places = (WHITE_PATCHES, BLACK_PATCHES, "r2c2", "r2c3", "r1c2", "r4c3")
    asked = [
        (ShownPicture.WHITE, "centre"),
        (ShownPicture.BLACK, "centre"),
        *((ShownPicture.CHECKERBOARD, place) for place in places),
    ]
    return [SiteReading(Meter.LUMINANCE, shown, place, seat, "dark", 1.0, 0.01) for seat in seats for shown, place in asked]


def illuminances() -> list[SiteReading]:
    """White at the nine points, and both lights without the projector."""
    nine = [SiteReading(Meter.ILLUMINANCE, ShownPicture.WHITE, str(i), "", "dark", 1.0, 0.01) for i in range(1, 10)]
    off = [
        SiteReading(Meter.ILLUMINANCE, ShownPicture.OFF, "centre", "", light, 1.0, 0.01, 0.01) for light in ("dark", "lamps on")
    ]
    return [*nine, *off]


def readings(
    truth: Predictor,
    *,
    seed: int | None = None,
    knobs: Knobs | None = None,
    wrong: dict[int, Callable[[float], float]] | None = None,
) -> SiteReadings:
    """What meters read in a room: exactly, or with a seed with calibration and repetition as they are stated."""
    knobs = knobs or truth.stated
    noise = (
        np.random.default_rng(seed).standard_normal(2 + len(truth.readings))
        if seed is not None
        else np.zeros(2 + len(truth.readings))
    )
    if seed is not None:
        knobs = knobs._replace(meters=np.exp(CALIBRATION * noise[:2]))
    there = truth.predict(knobs)[0]
    values = [x + each.own_uncertainty(x) * z for each, x, z in zip(truth.readings, there, noise[2:], strict=True)]
    values = [(wrong or {}).get(i, float)(value) for i, value in enumerate(values)]
    calibration = {
        meter: Calibration(CALIBRATION, "of the test") for meter in Meter if any(each.meter is meter for each in truth.readings)
    }
    return SiteReadings(
        tuple(replace(each, value=float(value)) for each, value in zip(truth.readings, values, strict=True)), calibration
    )
