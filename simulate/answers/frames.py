"""Image files and folders of frames as linear levels."""

from __future__ import annotations

import stat
from pathlib import Path

import numpy as np

from ...materials.text.error import Error
from ...materials.text.plain import plain, plain_path
from ...materials.text.reading import Unreadable
from ...scenes.images import read_pixels
from .pictures import ZonePicture, from_levels

GAMMA = 2.4
SUFFIXES = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".webp")
_STRIP = 256  # rows that are averaged at a time: a frame's levels take many times the memory of its pixels
MOST_FRAMES = 100_000
_COARSE = (192, 256)  # rows, columns a frame is averaged to: 16 x 16 pixels a zone, enough for its moments


class ImageError(Error, ValueError):
    """An image file that cannot be read; str() is one clear line."""


def read_image(path: Path) -> np.ndarray:
    """Linear levels (rows, columns, 3) [1] of an image file, 0 .. 1, averaged in linear light to at most 192 x 256.

    raises  ImageError naming the file
    Source: ITU-R BT.1886 with black at 0, level = code^2.4; the projector's own black is added later.
    """
    try:
        values = read_pixels(path, turned=True).values
    except Unreadable as fault:
        raise ImageError(f"{plain_path(path)}: {fault}" + (f" (allowed {fault.allowed})" if fault.allowed else "")) from None
    strips = [_averaged(_linear(values[row : row + _STRIP]), 1) for row in range(0, len(values), _STRIP)]
    return np.clip(_averaged(np.concatenate(strips), 0), 0.0, 1.0)


def _linear(values: np.ndarray) -> np.ndarray:
    """Linear levels (rows, columns, 3) [1] of pixel values."""
    code = values / (255.0 if values.dtype == np.uint8 else 65535.0)
    if code.ndim == 2:
        code = np.repeat(code[..., None], 3, axis=2)
    return np.clip(code, 0.0, 1.0) ** GAMMA


def _averaged(levels: np.ndarray, axis: int) -> np.ndarray:
    """Block means along an axis that is longer than its `_COARSE`; the mean level stays. Source: area weighting."""
    size, most = levels.shape[axis], _COARSE[axis]
    if size <= most:
        return levels
    edge = np.linspace(0.0, size, most + 1)
    running = np.insert(np.cumsum(levels, axis=axis), 0, 0.0, axis=axis)
    low = np.minimum(edge.astype(int), size - 1)
    at = np.take(running, low, axis=axis) + np.take(levels, low, axis=axis) * np.expand_dims(
        edge - low, axis=tuple(i for i in range(levels.ndim) if i != axis)
    )
    return np.diff(at, axis=axis) * (most / size)


def picture_of(path: Path) -> ZonePicture:
    """An image file as a ZonePicture; raises ImageError."""
    return from_levels(read_image(path), plain(path.name))


def frames_of(path: Path) -> list[ZonePicture]:
    """The pictures of one image file, or of a folder's image files in the order of their names.

    raises  ImageError: nothing there, or a file that cannot be read
    """
    where = plain_path(path)
    try:
        found = path.stat().st_mode
        files = [path] if not stat.S_ISDIR(found) else sorted(p for p in path.iterdir() if p.suffix.lower() in SUFFIXES)
    except (FileNotFoundError, NotADirectoryError):
        raise ImageError(f"{where}: no such image or folder") from None
    except (OSError, ValueError) as fault:
        raise ImageError(f"{where}: cannot be read: {getattr(fault, 'strerror', '') or 'no file can have such a name'}") from None
    if not files:
        raise ImageError(f"{where}: holds no image ({', '.join(SUFFIXES)})")
    if len(files) > MOST_FRAMES:
        raise ImageError(f"{where}: holds {len(files)} images (allowed at most {MOST_FRAMES})")
    return [picture_of(file) for file in files]
