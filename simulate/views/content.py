"""What the projector shows: charts of our own, an even level, or an image file, as shares of white in linear light."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.text.error import Error
from ...materials.text.plain import plain, plain_path
from ...materials.text.reading import Unreadable
from ...scenes.geometry import picture
from ...scenes.images import MOST_PIXELS, read_pixels
from ...scenes.model import Scene
from ..light.projector import ZONES_RIGHT, ZONES_UP
from ..measuring.colour import luminance
from .charts import CHARTS


class PictureError(Error):
    """A picture that cannot be shown; str() is one clear line."""


@dataclass(frozen=True)
class Content:
    """A picture on the part of the raster that the audience sees.

    name    as the user asked for it
    linear  (rows, columns, C) share of the projector's white in linear light, C = 1 for grey, else linear RGB BT.709
    """

    name: str
    linear: np.ndarray

    @property
    def level(self) -> float:
        """Mean luminance over the picture as a share of white [1]: the average picture level in linear light. Source: definition."""
        return float(luminance(self.linear.reshape(-1, self.linear.shape[2]).mean(axis=0)))

    def zones(self) -> np.ndarray:
        """Means [1] over the 16 x 12 zones (192, C), row by row from top left. Source: box filter, by exact areas."""
        edges_x, edges_y = np.linspace(0.0, 1.0, ZONES_RIGHT + 1), np.linspace(0.0, 1.0, ZONES_UP + 1)
        row, column = (a.ravel() for a in np.meshgrid(np.arange(ZONES_UP), np.arange(ZONES_RIGHT), indexing="ij"))
        return _box_mean(self._sums, edges_x[column], edges_x[column + 1], edges_y[row], edges_y[row + 1])

    @cached_property
    def _sums(self) -> np.ndarray:
        return _running(self.linear)

    def sampler(self) -> Sampler:
        """The picture as a function of places and their footprints, see `Sampler`."""
        return Sampler(self._sums)


@dataclass(frozen=True)
class Sampler:
    """Means of a picture over rectangles, from its running sums (rows + 1, columns + 1, C) of shares of white [1]."""

    sums: np.ndarray

    def __call__(self, x: np.ndarray, y: np.ndarray, wide: np.ndarray, high: np.ndarray) -> np.ndarray:
        """Mean (n, C) [1] over rectangles about (x, y), both (n,) 0 .. 1 from top left, of size (wide, high) (n,) in the same measure.

        Outside the picture its edge goes on. Source: summed-area table (Crow, SIGGRAPH 1984).
        """
        rows, columns = self.sums.shape[0] - 1, self.sums.shape[1] - 1
        wide, high = (
            np.clip(wide, 1e-3 / columns, 1.0),
            np.clip(high, 1e-3 / rows, 1.0),
        )  # pixels stay squares when seen from near
        left = np.clip(x - 0.5 * wide, 0.0, 1.0 - wide)
        top = np.clip(y - 0.5 * high, 0.0, 1.0 - high)
        return _box_mean(self.sums, left, left + wide, top, top + high)


def _running(linear: np.ndarray) -> np.ndarray:
    """Running sums with a zero row and column before the first."""
    return np.pad(linear.astype(float).cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0), (0, 0)))


def _box_mean(sums: np.ndarray, left: np.ndarray, right: np.ndarray, top: np.ndarray, bottom: np.ndarray) -> np.ndarray:
    """Means over rectangles given by shares 0 .. 1; running sums are bilinear between pixel corners, so this is exact."""
    rows, columns = sums.shape[0] - 1, sums.shape[1] - 1

    def at(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        i = np.clip((y * rows).astype(int), 0, rows - 1)
        j = np.clip((x * columns).astype(int), 0, columns - 1)
        t, s = (y * rows - i)[:, None], (x * columns - j)[:, None]
        upper = (1.0 - s) * sums[i, j] + s * sums[i, j + 1]
        lower = (1.0 - s) * sums[i + 1, j] + s * sums[i + 1, j + 1]
        return (1.0 - t) * upper + t * lower

    area = ((right - left) * columns * (bottom - top) * rows)[:, None]
    return (at(right, bottom) - at(left, bottom) - at(right, top) + at(left, top)) / area


def from_srgb(value: np.ndarray) -> np.ndarray:
    """Linear light [1] from sRGB values 0 .. 1. Source: IEC 61966-2-1, equations 5 and 6."""
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def to_srgb(value: np.ndarray) -> np.ndarray:
    """sRGB values 0 .. 1 [1] from linear light. Source: IEC 61966-2-1."""
    value = np.clip(value, 0.0, 1.0)
    return np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1.0 / 2.4) - 0.055)


def load_content(name: str, aspect: float) -> Content:
    """A picture by name: a chart, a level in percent ("30%"), or an image file (sRGB).

    aspect  width / height of the picture on the screen [1]; an image of another shape is fitted inside, black beside it
    raises  PictureError in the user's words
    """
    if name in CHARTS:
        return Content(name, from_srgb_grey(CHARTS[name](aspect)))
    if name.endswith("%"):
        try:
            share = float(name[:-1]) / 100.0
        except ValueError:
            share = -1.0
        if not 0.0 <= share <= 1.0:
            raise PictureError(f'"{plain(name)}" is no picture level; allowed 0% to 100%')
        return Content(name, np.full((ZONES_UP, ZONES_RIGHT, 1), share))
    path = Path(name)
    if not _is_there(path):
        known = f"{', '.join(CHARTS)}, a level such as 30%, or an image file"
        raise PictureError(f'no picture "{plain(name)}"; allowed: {known}')
    linear = _read(path)
    rows, columns = linear.shape[:2]
    if max(columns, rows * aspect) * max(rows, columns / aspect) > MOST_PIXELS:
        said = f"{plain_path(path)}: {columns} x {rows} pixels would be mostly black bars"
        raise PictureError(f"{said}; allowed at most {MOST_PIXELS // 1_000_000} million with them")
    return Content(plain(path.name), _fitted(linear, aspect))


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):  # no file can have such a name
        return False


def content_of(scene: Scene, name: str) -> Content:
    """A picture by name in the shape of a scene's picture; raises PictureError as `load_content`."""
    area = picture(scene)
    return load_content(name, area.width_m / area.height_m)


def from_srgb_grey(chart: np.ndarray) -> np.ndarray:
    """A chart of sRGB greys 0 .. 1 (rows, columns) as linear light (rows, columns, 1) [1]. Source: `from_srgb`."""
    return from_srgb(chart)[..., None]


def _read(path: Path) -> np.ndarray:
    """An image file as linear RGB, or as one channel where it is grey throughout."""
    try:
        values = read_pixels(path, turned=True).values
    except Unreadable as fault:
        raise PictureError(f"{plain_path(path)}: {fault}" + (f"; allowed {fault.allowed}" if fault.allowed else "")) from None
    if values.dtype != np.uint8:
        return from_srgb(np.clip(values[..., None] / 65535.0, 0.0, 1.0))
    grey = values.ndim == 2 or bool((values == values[..., :1]).all())
    return from_srgb(np.arange(256) / 255.0)[np.atleast_3d(values)[..., :1] if grey else values]


def _fitted(linear: np.ndarray, aspect: float) -> np.ndarray:
    """The image with black bars that give it the picture's shape, to the nearest pixel."""
    rows, columns = linear.shape[:2]
    wide, high = max(columns, round(rows * aspect)), max(rows, round(columns / aspect))
    if (wide - columns) < 0.01 * columns and (high - rows) < 0.01 * rows:
        return linear
    out = np.zeros((high, wide, linear.shape[2]))
    top, left = (high - rows) // 2, (wide - columns) // 2
    out[top : top + rows, left : left + columns] = linear
    return out
