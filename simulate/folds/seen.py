"""What one seat sees of the landed picture: luminance over that of the flat screen, and how far each place seems to move."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from ..light import workers
from ..light.vectors import dot, screen_tangents, sub, to_local, unit

_ARCMIN = 60.0 * 180.0 / math.pi


class LandedPicture(NamedTuple):
    """Where n rays of the picture landed: place (n, 3) right, up, out [m];  slope (n, 2) [1];  good (n,) bool, False: past the cloth."""

    place: np.ndarray
    slope: np.ndarray
    good: np.ndarray


class EyeView(NamedTuple):
    """What one eye sees of it: ratio (n,) of luminance over that of the flat screen [1];  shift (n, 2) to the right and up [arcmin]."""

    ratio: np.ndarray
    shift: np.ndarray


@kernel
def see(landed, nominal, lens, eye, fabric, seen, low, high):
    """Luminance ratio and displacement [arcmin] of places low .. high - 1 for an eye.

    landed  a LandedPicture;  nominal (n, 2) where its rays cross the plane [m];  lens, eye  in screen coordinates [m]
    seen    an EyeView, written: NaN where the ray missed the cloth; ratio 0 where the eye sees the back
    The lumens of a ray are the same on the plane and on the cloth, so E / E0 = (|q - l| / |p - l|)^2 (n d) / (n0 d), d the ray.
    Source: derived; L = f_r E. Displacements are angles in the eye's own frame, level and upright across its line of sight.
    """
    place, slope, good = landed
    ratio, shift = seen
    for i in range(low, high):
        if not good[i]:
            ratio[i] = math.nan
            shift[i, 0] = math.nan
            shift[i, 1] = math.nan
            continue
        p = (place[i, 0], place[i, 1], place[i, 2])
        q = (nominal[i, 0], nominal[i, 1], 0.0)
        n = unit((-slope[i, 0], -slope[i, 1], 1.0))
        to_lens, from_q = sub(lens, p), sub(lens, q)
        d = unit(to_lens)
        stretch = dot(from_q, from_q) / dot(to_lens, to_lens)
        lit = stretch * max(dot(n, d), 0.0) / d[2]
        e, e0 = unit(sub(eye, p)), unit(sub(eye, q))
        # the cloth's frame: the upright of the room lies along up, see screen_tangents (written for z upright)
        right, up = screen_tangents((n[0], -n[2], n[1]))
        a, b = (right[0], right[2], -right[1]), (up[0], up[2], -up[1])
        folded = fabric_value(fabric, to_local(d, a, b, n), to_local(e, a, b, n))
        flat = fabric_value(fabric, d, e0)
        ratio[i] = folded * lit / flat if flat > 0.0 else math.nan
        forward = (-e0[0], -e0[1], -e0[2])
        level = unit((-forward[2], 0.0, forward[0]))  # forward x up
        upright = (
            level[1] * forward[2] - level[2] * forward[1],
            level[2] * forward[0] - level[0] * forward[2],
            level[0] * forward[1] - level[1] * forward[0],
        )
        ahead = -dot(e, forward)
        shift[i, 0] = math.atan2(-dot(e, level), ahead) * _ARCMIN
        shift[i, 1] = math.atan2(-dot(e, upright), ahead) * _ARCMIN


@kernel
def scale_of(nominal, eye, scale, low, high):
    """Visual angle that a metre of the flat screen takes up to the right and up [deg/m], into scale (n, 2). Source: derived."""
    for i in range(low, high):
        w = (eye[0] - nominal[i, 0], eye[1] - nominal[i, 1], eye[2])
        square = dot(w, w)
        scale[i, 0] = math.sqrt(max(square - w[0] * w[0], 0.0)) / square * 180.0 / math.pi
        scale[i, 1] = math.sqrt(max(square - w[1] * w[1], 0.0)) / square * 180.0 / math.pi


def seen_by(
    landed: LandedPicture,
    nominal: np.ndarray,
    lens: tuple[float, float, float],
    eye: tuple[float, float, float],
    fabric: FabricArrays,
    *,
    threads: int = 1,
) -> EyeView:
    """Luminance ratio (n,) and displacement (n, 2) [arcmin] to the right and up for one eye.

    nominal  (n, 2) where the rays cross the plane [m];  lens, eye in screen coordinates [m]
    Source: `see`.
    """
    count = len(landed.place)
    seen = EyeView(np.empty(count), np.empty((count, 2)))
    workers.in_ranges(lambda low, high: see(landed, nominal, lens, eye, fabric, seen, low, high), count, threads)
    return seen


def visual_scale(nominal: np.ndarray, eye: tuple[float, float, float]) -> np.ndarray:
    """Visual angle that a metre of the screen takes up [deg/m], (n, 2). Source: `scale_of`."""
    scale = np.empty((len(nominal), 2))
    scale_of(nominal, eye, scale, 0, len(nominal))
    return scale
