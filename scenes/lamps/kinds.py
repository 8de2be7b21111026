"""Which keys each kind of lamp takes, and how it is made of them."""

from __future__ import annotations

import math
from typing import NamedTuple

from .generic import beam, even
from .photometry import Photometry
from .table import LampTable

COMMON = ("name", "place_m", "colour", "colour_temperature_k")
STRIP_BEAM_DEG = 120.0  # of a flat source that shines after Lambert's law


class LampKind(NamedTuple):
    """Keys beside the common ones: those it needs and those it may have."""

    needs: tuple[str, ...]
    takes: tuple[str, ...] = ()


KINDS = {
    "bulb": LampKind(("light_output_lm",)),
    "downlight": LampKind(("light_output_lm", "beam_deg"), ("aim",)),
    "strip": LampKind(("light_output_lm", "end_m"), ("aim", "beam_deg")),
}
BY_FILE = LampKind((), ("aim", "turn_deg", "light_output_lm"))


def keys_of(table: LampTable) -> LampKind:
    """What a lamp's own keys are: those of its kind, or of a photometric file."""
    return BY_FILE if table.kind is None else KINDS[table.kind]


def generic(table: LampTable) -> tuple[Photometry, str]:
    """Photometry [cd] of a lamp of a kind, and what it is in words. The table has the keys of its kind."""
    flux = table.light_output_lm or 0.0
    if table.kind == "bulb":
        return even(flux), f"bulb of {flux:g} lm"
    angle = table.beam_deg or STRIP_BEAM_DEG
    if table.kind == "downlight":
        return beam(flux, angle), f"downlight of {flux:g} lm, {angle:g} deg"
    length = math.dist(table.place_m, table.end_m or table.place_m)
    return beam(flux, angle), f"strip of {flux:g} lm, {length:.2f} m"
