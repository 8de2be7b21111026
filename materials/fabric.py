"""A screen fabric, solved: what the user stated, what was assumed, and the lobes that follow."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .lobes import COLUMNS, FabricArrays
from .profile import Lobe, Profile

DIFFUSE = "diffuse"
ANGULAR = "angular-reflective"
RETRO = "retro-reflective"
KINDS = (DIFFUSE, ANGULAR, RETRO)

__all__ = ["ANGULAR", "DIFFUSE", "KINDS", "RETRO", "Fabric", "FabricArrays"]


@dataclass(frozen=True)
class Fabric:
    """A fabric with its lobes; made by `solve.fabric_from_pair`.

    gain           peak gain of the finished sheet at normal incidence, holes included [1]
    half_gain_deg  half-gain angle [deg]; None for a diffuse fabric
    albedo         share of the light given back at normal incidence [1]; largest of all incidences
    albedo_band    ends of the albedo that gain and half-gain angle leave open [1]
    albedo_given   True where the user stated it, or the fabric is diffuse and the gain is the albedo
    tint           linear RGB factor, luminance 1
    open_area      share of holes [1]; what passes is lost to the room
    verdict        "possible" or "implausible" (see judge.py)
    notes          what was assumed and what is odd, one sentence each
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
    notes: tuple[str, ...]
    verdict: str
    base_gain: float
    lobes: tuple[Lobe, ...]

    @property
    def profile(self) -> Profile:
        """Gain against deviation from the lobe axis."""
        return Profile(self.base_gain, self.lobes)

    def arrays(self) -> FabricArrays:
        """The fabric as the kernels want it; read-only arrays."""
        rows = [lobe.row() for lobe in self.lobes]
        arrays = FabricArrays(
            base=np.array([self.base_gain]),
            lobes=np.array(rows, dtype=np.float64).reshape(len(rows), COLUMNS),
            tint=np.array(self.tint),
        )
        for array in arrays:
            array.flags.writeable = False
        return arrays
