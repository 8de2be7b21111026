"""What the room's light adds to the cloth towards seats, and to viewers' heads, from rays that are traced once a room."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...scenes.head import HEAD_RADIUS_M
from ..light.direct import cloth_points
from ..light.patches import frozen
from ..measuring.flatten import SceneArrays
from ..views.gather import GatherPoints, ray_table
from ..views.primary_rays import HEAD
from ..views.shade import HEAD_REFLECTANCE
from ..views.texture import Texture
from .kept_gather import ClothHits, RayEnds, cloth_weights, eye_weights, hits, on_cloth, read

BACK = 17, 10  # places across and down of what the room sends back
RAYS = 256
HEAD_GRID = 9, 13  # corners of a head from pole to pole and round
HEAD_RAYS, MOST_HEADS = 64, 40
_MOST_KEPT = 24  # seats, or seats under a fabric
INSET = 1e-6  # the picture's edge belongs to it


def places_on(arrays: SceneArrays, columns: int, rows: int) -> tuple[np.ndarray, np.ndarray]:
    """Even places (n,) on the picture, edges included, row by row from the top [m]. Source: definition."""
    left, right, bottom, top = arrays.projector.picture
    x, y = np.meshgrid(np.linspace(INSET, 1.0 - INSET, columns), np.linspace(INSET, 1.0 - INSET, rows))
    return (left + (right - left) * x).ravel(), (top - (top - bottom) * y).ravel()


@cache
def head_corners() -> np.ndarray:
    """Directions (n, 3) of the corners of a head as it is drawn, inside frame: a ring grid from pole to pole."""
    down, round_ = np.meshgrid(np.linspace(0.0, np.pi, HEAD_GRID[0]), np.linspace(0.0, 2.0 * np.pi, HEAD_GRID[1]), indexing="ij")
    ways = np.stack([np.sin(down) * np.cos(round_), np.sin(down) * np.sin(round_), np.cos(down)], axis=-1)
    return frozen(np.ascontiguousarray(ways.reshape(-1, 3)))


class _Head(NamedTuple):
    """Rays from the corners of one head: where they end, and of those that meet the cloth what they meet and where they end then."""

    ends: RayEnds
    met: ClothHits
    onward: RayEnds


class SentLight(NamedTuple):
    """What a room's cells and its cloth send.

    sent    (T + 1, C) [cd/m2], the last cell dark;  levels (zones, C) of the picture, tint (C,) of the cloth [1]
    fabric  with a key that tells it from others;  scale  lumens over those for which the rays were traced [1]
    """

    sent: np.ndarray
    levels: np.ndarray
    tint: np.ndarray
    fabric: FabricArrays
    fabric_key: Hashable
    scale: float


class Sights:
    """Kept rays of one room with its cloth flat; used by one thread.

    arrays  of any scene with these places and this lens;  texture  of the room's cells
    """

    def __init__(self, arrays: SceneArrays, texture: Texture, *, seed: int, threads: int) -> None:
        self._arrays, self._texture, self._threads = arrays, texture, threads
        self._table, self._head_table = ray_table(RAYS, seed), ray_table(HEAD_RAYS, seed)
        cloth = cloth_points(arrays.geometry, arrays.projector, *places_on(arrays, *BACK))
        self._points = GatherPoints(
            np.ascontiguousarray(cloth.place), np.ascontiguousarray(cloth.normal), cloth.patch, np.ascontiguousarray(cloth.normal)
        )
        self._ends, _ = hits(arrays.geometry, texture, self._points, self._table, threads=threads)
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()

    def back(self, light: SentLight, eye: np.ndarray) -> np.ndarray:
        """What the room's light adds to the cloth towards an eye [m], (10, 17, 3) [cd/m2], tint included. Source: as `gather`."""
        weight = self._once(("back", light.fabric_key, eye.tobytes()), lambda: self._weights_towards(light.fabric, eye))
        found = read(self._ends, weight, RAYS, light.sent, threads=1) * light.tint
        return np.broadcast_to(found, (len(found), 3)).reshape(*BACK[::-1], 3)

    def heads(self, light: SentLight, eyes: np.ndarray) -> np.ndarray:
        """What heads at eyes (n, 3) [m] send, (n, corners, 3) [cd/m2] at the corners of `head_corners`. Source: as `shade.arriving`."""
        found = [self._head(light, eye) for eye in eyes[:MOST_HEADS]]
        return np.stack([np.broadcast_to(each, (len(each), 3)) for each in found])

    def _head(self, light: SentLight, eye: np.ndarray) -> np.ndarray:
        head: _Head = self._once(("head", eye.tobytes()), lambda: self._trace_head(eye))
        direct, onward = self._once(
            ("on head", light.fabric_key, eye.tobytes()), lambda: cloth_weights(light.fabric, head.met, threads=1)
        )
        whole = read(head.ends, np.ones(len(head.ends.cell), np.float32), HEAD_RAYS, light.sent, threads=1)
        by_cloth = light.scale * direct[:, None] * light.levels[head.met.zone] + read(
            head.onward, onward, 1, light.sent, threads=1
        )
        row = head.met.which // HEAD_RAYS
        for c in range(whole.shape[1]):
            whole[:, c] += light.tint[c] / HEAD_RAYS * np.bincount(row, by_cloth[:, c], minlength=len(whole))
        return HEAD_REFLECTANCE * whole

    def _trace_head(self, eye: np.ndarray) -> _Head:
        arrays, way = self._arrays, head_corners()
        patch = np.full(len(way), HEAD, np.int32)
        points = GatherPoints(np.ascontiguousarray(eye + HEAD_RADIUS_M * way), way, patch, way)
        ends, which = hits(arrays.geometry, self._texture, points, self._head_table, threads=self._threads)
        met, onward = on_cloth(
            arrays.geometry, arrays.projector, self._texture, points, self._head_table, which, threads=self._threads
        )
        return _Head(ends, met, onward)

    def _weights_towards(self, fabric: FabricArrays, eye: np.ndarray) -> np.ndarray:
        away = eye - self._points.place
        away /= np.linalg.norm(away, axis=1, keepdims=True)
        points = self._points._replace(to_eye=np.ascontiguousarray(away))
        return eye_weights(self._arrays.geometry, fabric, points, self._table, threads=self._threads)

    def _once(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """What is kept under a key, made when it is first asked for; what was asked for longest ago goes."""
        if key not in self._kept:
            self._kept[key] = make()
        self._kept.move_to_end(key)
        while len(self._kept) > _MOST_KEPT * 3:
            self._kept.popitem(last=False)
        return self._kept[key]
