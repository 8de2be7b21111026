"""Bodies with six sides among the groups of patches: a ray meets such a body as one thing, in place of six patches."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

_SAME = 1e-9


class Solids(NamedTuple):
    """Solids and what is none.

    solid       (S, 12) corner [m] and three vectors [1/m]: (p - corner) . vector is 0 to 1 inside
    solid_face  (S, 6) int32, patches on which the first of these is 0 and 1, then the second, then the third
    solid_of    (P,) int32, the solid that a patch is a face of, or -1
    loose       (L,) int32, patches of groups that are no solid's
    """

    solid: np.ndarray
    solid_face: np.ndarray
    solid_of: np.ndarray
    loose: np.ndarray


def solids_of(
    corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray, triangle: np.ndarray, first: np.ndarray, member: np.ndarray
) -> Solids:
    """Solids among groups of patches, corner, edge_u, edge_v (P, 3) [m], triangle (P,).

    first, member  groups as Geometry.group_first and group_patch have them
    Source: `_body`.
    """
    solid_of = np.full(len(corner), -1, np.int32)
    bodies, faces, loose = [np.zeros((0, 12))], [np.zeros((0, 6), np.int32)], [np.zeros(0, np.int32)]
    for low, high in zip(first[:-1].tolist(), first[1:].tolist(), strict=True):
        six = member[low:high]
        found = _body(corner[six], edge_u[six], edge_v[six]) if high - low == 6 and not triangle[six].any() else None
        if found is None:
            loose.append(six)
            continue
        solid_of[six] = len(bodies) - 1
        bodies.append(found[0])
        faces.append(six[found[1]][None])
    return Solids(
        np.concatenate(bodies), np.concatenate(faces).astype(np.int32), solid_of, np.concatenate(loose).astype(np.int32)
    )


def _body(corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
    """Frame (1, 12) of the body whose six faces these are, fronts outwards, and which of them are its faces in order; None: no body.

    Source: the third edge is one of another face that leaves the first face's plane; then every corner must have coordinates 0 or 1.
    """
    a, b = edge_u[0], edge_v[0]
    normal = np.cross(a, b)
    size = np.linalg.norm(normal)
    edges = np.concatenate([edge_u[1:], edge_v[1:]])
    depth = edges @ normal / size
    third = edges[np.argmax(np.abs(depth))]
    c = third if third @ normal < 0.0 else -third
    volume = normal @ c
    if abs(volume) <= _SAME * size:
        return None
    frame = np.array([np.cross(b, c), np.cross(c, a), normal]) / volume
    ends = np.stack([corner, corner + edge_u, corner + edge_v, corner + edge_u + edge_v])
    at = (ends - corner[0]) @ frame.T  # (4, 6, 3)
    if np.abs(at - np.rint(at)).max() > _SAME or at.min() < -0.5 or at.max() > 1.5:
        return None
    lies = np.rint(at).astype(int)
    flat = (lies.max(axis=0) == lies.min(axis=0)).astype(int)
    if (flat.sum(axis=1) != 1).any():
        return None
    axis = flat.argmax(axis=1)
    side = np.take_along_axis(lies[0], axis[:, None], 1)[:, 0]
    order = np.argsort(2 * axis + side)
    if ((2 * axis + side)[order] != np.arange(6)).any():
        return None
    outwards = np.einsum("ij,ij->i", np.cross(edge_u, edge_v), frame[axis]) * (2 * side - 1)
    return (np.concatenate([corner[0], *frame])[None], order) if (outwards > 0.0).all() else None
