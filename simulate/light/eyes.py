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
    owner = geometry.pieces.under[patch]
    for one in np.unique(owner):
        mine = np.flatnonzero(owner == one)
        some = np.flatnonzero((geometry.pieces.front == one) | (geometry.pieces.back == one))
        if len(some):  # the shell's own walls have none, and need none
            out[mine] = _onto(geometry, some, place[mine]) + LIFT_M * geometry.normal[patch[mine]]
    return out


def _onto(geometry: Geometry, some: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Nearest places (n, 3) [m] on the pieces `some`, moved a little towards the piece's middle."""
    pieces = geometry.pieces
    triangle = pieces.plane[some, 12] > 0.0
    middle = pieces.plane[some, :3] + np.where(triangle, 1.0 / 3.0, 0.5)[:, None] * (pieces.edge_u[some] + pieces.edge_v[some])
    out, step = np.empty_like(place), max(1, _CHUNK // len(some))
    for low in range(0, len(place), step):
        p = place[low : low + step]
        q = p[:, None] - pieces.plane[some, :3]
        a, b = (np.einsum("nsk,sk->ns", q, pieces.plane[some, k : k + 3]) for k in (6, 9))
        inside = (a >= 0.0) & (b >= 0.0) & np.where(triangle, a + b <= 1.0, (a <= 1.0) & (b <= 1.0))
        pick, near = inside.argmax(axis=1), p.copy()
        off = np.flatnonzero(~inside.any(axis=1))
        if len(off):
            pick[off], near[off] = _nearest(geometry, some, triangle, p[off])
        out[low : low + step] = near + _INWARD * (middle[pick] - near)
    return out


def _nearest(geometry: Geometry, some: np.ndarray, triangle: np.ndarray, place: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Piece (n,) and place (n, 3) [m] on its edge that is nearest to places in its plane but beside it. Source: edge by edge."""
    pieces, rows = geometry.pieces, np.arange(len(place))
    corner, u, v = pieces.plane[some, :3], pieces.edge_u[some], pieces.edge_v[some]
    third = np.where(triangle[:, None], v - u, v)
    best, at, pick = np.full(len(place), np.inf), np.zeros_like(place), np.zeros(len(place), int)
    for start, along in ((corner, u), (corner, v), (corner + u, third), (corner + v, np.where(triangle[:, None], u - v, u))):
        off = place[:, None] - start
        t = np.clip(np.einsum("nsk,sk->ns", off, along) / np.maximum((along * along).sum(1), 1e-300), 0.0, 1.0)
        foot = start + t[..., None] * along
        far = ((place[:, None] - foot) ** 2).sum(2)
        one = far.argmin(axis=1)
        nearer = far[rows, one] < best
        best[nearer], at[nearer], pick[nearer] = far[rows, one][nearer], foot[rows, one][nearer], one[nearer]
    return pick, at
