"""Lamps, windows and light states of a scene put together in code, as a file would have them, for their ranges to be checked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from .model import Lamp, Light, Window


def lighting_table(lights: Sequence[Light], lamps: Sequence[Lamp], windows: Sequence[Window]) -> dict[str, Any]:
    """The three lists of tables; of a lamp's photometry its flux stands for all."""
    return {
        "light": [
            {
                "name": light.name,
                "screen_lx": light.screen_lx,
                "lamps": dict(light.lamps),
                "windows": dict(light.windows),
                "blinds_down": list(light.blinds_down),
            }
            for light in lights
        ],
        "lamp": [
            {
                "name": lamp.name,
                "place_m": list(lamp.place_m),
                "aim": list(lamp.aim),
                "turn_deg": lamp.turn_deg,
                "light_output_lm": lamp.photometry.flux_lm,
                **({} if lamp.end_m is None else {"end_m": list(lamp.end_m)}),
            }
            for lamp in lamps
        ],
        "window": [
            {
                key: list(value) if isinstance(value, tuple) else value
                for key, value in vars(window).items()
                if value is not None and key != "colour"
            }
            for window in windows
        ],
    }
