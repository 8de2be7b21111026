"""Rooms of any shape in mitsuba, told as rectangles: walls, slopes and furniture each by a corner and two edges at right angles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import mitsuba
import numpy as np

from . import mitsuba_room
from .box_room import Colour, Screen
from .mitsuba_room import Floats

EDGE_M = 1e-4  # rectangles reach so far past their edges, so that no ray in single precision slips out between two


@dataclass(frozen=True)
class Panel:
    """A diffuse rectangle: corner and edges u, v [m] in the inside frame; u x v looks into the room; black from behind."""

    corner: tuple[float, float, float]
    u: tuple[float, float, float]
    v: tuple[float, float, float]
    reflectance: Colour

    @property
    def area_m2(self) -> float:
        """Area [m2]."""
        return float(np.linalg.norm(np.cross(self.u, self.v)))


def batch_irradiance(
    panels: list[Panel], screen: Screen, points: Floats, *, batches: int = 16, spp: int = 1369, seed: int = 1
) -> Floats:
    """Irradiance (batches, n, 3) that a room sends back to points of the screen, in the unit of pi times its radiance.

    Source: as mitsuba_room.batch_irradiance, scalar_rgb.
    """
    with mitsuba_room.renderer("scalar_rgb"):
        scene: dict[str, Any] = {"type": "scene", "integrator": {"type": "path", "max_depth": -1, "rr_depth": 5}}
        shapes = [*(_rectangle(panel) for panel in panels), *mitsuba_room._screen(screen)]
        scene.update({f"shape{i}": shape for i, shape in enumerate(shapes)})
        scene["meters"] = mitsuba_room._meters(points, rows=1, samples=spp, sampler="independent")
        loaded = mitsuba.load_dict(scene, optimize=False)
        return np.array([mitsuba_room.render(loaded, seed=seed * 1000 + k) for k in range(batches)])


def _rectangle(panel: Panel) -> dict[str, Any]:
    u, v = np.array(panel.u), np.array(panel.v)
    assert abs(u @ v) < 1e-9
    a, b = u / np.linalg.norm(u) * EDGE_M, v / np.linalg.norm(v) * EDGE_M
    matrix = np.eye(4)
    matrix[:3, 0], matrix[:3, 1] = u / 2 + a, v / 2 + b
    normal = np.cross(u, v)
    matrix[:3, 2] = normal / np.linalg.norm(normal)
    matrix[:3, 3] = np.array(panel.corner) + u / 2 + v / 2
    return {
        "type": "rectangle",
        "to_world": mitsuba.ScalarTransform4f(matrix.tolist()),
        "bsdf": {"type": "diffuse", "reflectance": mitsuba_room._colour(panel.reflectance)},
    }
