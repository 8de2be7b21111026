"""Lamps and windows in mitsuba, a general-purpose renderer: what they put on points of the screen, all reflections included.

A lamp whose intensity is even to one angle and falls evenly, in angle, to none at another is the renderer's own spot light; a
strip is a rectangle 2 mm wide; a window one that lies 0.2 mm before its wall.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import mitsuba
import numpy as np

from . import mitsuba_room
from .box_room import Room, Screen
from .mitsuba_room import METER_M, Floats, Sampler, render, renderer

Vector = tuple[float, float, float]


def bulb(place: Vector, flux_lm: float) -> dict[str, Any]:
    """A point that shines alike in all directions; intensity flux / 4 pi."""
    return {"type": "point", "position": list(place), "intensity": {"type": "rgb", "value": [flux_lm / (4.0 * math.pi)] * 3}}


def spot(place: Vector, towards: Vector, candela: float, even_deg: float, end_deg: float) -> dict[str, Any]:
    """Even intensity [cd] to `even_deg` from the axis, then falling evenly in angle to none at `end_deg`."""
    target = [float(a + b) for a, b in zip(place, towards, strict=True)]
    up = [0.0, 1.0, 0.0] if abs(towards[1]) < 0.9 * math.hypot(*towards) else [1.0, 0.0, 0.0]
    return {
        "type": "spot",
        "to_world": mitsuba.ScalarTransform4f().look_at(origin=list(place), target=target, up=up),
        "intensity": {"type": "rgb", "value": [candela] * 3},
        "beam_width": even_deg,
        "cutoff_angle": end_deg,
    }


def panel(corner: Vector, u: Vector, v: Vector, radiance: float, reflectance: float) -> dict[str, Any]:
    """A diffuse rectangle corner + a u + b v that shines towards u x v."""
    u_, v_ = np.array(u, float), np.array(v, float)
    matrix = np.eye(4)
    matrix[:3, 0], matrix[:3, 1] = 0.5 * u_, 0.5 * v_
    matrix[:3, 2] = np.cross(u_, v_) / np.linalg.norm(np.cross(u_, v_))
    matrix[:3, 3] = np.array(corner) + 0.5 * (u_ + v_)
    return {
        "type": "rectangle",
        "to_world": mitsuba.ScalarTransform4f(matrix.tolist()),
        "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": [reflectance] * 3}},
        "emitter": {"type": "area", "radiance": {"type": "rgb", "value": [radiance] * 3}},
    }


def screen_lux(
    room: Room,
    screen: Screen,
    points: Floats,
    emitters: Sequence[Any],
    *,
    direct: bool,
    batches: int = 16,
    spp: int = 4489,
    seed: int = 1,
    sampler: Sampler = "independent",
) -> tuple[Floats, Floats]:
    """Illuminance at points of a screen that shines by nothing of its own, and its standard error, (n,) each [lx].

    direct    the emitters' own light too: False for points, which no ray of a meter finds, and for what is too small to be found
    emitters  functions without arguments that make mitsuba's dictionaries, called in the renderer's variant
    Source: mitsuba's `path` integrator, all orders.
    """
    readings = batch_lux(room, screen, points, emitters, direct=direct, batches=batches, spp=spp, seed=seed, sampler=sampler)
    return readings.mean(axis=0), readings.std(axis=0, ddof=1) / np.sqrt(batches)


def batch_lux(
    room: Room,
    screen: Screen,
    points: Floats,
    emitters: Sequence[Any],
    *,
    direct: bool,
    batches: int = 16,
    spp: int = 4489,
    seed: int = 1,
    sampler: Sampler = "independent",
) -> Floats:
    """As `screen_lux`, every independent batch by itself, (batches, n) [lx]."""
    with renderer("scalar_rgb"):
        made = [each() for each in emitters]
        scene = mitsuba_room.load(room, screen, points, spp=spp, sampler=sampler, emitters=made, hide_emitters=not direct)
        return np.array([render(scene, seed=seed * 1000 + k)[:, 0] for k in range(batches)])


__all__ = ["METER_M", "batch_lux", "bulb", "panel", "screen_lux", "spot"]
