"""What a seat sees, in cd/m2: the picture exactly, the rest from the room's solved light."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...scenes.model import Scene
from ..light.geometry import SCREEN
from ..light.projector import CENTRE, RIGHT, UP
from ..measuring.colour import luminance
from .camera import Camera, on_screen_plane, seat_camera
from .cells import FIRST_STEP, spread_over
from .content import Sampler
from .gather import ray_table
from .primary_rays import Seen, look
from .shade import PictureSetup, arriving, colours, forecast, set_the_stage, surface_key, zone_levels

RAYS = 256
SLIVER_RAYS = 128
_SAMPLES = 4  # a side, for pixels across an edge


@dataclass(frozen=True)
class SeatPicture:
    """A seat's view.

    cd_m2        (height, width, 3) linear RGB whose luminance is in cd/m2
    screen       (height, width) True where the pixel's middle lies on the cloth
    surround     mean luminance [cd/m2] half a picture height wide to the left and to the right of screen and border; NaN unseen
    picture_mean mean luminance of the picture [cd/m2]
    asked        number of pixels for which light was gathered
    """

    scene: Scene
    camera: Camera
    cd_m2: np.ndarray
    screen: np.ndarray
    asked: int

    @property
    def surround(self) -> tuple[float, float]:
        """See above."""
        return self._beside[0]

    @property
    def picture_mean(self) -> float:
        """See above."""
        return self._beside[1]

    @cached_property
    def _beside(self) -> tuple[tuple[float, float], float]:
        row, column = np.mgrid[0 : self.camera.height, 0 : self.camera.width]
        return _surround(self.scene, self.camera, self.cd_m2, self.screen, self.camera.rays(column.ravel(), row.ravel()))

    @property
    def luminance(self) -> np.ndarray:
        """(height, width) [cd/m2]. Source: `luminance`."""
        return luminance(self.cd_m2)


def seat_picture(
    stage: PictureSetup,
    camera: Camera,
    *,
    threads: int = 1,
    arriving_at: Callable[[Seen, np.ndarray, np.ndarray, np.ndarray], np.ndarray] | None = None,
    met: Callable[[np.ndarray], Seen] | None = None,
) -> SeatPicture:
    """The view of a camera [cd/m2].

    arriving_at  (seen, rays, pixels, table) -> light (n, C) as `arriving` has it, from elsewhere; met  rays from the eye -> what they meet, as
                 `look` has it, from elsewhere; see `alike.py`
    returns  SeatPicture; noise and bias at most about 1 % (tested against path tracing)
    Source: rendering equation: projector's light and lit screen exactly, bounced light by final gather on few pixels.
    """
    arrays, met = stage.arrays, met or looking(stage, camera, threads)
    wide, high = _padded(camera.width), _padded(camera.height)
    row, column = (a.ravel() for a in np.mgrid[0:high, 0:wide])
    rays = camera.rays(column, row)
    seen = met(rays)
    table = ray_table(RAYS, stage.seed)

    def ask(pixels: np.ndarray) -> np.ndarray:
        if arriving_at is not None:
            return arriving_at(seen, rays, pixels, table)
        return arriving(stage, seen, rays, pixels, table, threads)

    key = surface_key(arrays, seen, stage.lamps, rays).reshape(high, wide)
    light, asked = spread_over(key, ask, len(stage.room.values.tint), forecast(stage, seen).reshape(high, wide))
    sampler = stage.content.sampler()
    footprint = _footprints(stage, seen, high, wide)
    cd_m2 = colours(stage, seen, rays, light.reshape(-1, light.shape[2]), sampler, footprint).reshape(high, wide, 3)
    edge = _edges(key, seen.lux.reshape(high, wide) > 0.0)
    edge[camera.height :], edge[:, camera.width :] = False, False
    _smooth_edges(stage, camera, cd_m2, key, light, edge, sampler, footprint, threads, met)
    cut = (slice(0, camera.height), slice(0, camera.width))
    screen = ((key >= 0) & (arrays.geometry.role[np.maximum(seen.patch, 0)] == SCREEN).reshape(high, wide))[cut]
    return SeatPicture(stage.scene, camera, cd_m2[cut], screen, asked)


def looking(stage: PictureSetup, camera: Camera, threads: int) -> Callable[[np.ndarray], Seen]:
    """What rays (n, 3) from a camera's eye meet. Source: `look`."""
    arrays = stage.arrays
    return lambda rays: look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, rays, threads=threads)


def white_reference(stage: PictureSetup, camera: Camera) -> float:
    """Luminance [cd/m2] of full white at the picture's middle towards the eye, by the projector's own light; 0 if hidden.

    Source: L = gain E / pi.
    """
    arrays = stage.arrays
    left, right, bottom, top = arrays.projector.picture
    centre, across, upward = arrays.projector.frame[CENTRE], arrays.projector.frame[RIGHT], arrays.projector.frame[UP]
    ray = centre + 0.5 * (left + right) * across + 0.5 * (bottom + top) * upward - camera.eye
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, (ray / np.linalg.norm(ray))[None])
    hidden = seen.patch[0] < 0 or arrays.geometry.role[seen.patch[0]] != SCREEN
    return 0.0 if hidden else float(seen.gain[0] * seen.lux[0] / np.pi)


def _padded(size: int) -> int:
    return -(-(size - 1) // FIRST_STEP) * FIRST_STEP + 1


def _footprints(stage: PictureSetup, seen: Seen, high: int, wide: int) -> tuple[np.ndarray, np.ndarray]:
    """Size of each pixel on the picture, as shares of its width and height: |d/dx| + |d/dy| of the raster place."""
    left, right, bottom, top = stage.arrays.projector.picture
    sizes = []
    for place, whole in ((seen.across, right - left), (seen.upward, top - bottom)):
        grid = np.where(seen.lux > 0.0, place, np.nan).reshape(high, wide) / whole
        total = np.zeros((high, wide))
        for axis in (0, 1):
            step = np.abs(np.diff(grid, axis=axis))
            pad = [(0, 0), (0, 0)]
            pad[axis] = (1, 0)
            before = np.pad(step, pad, constant_values=np.nan)
            pad[axis] = (0, 1)
            after = np.pad(step, pad, constant_values=np.nan)
            total += np.nan_to_num(np.fmin(before, after))
        sizes.append(total.ravel())
    return sizes[0], sizes[1]


def _edges(key: np.ndarray, lit: np.ndarray) -> np.ndarray:
    """True for pixels beside which another surface, or an edge of the projector's light, begins."""
    both = 2 * key + lit
    edge = np.zeros(key.shape, bool)
    for axis in (0, 1):
        change = np.diff(both, axis=axis) != 0
        first, second = [slice(None)] * 2, [slice(None)] * 2
        first[axis], second[axis] = slice(0, -1), slice(1, None)
        edge[tuple(first)] |= change
        edge[tuple(second)] |= change
    return edge


def _smooth_edges(
    stage: PictureSetup,
    camera: Camera,
    cd_m2: np.ndarray,
    key: np.ndarray,
    light: np.ndarray,
    edge: np.ndarray,
    sampler: Sampler,
    footprint: tuple[np.ndarray, np.ndarray],
    threads: int,
    met: Callable[[np.ndarray], Seen],
) -> None:
    """Replace pixels on edges by the mean of 4 x 4 rays; arriving light is that of the nearest pixel of the ray's surface.

    A surface that no pixel's middle lies on, a sliver, is asked once for each pixel it shows in.
    """
    row, column = np.nonzero(edge)
    if not len(row):
        return
    arrays, wide = stage.arrays, key.shape[1]
    total = np.zeros((len(row), 3))
    sliver_key, sliver = np.full(len(row), -1), np.zeros((len(row), light.shape[2]))
    table = ray_table(SLIVER_RAYS, stage.seed)
    size = tuple(f[row * wide + column] / _SAMPLES for f in footprint)
    for a in range(_SAMPLES):
        for b in range(_SAMPLES):
            at = (b + (a + 0.5) / _SAMPLES) / _SAMPLES, (a + (b + 0.5) / _SAMPLES) / _SAMPLES  # no two in one row or column
            rays = camera.rays(column + at[0] - 0.5, row + at[1] - 0.5)
            seen = met(rays)
            wanted = surface_key(arrays, seen, stage.lamps, rays)
            near, missed = _nearest_light(wanted, key, light, row, column)
            new = np.flatnonzero(missed & (wanted != sliver_key))
            sliver[new] = arriving(stage, seen, rays, new, table, threads)
            sliver_key[new] = wanted[new]
            near[missed] = sliver[missed]
            total += colours(stage, seen, rays, near, sampler, (size[0], size[1]))
    cd_m2[row, column] = total / _SAMPLES**2


def _nearest_light(
    wanted: np.ndarray, key: np.ndarray, light: np.ndarray, row: np.ndarray, column: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Light of the pixel itself or of the neighbour that lies on the wanted surface; and where neither does, on any surface."""
    out, open_ = light[row, column].copy(), np.flatnonzero(key[row, column] != wanted)
    for i, j in ((0, 1), (1, 0), (0, -1), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1)):
        y, x = np.clip(row[open_] + i, 0, key.shape[0] - 1), np.clip(column[open_] + j, 0, key.shape[1] - 1)
        use = key[y, x] == wanted[open_]
        out[open_[use]] = light[y[use], x[use]]
        open_ = open_[~use]
    missed = np.zeros(len(row), bool)
    missed[open_] = wanted[open_] >= 0
    return out, missed


def _surround(
    scene: Scene, camera: Camera, image: np.ndarray, screen: np.ndarray, rays: np.ndarray
) -> tuple[tuple[float, float], float]:
    """Mean luminance beside the screen, left and right, and of the picture, weighed by solid angle [cd/m2].

    Source: derived; a band as high as the picture, from the border outwards by half its height, on the screen's plane.
    """
    across, upward = on_screen_plane(scene, camera, rays)
    y, weight = luminance(image).ravel(), (rays @ camera.forward) ** 3
    sheet = scene.screen
    inner, reach = 0.5 * sheet.width_m + sheet.border_m, 0.5 * sheet.height_m
    near = screen.copy()  # pixels on its edge hold a part of it
    near[1:] |= screen[:-1]
    near[:-1] |= screen[1:]
    near[:, 1:] |= screen[:, :-1]
    near[:, :-1] |= screen[:, 1:]
    beside = ~near.ravel() & (np.abs(upward) <= reach)
    found = []
    for side in (-1.0, 1.0):
        band = beside & (side * across > inner) & (side * across < inner + reach)
        found.append(float(np.average(y[band], weights=weight[band])) if band.any() else float("nan"))
    on = screen.ravel()
    mean = float(np.average(y[on], weights=weight[on])) if on.any() else float("nan")
    return (found[0], found[1]), mean


__all__ = ["PictureSetup", "SeatPicture", "seat_camera", "seat_picture", "set_the_stage", "white_reference", "zone_levels"]
