"""Scanned meshes (PLY, OBJ, GLB), the one door to trimesh: laid over the white area and read as a map of heights.

A scan's axes are those of its file: x to the right, y up, z towards the seats (glTF's own convention), from the middle of
the white area. Both frames are right-handed, so left stays left.
"""

from __future__ import annotations

import io
import math
from pathlib import Path

import numpy as np

from ...materials.kernels.jit import kernel
from ...materials.text.reading import Unreadable, read_bytes
from ..quiet import quiet
from .scan_claims import MOST_CORNERS, check_claims
from .unusable import UnusableMap

SCANS = (".ply", ".obj", ".glb")
_LARGEST_BYTES = 500_000_000
_EDGE = 0.01  # share of the width by which a scan may fall short at the edges
_MOST_SIDE = 1500  # samples a side of the map read from a scan
_MOST_LOOKS = 2_000_000_000  # at samples from triangles: a sheet needs a few a sample, heaps of overlapping triangles never end
_FARTHEST_M = 1e7  # scanners that know the globe give northings; doubles still hold a hundredth of a micrometre there
_KINDS = "a PLY, OBJ or GLB file"


def read_scan(path: Path, *, metres_per_unit: float) -> tuple[np.ndarray, np.ndarray]:
    """Corners (n, 3) [m] and triangles (m, 3) of all meshes of a scan. Source: the file, by trimesh.

    raises UnusableMap for a file that is missing, damaged, holds no triangles or names corners it lacks
    """
    import trimesh

    ending = path.suffix.lower()
    try:
        data = read_bytes(path, _LARGEST_BYTES, "a scan", _KINDS)
    except Unreadable as fault:
        raise UnusableMap(str(fault), fault.allowed) from None
    check_claims(data, ending)
    try:
        with quiet("trimesh"):  # given bytes alone it opens no other file that these may name
            scan = trimesh.load_mesh(io.BytesIO(data), file_type=ending[1:], process=False, skip_materials=True)
            corners, triangles = np.asarray(scan.vertices), np.asarray(scan.faces)
    except Exception:  # the readers of many formats raise whatever they like
        raise UnusableMap("cannot be read as a mesh: it is damaged, or names corners that it lacks", _KINDS) from None
    return _checked(corners, triangles, metres_per_unit)


def _checked(corners: np.ndarray, triangles: np.ndarray, metres_per_unit: float) -> tuple[np.ndarray, np.ndarray]:
    """Corners [m] and triangles as the kernel takes them on trust.  raises UnusableMap where it may not"""
    if corners.ndim != 2 or triangles.ndim != 2 or corners.shape[1:] != (3,) or triangles.shape[1:] != (3,) or not len(triangles):
        raise UnusableMap("holds no triangles", "a mesh, not a cloud of points: mesh the points first")
    if corners.dtype.kind not in "fiu" or triangles.dtype.kind not in "iu":
        raise UnusableMap("has corners or triangles that are no numbers", _KINDS)
    if len(corners) < 3:
        raise UnusableMap(f"has {len(corners)} corners", "at least 3")
    if max(len(corners), len(triangles) // 2) > MOST_CORNERS:
        raise UnusableMap(f"has {len(corners):,} corners".replace(",", " "), f"at most {MOST_CORNERS // 1_000_000} million")
    with quiet():
        placed = corners.astype(float) * metres_per_unit
    if not np.isfinite(placed).all():
        raise UnusableMap("has corners that are no numbers")
    if np.abs(placed).max() > _FARTHEST_M:
        raise UnusableMap(
            f"has a corner at {np.abs(placed).max():.3g} m", f"corners up to {_FARTHEST_M:g} m away; and the right unit"
        )
    wrong = (triangles < 0) | (triangles >= len(corners))
    if wrong.any():
        at = int(np.argmax(wrong.any(axis=1)))
        raise UnusableMap(
            f"has a triangle, number {at + 1}, of corners {', '.join(str(int(i)) for i in triangles[at])}, counted from 0",
            f"corners 0 to {len(corners) - 1}",
        )
    return placed, triangles.astype(np.int64)


def laid(corners: np.ndarray) -> np.ndarray:
    """Corners (n, 3) [m] moved and turned so that their mean plane is the screen's and their middle its middle.

    Least-squares plane through the corners, turned by the shortest way; the middle is that of the bounding box, the mean
    height is 0.
    Source: principal axes; a scan's own frame is wherever the scanner stood.
    """
    middle = corners.mean(axis=0)
    _, _, axes = np.linalg.svd(corners - middle, full_matrices=False)
    normal = axes[2] * (1.0 if axes[2, 2] >= 0 else -1.0)
    across = np.cross(normal, [0.0, 0.0, 1.0])
    sine, cosine = float(np.linalg.norm(across)), float(normal[2])
    turned = corners - middle
    if sine > 1e-12:
        k = across / sine
        along = np.outer(turned @ k, k)
        turned = turned * cosine + np.cross(k, turned) * sine + along * (1.0 - cosine)
    box = 0.5 * (turned.min(axis=0) + turned.max(axis=0))
    return turned - np.array([box[0], box[1], turned[:, 2].mean()])


@kernel
def scan_heights(corners, triangles, left, top, step_x, step_y, out, folded):
    """Writes the height of every sample that a triangle covers into out (rows, columns) [m], NaN before; counts double cover.

    corners (n, 3) [m], triangles (m, 3) indices; left, top: place of the first sample; step_x, step_y: between samples [m]
    folded (1,) counts samples that two sheets cover more than 1 mm apart; the height nearest to the seats stays.
    Source: barycentric coordinates.
    """
    rows, columns = out.shape
    for t in range(triangles.shape[0]):
        a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        ax, ay, az = (corners[a, 0] - left) / step_x, (top - corners[a, 1]) / step_y, corners[a, 2]
        bx, by, bz = (corners[b, 0] - left) / step_x, (top - corners[b, 1]) / step_y, corners[b, 2]
        cx, cy, cz = (corners[c, 0] - left) / step_x, (top - corners[c, 1]) / step_y, corners[c, 2]
        area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if abs(area) < 1e-12:
            continue
        low_i, high_i = max(0.0, math.ceil(min(ax, bx, cx) - 1e-9)), min(columns - 1.0, math.floor(max(ax, bx, cx) + 1e-9))
        low_j, high_j = max(0.0, math.ceil(min(ay, by, cy) - 1e-9)), min(rows - 1.0, math.floor(max(ay, by, cy) + 1e-9))
        for j in range(int(low_j), int(high_j) + 1):
            for i in range(int(low_i), int(high_i) + 1):
                u = ((bx - i) * (cy - j) - (cx - i) * (by - j)) / area
                v = ((cx - i) * (ay - j) - (ax - i) * (cy - j)) / area
                w = 1.0 - u - v
                if u < -1e-7 or v < -1e-7 or w < -1e-7:
                    continue
                height = u * az + v * bz + w * cz
                if not math.isnan(out[j, i]) and abs(out[j, i] - height) > 1e-3:
                    folded[0] += 1
                if math.isnan(out[j, i]) or height > out[j, i]:
                    out[j, i] = height


def map_of_scan(corners: np.ndarray, triangles: np.ndarray, *, width_m: float, height_m: float) -> tuple[np.ndarray, float]:
    """Heights (rows, columns) [m] of a laid scan over a white area, top row first, and how far inside its edge they end [m].

    corners (n, 3) [m], triangles (m, 3) indices into them
    The samples lie about as close as the scan's own corners. A scan may end 1 % of the width inside the white area.
    Source: `scan_heights`; the 1 % is our own choice.
    raises UnusableMap where it misses part of the white area, has holes or lies over itself
    """
    covered = max(float(np.ptp(corners[:, 0])) * float(np.ptp(corners[:, 1])), 1e-12)
    spacing = max(math.sqrt(covered / max(len(corners), 1)), max(width_m, height_m) / _MOST_SIDE)
    columns = max(8, math.ceil(width_m / spacing) + 1)
    rows = max(8, math.ceil(height_m / spacing) + 1)
    # A laid scan's edges are never quite straight or level: where it fails within 1 % of the edge, the map ends there.
    for short in (_falls_short(corners, width_m, height_m) + 1e-5 * width_m, _EDGE * width_m):
        inset = 2.0 * short
        out, folded = np.full((rows, columns), np.nan), np.zeros(1, np.int64)
        _bounded(corners, triangles, (width_m / (columns - 1), height_m / (rows - 1)), out.shape)
        scan_heights(
            np.ascontiguousarray(corners),
            np.ascontiguousarray(triangles),
            -0.5 * (width_m - inset),
            0.5 * (height_m - inset),
            (width_m - inset) / (columns - 1),
            (height_m - inset) / (rows - 1),
            out,
            folded,
        )
        if not np.isnan(out).any():
            break
    if folded[0] > 0.001 * out.size:
        raise UnusableMap("lies over itself: two sheets of the scan are one behind the other", "one sheet, seen from the front")
    holes = np.isnan(out)
    if holes.any():
        j, i = (int(a[0]) for a in np.nonzero(holes))
        where = f"{width_m * (i / (columns - 1) - 0.5):+.2f} m right, {height_m * (0.5 - j / (rows - 1)):+.2f} m up of the middle"
        raise UnusableMap(
            f"has holes: {100.0 * holes.mean():.1f} % of the white area, the first {where}",
            "a closed sheet: fill the holes first",
        )
    return out, short


def _bounded(corners: np.ndarray, triangles: np.ndarray, step_m: tuple[float, float], shape: tuple[int, ...]) -> None:
    """raises UnusableMap for triangles that lie so often over each other that the map would take for ever"""
    looks = np.ones(len(triangles))
    for axis in (0, 1):
        place = corners[triangles, axis]
        looks *= np.minimum(np.ptp(place, axis=1) / step_m[axis] + 1.0, shape[1 - axis])
    if looks.sum() > _MOST_LOOKS:
        raise UnusableMap("lies over itself: its triangles cover the screen again and again", "one sheet, seen from the front")


def _falls_short(corners: np.ndarray, width_m: float, height_m: float) -> float:
    """How far inside the white area's edge the scan ends [m].  raises UnusableMap for more than 1 % of the width"""
    low, high = corners.min(axis=0), corners.max(axis=0)
    half = (0.5 * width_m, 0.5 * height_m)
    short = max(0.0, *(float(max(low[i] + half[i], half[i] - high[i])) for i in (0, 1)))
    if short > _EDGE * width_m:
        raise UnusableMap(
            f"misses the frame: it reaches from {low[0]:.2f} to {high[0]:.2f} m across and from {low[1]:.2f} to "
            f"{high[1]:.2f} m up, the white area from {-0.5 * width_m:.2f} to {0.5 * width_m:.2f} and from "
            f"{-0.5 * height_m:.2f} to {0.5 * height_m:.2f} m",
            "a scan of the whole sheet, measured from its middle; or lay = true; and the right unit",
        )
    if min(high[0] - low[0], high[1] - low[1]) > 3.0 * max(width_m, height_m):
        raise UnusableMap(
            f"is far larger than the white area: {high[0] - low[0]:.2f} x {high[1] - low[1]:.2f} m", "the right unit"
        )
    return short
