"""What a seat sees, in cd/m2: the picture exactly, the rest from the room's solved light."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.model import Scene
from ..light.geometry import SCREEN
from ..light.projector import CENTRE, RIGHT, UP
from ..measuring.colour import luminance
from .camera import Camera, on_screen_plane, seat_camera
from .cells import FIRST_STEP, Forecast, spread_over
from .edge_pixels import edges, smooth_edges
from .gather import ray_table
from .primary_rays import Seen, look
from .shade import PictureSetup, arriving, colours, known_to_cells, set_the_stage, surface_key, told, zone_levels

RAYS = 256


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
    Source: rendering equation: the projector's light exactly, the lit screen's on few pixels, bounced light from the room's cells;
    on cloth and heads by final gather.
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
        return arriving([stage], seen, rays, pixels, table, threads)[0]

    key = surface_key(arrays, seen, stage.lamps, rays).reshape(high, wide)
    bounced, straight = told(stage, seen, threads)
    light, asked = spread_over(key, ask, len(stage.room.values.tint), _forecast(stage, seen, bounced, straight, key.shape))
    sampler = stage.content.sampler()
    footprint = _footprints(stage, seen, high, wide)
    cd_m2 = colours(stage, seen, rays, light.reshape(bounced.shape) + bounced, sampler, footprint, threads).reshape(high, wide, 3)
    edge = edges(key, seen.lux.reshape(high, wide) > 0.0)
    edge[camera.height :], edge[:, camera.width :] = False, False
    cd_m2[edge] = smooth_edges(stage, camera, key, light, edge, (sampler, footprint), threads, met)
    cut = (slice(0, camera.height), slice(0, camera.width))
    screen = ((key >= 0) & (arrays.geometry.role[np.maximum(seen.patch, 0)] == SCREEN).reshape(high, wide))[cut]
    return SeatPicture(stage.scene, camera, cd_m2[cut], screen, asked)


def _forecast(stage: PictureSetup, seen: Seen, bounced: np.ndarray, straight: np.ndarray, shape: tuple[int, ...]) -> Forecast:
    """What the cells tell of the light that is asked at pixels. On flat cloth bounced light hardly changes."""
    certain = known_to_cells(stage, seen.patch)
    if not stage.arrays.geometry.relief:
        certain |= (seen.patch >= 0) & (stage.arrays.geometry.role[np.maximum(seen.patch, 0)] == SCREEN)
    return Forecast(straight.reshape(*shape, -1), (bounced @ np.ones(bounced.shape[1])).reshape(shape), certain.reshape(shape))


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
