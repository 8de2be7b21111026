"""Corners and edges to a Geometry: dual bases, normals, tree; everything frozen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ...scenes.rooms.groups import Grouped, Triangles
from .geometry import STACK, Geometry
from .pieces import Pieces
from .solids import solids_of
from .tree import build_tree

GROUP = 8  # patches of one group at most
_HAIR = 1e-9  # by how much of the largest coordinate bounds grow, so that flat groups are not lost to rounding


def frozen(array: np.ndarray) -> np.ndarray:
    """A contiguous copy that nobody can write to: numba refuses to compile a kernel that would."""
    array = np.array(array, order="C")
    array.flags.writeable = False
    return array


def sealed(array: np.ndarray) -> np.ndarray:
    """The array itself, made by the caller and contiguous, to which nobody can write from now on."""
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
    asked: str = "groups",
) -> Geometry:
    """Geometry from patches corner + u edge_u + v edge_v whose reflecting side is edge_u x edge_v.

    corner, edge_u, edge_v  (P, 3) [m]
    triangle, surface, role (P,) as in Geometry
    box     (2, 3) low and high corner of a rectangular room [m]; then patches 0 .. 5 are its shell
    relief  the folded cloth, whose patch then takes no part in the tree; () for flat screens
    asked   what rays look for the patches in: "groups", the "tree" where they are the pieces of others, "nothing" where rays meet pieces
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
    items = np.arange(first, len(corner) if asked != "nothing" else first)
    if relief:
        items = items[items != int(relief[0][0])]
    least, most = np.minimum.reduce(ends)[items], np.maximum.reduce(ends)[items]
    low, high, child, count, order = build_tree(least, most)
    members, group_first, group_bounds = groups_of(
        np.asarray(surface)[items], least, most, order if asked == "groups" else order[:0]
    )
    first_of, member = group_first.astype(np.int32), items[members].astype(np.int32)
    solids = solids_of(corner, edge_u, edge_v, np.asarray(triangle), first_of, member)
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
        group_bounds=frozen(group_bounds),
        group_first=frozen(first_of),
        group_patch=frozen(member),
        solid=frozen(solids.solid),
        solid_face=frozen(solids.solid_face),
        solid_of=frozen(solids.solid_of),
        loose=frozen(solids.loose),
        relief=relief,
    )


def groups_of(
    surface: np.ndarray, low: np.ndarray, high: np.ndarray, order: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Patches of each surface in groups of at most GROUP, or more where there are very many: members, first of each group, bounds (6, G) [m].

    surface (M,), low, high (M, 3) [m]  of each patch;  order  patches so that neighbours stand together
    raises  ValueError for more surfaces than a ray has marks for
    Source: an object is a better box than a half of a tree's patches.
    """
    members = order[np.argsort(surface[order], kind="stable")]
    mine = surface[members]
    ranks = np.arange(len(mine)) - np.searchsorted(mine, mine)
    first = np.flatnonzero(ranks % (GROUP * max(1, math.ceil(2 * len(mine) / GROUP / STACK))) == 0)
    if len(first) > STACK:
        raise ValueError(f"{len(first)} surfaces of whole patches (at most {STACK})")
    if not len(first):
        return members, np.zeros(1), np.zeros((6, 0))
    hair = _HAIR * (1.0 + np.abs(high).max())
    bounds = [np.minimum.reduceat(low[members], first) - hair, np.maximum.reduceat(high[members], first) + hair]
    return members, np.append(first, len(mine)), np.concatenate(bounds, axis=1).T


class LaidPart(NamedTuple):
    """A parallelogram that lies on a patch: patch and the one under it, by number."""

    patch: int
    under: int


def make_pieced_geometry(
    *,
    corner: np.ndarray,
    edge_u: np.ndarray,
    edge_v: np.ndarray,
    surface: np.ndarray,
    role: np.ndarray,
    meshes: Sequence[tuple[Triangles, Grouped]] = (),
    parts: Sequence[LaidPart] = (),
    box: np.ndarray | None = None,
    relief: tuple = (),
) -> Geometry:
    """Geometry whose patches may be cut into pieces: whole parallelograms, then the flat groups of meshes.

    corner, edge_u, edge_v, surface, role   of the parallelograms, as `make_geometry` has them; parts are among them
    meshes  in the inside frame [m] with their groups; their patches follow in order, then the backs of those that are sheets
    parts   each uppermost on those before it;  box, relief  as `make_geometry` has them
    raises  ValueError for a patch without area
    Source: `make_geometry`.
    """
    whole = len(corner)
    frames = [(corner, edge_u, edge_v, surface, role)]
    tops = np.array([part.patch for part in parts], np.int64)
    own = np.setdiff1d(np.arange(6 if box is not None else 0, whole), tops)
    if relief:
        own = own[own != int(relief[0][0])]
    cut = [(corner[own], edge_u[own], edge_v[own], np.zeros(len(own)), own, np.full(len(own), -1))]
    count = whole
    for mesh, groups in meshes:
        frames.append((groups.corner, groups.edge_u, groups.edge_v, groups.surface, np.zeros(len(groups.corner))))
        a, b, c = (mesh.corners[mesh.faces[:, k]] for k in range(3))
        sheets = np.flatnonzero(groups.sheet)
        back = np.full(len(groups.corner), -1)
        back[sheets] = count + len(groups.corner) + np.arange(len(sheets))
        frames.append(
            (groups.corner[sheets], groups.edge_v[sheets], groups.edge_u[sheets], groups.surface[sheets], np.zeros(len(sheets)))
        )
        cut.append((a, b - a, c - a, np.ones(len(a)), count + groups.group, back[groups.group]))
        count += len(groups.corner) + len(sheets)
    of_patches = [np.concatenate(arrays) for arrays in zip(*frames, strict=True)]
    start, u, v, triangle, front, behind = (np.concatenate(arrays) for arrays in zip(*cut, strict=True))
    pieces = make_geometry(
        corner=start, edge_u=u, edge_v=v, triangle=triangle, surface=front, role=np.zeros(len(front)), asked="tree"
    )
    patches = make_geometry(
        corner=of_patches[0], edge_u=of_patches[1], edge_v=of_patches[2], triangle=np.zeros(count), surface=of_patches[3],
        role=of_patches[4], box=box, relief=relief, asked="nothing",
    )  # fmt: skip
    under = np.arange(count, dtype=np.int32)
    under[tops] = [part.under for part in parts]
    on = {i: [part.patch for part in reversed(parts) if part.under == i] for i in sorted({part.under for part in parts})}
    first = np.concatenate([[0], np.cumsum([len(on.get(i, ())) for i in range(count)])]).astype(np.int32)
    upper = np.array([part for i in sorted(on) for part in on[i]], np.int32)
    lists = (pieces.plane, pieces.edge_u, pieces.edge_v, front.astype(np.int32), behind.astype(np.int32), under, first, upper)
    return patches._replace(
        tree_bounds=pieces.tree_bounds, tree_child=pieces.tree_child, tree_count=pieces.tree_count,
        tree_patch=pieces.tree_patch, pieces=Pieces(*map(frozen, lists)),
    )  # fmt: skip


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
