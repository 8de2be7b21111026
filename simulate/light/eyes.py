"""From where a node of the map looks at the screen: its own place, or the nearest of its patch where the frame reaches past the pieces.

Nodes beyond a patch's edge are needed to read the map up to that edge. What they hold is the light that would arrive there if the
edge's own view of the screen went on: cosines and distance are the node's, hidden parts those of the nearest place on the patch.
"""

from __future__ import annotations

import numpy as np

from .before import LIFT_M
from .geometry import Geometry, is_pieced

_INWARD = 1e-4  # of the way to a piece's middle: off the neighbours' edges
_CHUNK = 1_000_000


def eyes_of(geometry: Geometry, patch: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Where nodes at place (n, 3) [m] on patch (n,) look from, (n, 3) [m].

    Source: nearest place of the patch's pieces, a hair off its plane and edges; the place itself where there are no pieces.
    """
    if not is_pieced(geometry):
        return place
    out = place + LIFT_M * geometry.normal[patch]
    owner, faces = geometry.pieces.under[patch], np.stack([geometry.pieces.front, geometry.pieces.back])
    count = np.bincount(faces[faces >= 0], minlength=len(geometry.normal))
    own = np.zeros(len(count), int)  # the piece of a patch that has one: most of a mesh, and all of those at once
    for face in faces:
        own[face[face >= 0]] = np.flatnonzero(face >= 0)
    one = np.flatnonzero(count[owner] == 1)
    several = np.unique(owner[count[owner] > 1])  # the shell's own walls have none, and need none
    groups = [(one, own[owner[one]][:, None])] if len(one) else []
    groups += ((np.flatnonzero(owner == each), np.flatnonzero((faces == each).any(axis=0))[None]) for each in several)
    for mine, some in groups:
        out[mine] = _onto(geometry, some, place[mine]) + LIFT_M * geometry.normal[patch[mine]]
    return out


def _onto(geometry: Geometry, some: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Nearest places (n, 3) [m] on the pieces `some` (n or 1, s) of each, moved a little towards the piece's middle."""
    out, step = np.empty_like(place), max(1, _CHUNK // some.shape[1])
    for low in range(0, len(place), step):
        each = some[low : low + step] if len(some) > 1 else some
        out[low : low + step] = _onto_some(geometry, each, place[low : low + step])
    return out


def _onto_some(geometry: Geometry, some: np.ndarray, p: np.ndarray) -> np.ndarray:
    """`_onto` of few places at once."""
    pieces = geometry.pieces
    triangle, plane = pieces.plane[some, 12] > 0.0, pieces.plane[some]
    q = p[:, None] - plane[..., :3]
    a, b = (np.einsum("nsk,nsk->ns", q, plane[..., k : k + 3]) for k in (6, 9))
    inside = (a >= 0.0) & (b >= 0.0) & np.where(triangle, a + b <= 1.0, (a <= 1.0) & (b <= 1.0))
    pick, near = inside.argmax(axis=1), p.copy()
    off = np.flatnonzero(~inside.any(axis=1))
    if len(off):
        pick[off], near[off] = _nearest(geometry, some[off] if len(some) > 1 else some, p[off])
    found = some[np.arange(len(p)) % len(some), pick]
    share = np.where(pieces.plane[found, 12] > 0.0, 1.0 / 3.0, 0.5)[:, None]
    middle = pieces.plane[found, :3] + share * (pieces.edge_u[found] + pieces.edge_v[found])
    return near + _INWARD * (middle - near)


def _nearest(geometry: Geometry, some: np.ndarray, place: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Piece (n,), by its number in `some`, and place (n, 3) [m] on its edge that is nearest to places beside it. Source: edge by edge."""
    pieces, rows = geometry.pieces, np.arange(len(place))
    triangle = pieces.plane[some, 12, None] > 0.0
    corner, u, v = pieces.plane[some, :3], pieces.edge_u[some], pieces.edge_v[some]
    third = np.where(triangle, v - u, v)
    best, at, pick = np.full(len(place), np.inf), np.zeros_like(place), np.zeros(len(place), int)
    for start, along in ((corner, u), (corner, v), (corner + u, third), (corner + v, np.where(triangle, u - v, u))):
        off = place[:, None] - start
        t = np.clip(np.einsum("nsk,nsk->ns", off, along) / np.maximum((along * along).sum(2), 1e-300), 0.0, 1.0)
        foot = start + t[..., None] * along
        far = ((place[:, None] - foot) ** 2).sum(2)
        one = far.argmin(axis=1)
        nearer = far[rows, one] < best
        best[nearer], at[nearer], pick[nearer] = far[rows, one][nearer], foot[rows, one][nearer], one[nearer]
    return pick, at
