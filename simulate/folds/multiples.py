"""The same wave in many set-ups: throw, kind of fabric, direction and seat, for one picture of small multiples."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.fabric import ANGULAR, DIFFUSE, RETRO, Fabric
from ...materials.solving.solve import fabric_from_pair
from ...scenes.geometry import picture
from ...scenes.model import Place, Scene
from ..light.progress import Progress, say
from .flatness import wave_readings

WAVE_M = 0.3
AMPLITUDES_M = (0.0005, 0.002, 0.008)
THROWS = {"normal throw": 1.5, "short throw": 0.6, "ultra-short throw": 0.2}  # throw ratios; common practice, no source
DIRECTIONS = {"vertical": 0.0, "horizontal": 90.0}  # of the crests, degrees from upright


@dataclass(frozen=True)
class Multiple:
    """One set-up: ratio to the threshold (amplitudes, seats) [1] for waves of WAVE_M and AMPLITUDES_M [m]."""

    throw: str
    fabric: str
    direction: str
    ratio: np.ndarray


def kinds() -> dict[str, Fabric]:
    """One fabric of each kind. Gains [1] and half-gain angles [deg]: common practice, no source."""
    return {
        "diffuse": fabric_from_pair(name="diffuse", gain=1.0, kind=DIFFUSE),
        "angular-reflective": fabric_from_pair(name="angular-reflective", gain=1.4, half_gain_deg=35.0, kind=ANGULAR),
        "retro-reflective": fabric_from_pair(name="retro-reflective", gain=1.8, half_gain_deg=20.0, kind=RETRO),
    }


def lens_for(scene: Scene, ratio: float) -> Place:
    """A lens [m] square to the picture's middle, at its upper edge, or for ultra-short throws under it, at a throw ratio [1].

    ratio    distance over the picture's width; to 0.3 ultra-short. The lens stays 0.05 m or more before the screen
    returns  [right, out, up] as in a scene file [m]
    Source: plane geometry; where such projectors stand is common practice, no source.
    """
    area, screen = picture(scene), scene.screen
    middle = screen.bottom_m + 0.5 * screen.height_m
    out = screen.gap_to_wall_m + max(ratio * area.width_m, 0.05)
    up = middle + area.top_m if ratio > 0.3 else middle + area.bottom_m - 0.25 * area.height_m
    return (screen.right_m, out, up)


def multiples(scene: Scene, white_cd_m2: list[float], *, threads: int = 1, progress: Progress | None = None) -> list[Multiple]:
    """All set-ups with the scene's screen size and seats.

    white_cd_m2  mean luminance of the white picture at each seat [cd/m2], kept the same throughout
    Source: `wave_readings`.
    """
    jobs = [(throw, name, way) for throw in THROWS for name in kinds() for way in DIRECTIONS]
    fabrics, found = kinds(), []
    for done, (throw, name, way) in enumerate(jobs):
        other = replace(
            scene,
            projector=replace(scene.projector, lens_m=lens_for(scene, THROWS[throw])),
            screen=replace(scene.screen, fabric=fabrics[name]),
        )
        ratio = [
            [
                reading.visible.ratio
                for reading in wave_readings(
                    other, white_cd_m2, angle_deg=DIRECTIONS[way], wave_m=WAVE_M, amplitude_m=amplitude, threads=threads
                )
            ]
            for amplitude in AMPLITUDES_M
        ]
        found.append(Multiple(throw, name, way, np.array(ratio)))
        say(progress, f"set-ups, {done + 1} of {len(jobs)}")
    return found
