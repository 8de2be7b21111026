"""Faces of more than three corners cut into triangles: convex ones as a fan, others ear by ear, so that none lies outside its face."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

MOST_CORNERS = 300  # of a face that is not convex; the work grows with the third power
_FLAT = 1e-9  # twice an area, of a face about 1 in size, below which three corners lie on one line
CROSSES = "a face whose outline crosses itself"

Triangle = tuple[int, int, int]


class FaceError(ValueError):
    """A face that cannot be cut: its place among the faces, and why in words."""

    def __init__(self, place: int, why: str) -> None:
        super().__init__(why)
        self.place = place


def cut(corners: np.ndarray, rings: Sequence[Sequence[int]]) -> list[list[Triangle]]:
    """Triangles of each face, as numbers of corners (V, 3) in any unit. Corners off a face's mean plane are judged as seen along its normal.

    raises FaceError for a face of more than four corners whose outline crosses itself, or that is not convex and has more than MOST_CORNERS
    Source: Newell's normal; ear clipping (Meisters 1975). A hole may be cut out by a seam that the outline runs along twice.
    """
    found = [
        [(ring[0], ring[1], ring[2])] if len(ring) == 3 else [(ring[0], ring[k], ring[k + 1]) for k in range(1, len(ring) - 1)]
        for ring in rings
    ]
    by_length: dict[int, list[int]] = {}
    for i, ring in enumerate(rings):
        if len(ring) > 3:
            by_length.setdefault(len(ring), []).append(i)
    for length, mine in by_length.items():
        with np.errstate(all="ignore"):  # places beyond all measure stay fans, for others to refuse
            at, normal = _seen(corners[np.array([rings[i] for i in mine])])
            bent = _bent(at, normal)
        for k in np.flatnonzero(bent):
            i = mine[k]
            try:
                ears = _ears(_flat(at[k], normal[k]))
            except ValueError as fault:
                if length > 4:
                    raise FaceError(i, str(fault)) from None
                continue
            found[i] = [(rings[i][a], rings[i][b], rings[i][c]) for a, b, c in ears]
    return found


def _seen(rings: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Corners of faces (m, n, 3) about 1 in size, and the unit normals about which they turn left (m, 3), 0 for those without area."""
    at = rings - rings.mean(axis=1, keepdims=True)
    size = np.abs(at).max(axis=(1, 2), keepdims=True)
    at = at / np.where(size > 0.0, size, 1.0)
    normal = np.cross(at, np.roll(at, -1, axis=1)).sum(axis=1)
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    return at, np.where(length > _FLAT, normal / np.maximum(length, _FLAT), 0.0)


def _bent(at: np.ndarray, normal: np.ndarray) -> np.ndarray:
    """True for faces (m, n, 3) with a corner that is bent inwards, and for those that go round more than once."""
    ways = at - np.roll(at, 1, axis=1)
    onward = np.roll(ways, -1, axis=1)
    turns = np.einsum("mnk,mk->mn", np.cross(ways, onward), normal)
    turned = np.arctan2(turns, np.einsum("mnk,mnk->mn", ways, onward)).sum(axis=1)
    return np.asarray(normal.any(axis=1) & ((turns.min(axis=1) < -_FLAT) | (turned > 3.0 * np.pi)))


def _flat(at: np.ndarray, normal: np.ndarray) -> np.ndarray:
    """Corners (n, 2) of a face as seen along its normal: x to the right, y up."""
    right = np.cross(np.eye(3)[np.argmin(np.abs(normal))], normal)
    right /= np.linalg.norm(right)
    return np.column_stack([at @ right, at @ np.cross(normal, right)])


def _twice_area(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> np.ndarray:
    """Twice the area of triangles, positive where they turn left; corners (..., 2). Source: definition."""
    return np.asarray((b[..., 0] - a[..., 0]) * (c[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (c[..., 0] - a[..., 0]))


def _crosses(flat: np.ndarray) -> bool:
    """True where two sides of a polygon (n, 2) cross; those that only touch, or lie on each other, do not. Source: orientation tests."""
    a, b = flat, np.roll(flat, -1, axis=0)
    over = [_twice_area(p[:, None], q[:, None], r[None]) for p, q, r in ((a, b, a), (a, b, b))]
    parted = (np.minimum(*over) < -_FLAT) & (np.maximum(*over) > _FLAT)  # by the line of one side, the ends of the other
    return bool((parted & parted.T).any())


def _ears(flat: np.ndarray) -> list[Triangle]:
    """Triangles of a polygon (n, 2) that turns left.  raises ValueError"""
    if len(flat) > MOST_CORNERS:
        raise ValueError(f"a face of {len(flat)} corners that is not convex")
    if _crosses(flat):
        raise ValueError(CROSSES)
    left, found = np.arange(len(flat)), []
    while len(left) > 2:
        at = flat[left]
        a, c = np.roll(at, 1, axis=0), np.roll(at, -1, axis=0)
        turn = _twice_area(a, at, c)
        bent = at[turn <= _FLAT]  # other corners are in no ear that these are not in
        within = np.ones((len(left), len(bent)), bool)
        for p, q in ((a, at), (at, c), (c, a)):
            within &= _twice_area(p[:, None], q[:, None], bent[None]) >= -_FLAT
        for p in (a, at, c):
            within &= np.abs(p[:, None] - bent[None]).max(axis=2) > _FLAT
        ears = (turn > _FLAT) & ~within.any(axis=1)
        if not ears.any():
            if abs(float(np.sum(at[:, 0] * c[:, 1] - c[:, 0] * at[:, 1]))) < len(flat) * _FLAT:
                break  # what is left is a seam
            raise ValueError(CROSSES)
        sides = np.stack([((p - q) ** 2).sum(axis=1) for p, q in ((a, at), (at, c), (c, a))])
        best = int(np.argmax(np.where(ears, turn / np.maximum(sides.max(axis=0), _FLAT**2), -1.0)))
        found.append((int(left[best - 1]), int(left[best]), int(left[(best + 1) % len(left)])))
        left = np.delete(left, best)
    return found
