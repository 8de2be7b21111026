"""Which heads may stand in which looks or beams: a quick way to leave out nearly all before the exact test is asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ...scenes.casing import Base
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import Place, Seat
from ...scenes.solids import TOUCH_M, distance_to_pyramid, pyramid_meets_sphere

_FEW = 24  # pairs; for fewer the exact test alone is quicker


def heads_met(apexes: Sequence[Place], base: Base, seats: Sequence[Seat]) -> Iterator[tuple[int, Seat]]:
    """(place of the apex, seat) of every head that shares space with a pyramid from an apex over a common base, apex by apex; all [m].

    Source: `pyramid_meets_sphere`; of many pairs nearly all are left out by `beyond_faces` first.
    """
    if len(apexes) * len(seats) <= _FEW:
        for i, apex in enumerate(apexes):
            yield from ((i, seat) for seat in seats if pyramid_meets_sphere((apex, *base), seat.eye_m, HEAD_RADIUS_M))
        return
    beyond = beyond_faces(np.array(apexes, float), np.array(base, float), np.array([seat.eye_m for seat in seats], float))
    for i, j in np.argwhere(beyond < HEAD_RADIUS_M).tolist():
        if beyond[i, j] <= 0.0 or distance_to_pyramid((apexes[i], *base), seats[j].eye_m) < HEAD_RADIUS_M - TOUCH_M:
            yield i, seats[j]


def beyond_faces(apexes: np.ndarray, base: np.ndarray, heads: np.ndarray) -> np.ndarray:
    """How far (V, H) [m] a head (H, 3) lies at most beyond a face's plane of the pyramid from an apex (V, 3) over a base (4, 3); 0 or less inside.

    Source: a ball further than its radius beyond the plane of a face lies outside a convex body.
    """
    spokes = base[None] - apexes[:, None]  # (V, 4, 3)
    normals = np.cross(spokes, np.roll(spokes, -1, axis=1))
    upright = np.cross(base[1] - base[0], base[2] - base[1])
    inner = 0.5 * (base.mean(axis=0)[None] - apexes)  # from the apex to a place inside
    sizes = np.linalg.norm(normals, axis=2)
    normals *= (np.where((normals * inner[:, None]).sum(axis=2) > 0.0, -1.0, 1.0) / np.where(sizes > 0.0, sizes, 1.0))[..., None]
    beyond = np.einsum("vhk,vfk->vhf", heads[None] - apexes[:, None], normals).max(axis=2)
    size = float(np.linalg.norm(upright))
    if size > 0.0:
        away = np.where((apexes - base[0]) @ upright > 0.0, -1.0, 1.0) / size
        beyond = np.maximum(beyond, away[:, None] * ((heads - base[0]) @ upright)[None])
    return np.asarray(beyond)
