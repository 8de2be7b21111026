"""How cells on a room's surfaces hang together: where the light that arrives by way of the room goes on smoothly."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..light.geometry import Geometry
from .layout import FINE_M, Bodies, bodies_of
from .texture import Texture

TOUCHING_M = 2.0 * FINE_M  # what stands no farther off a surface parts the light at its outline


class Joins(NamedTuple):
    """The neighbours of T cells along u and along v.

    place   (T, 2) of the cells' middles, width (T, 2) of the cells, as shares of their patch's edges [1]
    step    (T, 2) int, how much farther on in the list the next one stands
    before, after  (T, 2) bool, whether light goes on smoothly from the one before, and to the next
    patches  (P, 2) int, first cell of each patch with cells of its own, and the first after it
    """

    place: np.ndarray
    width: np.ndarray
    step: np.ndarray
    before: np.ndarray
    after: np.ndarray
    patches: np.ndarray


def whole_patches(texture: Texture) -> np.ndarray:
    """Patches (n,) with cells of their own. Source: `Texture.shared`."""
    return np.flatnonzero((texture.first >= 0) & (texture.first < len(texture.value) - len(texture.shared)))


def joins_of(geometry: Geometry, texture: Texture) -> Joins:
    """The joins of a texture's cells.

    Lines run across a whole surface, but only where a body touches it does the light that the room sends jump at them.
    Source: cells are joined where the same bodies lie on both.
    """
    count, bodies = len(texture.value), bodies_of(geometry)
    whole, many = whole_patches(texture), texture.count_u * texture.count_v
    ends = np.stack([texture.first[whole], texture.first[whole] + many[whole]], axis=1).astype(int)
    found = Joins(
        np.full((count, 2), 0.5),
        np.ones((count, 2)),
        np.ones((count, 2), int),
        np.zeros((count, 2), bool),
        np.zeros((count, 2), bool),
        ends,
    )
    for i in whole:
        shape = int(texture.count_u[i]), int(texture.count_v[i])
        some = slice(int(texture.first[i]), int(texture.first[i]) + shape[0] * shape[1])
        bounds = texture.bounds(int(i))
        middles = [0.5 * (b[1:] + b[:-1]) for b in bounds]
        for axis, part in enumerate(np.meshgrid(*middles, indexing="ij")):
            found.place[some, axis] = part.ravel()
        for axis, part in enumerate(np.meshgrid(*(np.diff(b) for b in bounds), indexing="ij")):
            found.width[some, axis] = part.ravel()
        found.step[some] = shape[1], 1
        under = _lying_on(int(i), geometry, bodies, middles)
        for axis in (0, 1):
            alike = np.moveaxis(under, axis, 0)
            joined = alike[1:] == alike[:-1]
            for flags, at in ((found.before, slice(1, None)), (found.after, slice(0, -1))):
                on = np.zeros(alike.shape, bool)
                on[at] = joined
                flags[some, axis] = np.moveaxis(on, 0, axis).ravel()
    return found


def _lying_on(patch: int, geometry: Geometry, bodies: Bodies, middles: list[np.ndarray]) -> np.ndarray:
    """A number for each set of faces that lie on a patch (nu, nv) at places 0 .. 1 along u and v. Source: sums of numbers by lot."""
    _, low, high = bodies.on(patch, geometry)
    lying = bodies.patch[(low > -1e-6) & (high < TOUCHING_M) & (bodies.patch != patch)]
    u, v = (part.reshape(-1, 1) for part in np.meshgrid(*middles, indexing="ij"))
    place = geometry.corner[patch] + u * geometry.edge_u[patch] + v * geometry.edge_v[patch]
    lots, found = np.random.default_rng(0), np.zeros(len(place), np.int64)
    for k in lying:
        off, plane = place - geometry.corner[k], geometry.plane[k]
        a, b = off @ plane[6:9], off @ plane[9:12]
        found += np.where((a > 0.0) & (a < 1.0) & (b > 0.0) & (b < 1.0), lots.integers(1, 1 << 40), 0)
    return found.reshape(len(middles[0]), len(middles[1]))
