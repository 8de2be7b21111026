"""Corners and edges to a Geometry: dual bases, normals, tree; everything frozen."""

from __future__ import annotations

import numpy as np

from .geometry import Geometry
from .tree import build_tree


def frozen(array: np.ndarray) -> np.ndarray:
    """A contiguous copy that nobody can write to: numba refuses to compile a kernel that would."""
    array = np.array(array, order="C")
    array.flags.writeable = False
    return array


def make_geometry(
    *,
    corner: np.ndarray,
    edge_u: np.ndarray,
    edge_v: np.ndarray,
    triangle: np.ndarray,
    surface: np.ndarray,
    role: np.ndarray,
    box: np.ndarray | None = None,
    relief: tuple = (),
) -> Geometry:
    """Geometry from patches corner + u edge_u + v edge_v whose reflecting side is edge_u x edge_v.

    corner, edge_u, edge_v  (P, 3) [m]
    triangle, surface, role (P,) as in Geometry
    box     (2, 3) low and high corner of a rectangular room [m]; then patches 0 .. 5 are its shell
    relief  the folded cloth, whose patch then takes no part in the tree; () for flat screens
    raises  ValueError for a patch without area
    Source: dual basis of two vectors in their plane, e.g. dual_u = (edge_v x n) / |edge_u x edge_v|.
    """
    cross = np.cross(edge_u, edge_v)
    size = np.linalg.norm(cross, axis=1, keepdims=True)
    if not (size > 0).all():
        raise ValueError(f"patch {int(np.argmin(size))} has no area")
    normal = cross / size
    dual_u, dual_v = np.cross(edge_v, normal) / size, np.cross(normal, edge_u) / size
    first = 6 if box is not None else 0
    ends = [corner, corner + edge_u, corner + edge_v, np.where(triangle[:, None] > 0, corner, corner + edge_u + edge_v)]
    items = np.arange(first, len(corner))
    if relief:
        items = items[items != int(relief[0][0])]
    low, high, child, count, order = build_tree(np.minimum.reduce(ends)[items], np.maximum.reduce(ends)[items])
    return Geometry(
        corner=frozen(corner.astype(float)),
        edge_u=frozen(edge_u.astype(float)),
        edge_v=frozen(edge_v.astype(float)),
        normal=frozen(normal),
        plane=frozen(np.hstack([corner, normal, dual_u, dual_v, np.asarray(triangle, float)[:, None]])),
        surface=frozen(surface.astype(np.int32)),
        role=frozen(role.astype(np.uint8)),
        box=frozen(np.full((2, 3), np.nan) if box is None else np.asarray(box, dtype=float)),
        tree_bounds=frozen(np.hstack([low, high])),
        tree_child=frozen(child),
        tree_count=frozen(count),
        tree_patch=frozen(items[order].astype(np.int32)),
        relief=relief,
    )


def rectangle(corner: tuple, edge_u: tuple, edge_v: tuple) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """One parallelogram as three (1, 3) arrays [m]. Source: definition."""
    return np.array([corner], float), np.array([edge_u], float), np.array([edge_v], float)


def room_shell(width: float, depth: float, height: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Six walls of a room [m], facing inwards: front, back, left, right, ceiling, floor; u, v grow away from the front-left-floor.

    u and v of the side walls, the ceiling and the floor: u runs out from the screen wall. Source: the project's frame.
    """
    w, d, h = width / 2.0, depth, height
    x, y, z = (2 * w, 0, 0), (0, -d, 0), (0, 0, h)
    walls = [
        rectangle((-w, 0, 0), x, z),  # front: x cross z = -y, into the room
        rectangle((-w, -d, 0), z, x),  # back: z cross x = +y
        rectangle((-w, 0, 0), z, y),  # left: z cross -y = +x
        rectangle((w, 0, 0), y, z),  # right: -y cross z = -x
        rectangle((-w, 0, h), x, y),  # ceiling: x cross -y = -z
        rectangle((-w, 0, 0), y, x),  # floor: -y cross x = +z
    ]
    return tuple(np.concatenate(parts) for parts in zip(*walls, strict=True))  # type: ignore[return-value]


def box_faces(low: tuple, high: tuple) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Six outward faces of a box between two corners [m] in the inside frame. Source: definition."""
    (x0, y0, z0), (x1, y1, z1) = low, high
    x, y, z = (x1 - x0, 0, 0), (0, y1 - y0, 0), (0, 0, z1 - z0)
    faces = [
        rectangle((x0, y1, z0), z, x),  # z cross x = +y, towards the screen wall
        rectangle((x0, y0, z0), x, z),  # -y
        rectangle((x0, y0, z0), z, y),  # z cross y = -x
        rectangle((x1, y0, z0), y, z),  # +x
        rectangle((x0, y0, z1), x, y),  # +z
        rectangle((x0, y0, z0), y, x),  # -z
    ]
    return tuple(np.concatenate(parts) for parts in zip(*faces, strict=True))  # type: ignore[return-value]
