"""A screen fabric, solved: what the user stated, what was assumed, and the lobes that follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any

import numpy as np

from .dataclass import dataclass
from .hangs import HANGS, Hang
from .lobes.family import LobeRow
from .lobes.groove_table import Groove
from .lobes.measured import MeasuredCurve
from .lobes.perforation import Perforation
from .lobes.profile import Profile
from .lobes.rows import FabricArrays
from .lobes.shapes import AnyLobe

DIFFUSE = "diffuse"
ANGULAR = "angular-reflective"
RETRO = "retro-reflective"
ROUGH = "rough-diffuse"
MEASURED = "measured"
LOUVRED = "louvred"
KINDS = (DIFFUSE, ANGULAR, RETRO, ROUGH, MEASURED, LOUVRED)
PAIR_KINDS = (ANGULAR, RETRO)

__all__ = ["ANGULAR", "DIFFUSE", "KINDS", "LOUVRED", "MEASURED", "RETRO", "ROUGH", "Fabric", "FabricArrays"]


@dataclass(frozen=True)
class Fabric:
    """A fabric with its lobes; made by `solve.fabric_from_pair` and by special.py.

    gain              peak gain of the finished sheet at normal incidence, holes included [1]; of a louvred fabric the
                      gain along the normal for light at `gain_incidence_deg` from `gain_from`
    half_gain_deg     half-gain angle [deg]; None for a diffuse, rough or louvred fabric, and for a curve that stays above half
    albedo            share of the light given back at normal incidence [1]
    albedo_band       ends of the albedo that gain and half-gain angle leave open [1]; of the sheet alone, without
                      what comes back through its holes
    albedo_given      True where the user stated it, or what was stated fixes it
    tint              linear RGB factor, luminance 1
    source            where the user's numbers come from
    open_area         share of holes [1]; what passes is lost to the room, but for what comes back from behind
    verdict           "possible" or "implausible" (see judge.py)
    assumed           what was assumed and what is odd, one sentence each
    base_gain         gain of the diffuse base [1]
    lobes             what comes on top of it
    half_gain_up_deg  half-gain angle up and down where it differs from that across [deg]
    perforation       the holes, where their geometry is known
    groove            the grooves of a louvred fabric
    curve             the measured gain curve, where there is one
    doubts            why what was stated is implausible, one sentence each; for warnings
    hangs             how it can hang, of hangs.HANGS; a scene that has it otherwise is warned of
    kind_assumed      True where the kind was left out, so that a lobe may as well stand about the light
    stated            the keys of the table it was made from; None where it was put together in code
    transmittance     share of the light that comes through diffusely [1]; None: not said, no light is followed through the sheet
    back_reflectance  of the sheet's back [1]; None: not said
    """

    name: str
    kind: str
    gain: float
    half_gain_deg: float | None
    albedo: float
    albedo_band: tuple[float, float]
    albedo_given: bool
    tint: tuple[float, float, float]
    open_area: float
    source: str
    assumed: tuple[str, ...]
    verdict: str
    base_gain: float
    lobes: tuple[AnyLobe, ...]
    half_gain_up_deg: float | None = None
    perforation: Perforation | None = None
    groove: Groove | None = None
    curve: MeasuredCurve | None = None
    gain_incidence_deg: float = 0.0
    gain_from: str | None = None
    doubts: tuple[str, ...] = ()
    kind_assumed: bool = False
    hangs: tuple[Hang, ...] = HANGS
    stated: Mapping[str, Any] | None = field(default=None, compare=False, repr=False)
    transmittance: float | None = field(default=None, metadata={"later": True})
    back_reflectance: float | None = field(default=None, metadata={"later": True})

    @property
    def wants_light_from(self) -> str | None:
        """The side that the brighter facet of a louvred fabric looks to: above, left, below, right; None for any other fabric.

        Source: facet A looks up, B down; grooves turn anticlockwise as seen from the seats.
        """
        if self.groove is None or self.groove.rho_a == self.groove.rho_b:
            return None
        quarter = round((self.groove.turn_deg + (0.0 if self.groove.rho_a > self.groove.rho_b else 180.0)) / 90.0) % 4
        return ("above", "left", "below", "right")[quarter]

    @property
    def profile(self) -> Profile:
        """Gain [1] against view angle and azimuth [rad] at normal incidence."""
        return Profile(self.base_gain, self.lobes)

    @property
    def axis(self) -> int | None:
        """Where the lobe stands: +1 about the mirror direction, -1 about the light; None where there is no such lobe."""
        if self.kind in (DIFFUSE, ROUGH, LOUVRED) or not self.lobes:
            return None
        return self.lobes[0].axis

    @property
    def notes(self) -> tuple[str, ...]:
        """All that is to be said of how the fabric was taken: what was assumed, then the doubts."""
        return (*self.assumed, *self.doubts)

    def arrays(self) -> FabricArrays:
        """The fabric as the kernels want it; read-only arrays, shapes and units at `FabricArrays`."""
        rows, tables, start = [], [np.zeros(0)], 0
        for lobe in self.lobes:
            rows.append(lobe.row(start))
            tables.append(lobe.table())
            start += len(tables[-1])
        arrays = FabricArrays(
            base=np.array([self.base_gain]),
            lobes=np.array(rows, dtype=np.float64).reshape(len(rows), len(LobeRow._fields)),
            tint=np.array(self.tint),
            table=np.concatenate(tables),
        )
        for array in arrays:
            array.flags.writeable = False
        return arrays
