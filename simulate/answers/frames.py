"""Image files and folders of frames as linear levels."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from .pictures import Picture, from_levels

GAMMA = 2.4
SUFFIXES = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".webp")
_COARSE = (192, 256)  # rows, columns a frame is averaged to: 16 x 16 pixels a zone, enough for its moments


class ImageError(ValueError):
    """An image file that cannot be read; str() is one clear line."""


def read_image(path: Path) -> np.ndarray:
    """Linear levels (rows, columns, 3) [1] of an image file, 0 .. 1, averaged in linear light to at most 192 x 256.

    raises  ImageError naming the file
    Source: ITU-R BT.1886 with black at 0, level = code^2.4; the projector's own black is added later.
    """
    from PIL import Image  # reads all the usual formats; matplotlib brings it along

    try:
        with Image.open(path) as image:
            deep = image.mode.startswith("I") or image.mode == "F"
            code = np.asarray(image if deep else image.convert("RGB"), float)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as fault:
        raise ImageError(f"{path}: cannot be read as an image ({' '.join(str(fault).split())})") from None
    if deep:
        code = np.repeat(code[..., None] / 65535.0, 3, axis=2)
    else:
        code = code / 255.0
    return _averaged(np.clip(code, 0.0, 1.0) ** GAMMA)


def _averaged(levels: np.ndarray) -> np.ndarray:
    """Block means along each axis that is longer than `_COARSE`; the mean level stays. Source: area weighting."""
    for axis, most in enumerate(_COARSE):
        size = levels.shape[axis]
        if size > most:
            edge = np.linspace(0.0, size, most + 1)
            running = np.insert(np.cumsum(levels, axis=axis), 0, 0.0, axis=axis)
            low = np.minimum(edge.astype(int), size - 1)
            at = np.take(running, low, axis=axis) + np.take(levels, low, axis=axis) * np.expand_dims(
                edge - low, axis=tuple(i for i in range(levels.ndim) if i != axis)
            )
            levels = np.diff(at, axis=axis) * (most / size)
    return np.clip(levels, 0.0, 1.0)


def picture_of(path: Path) -> Picture:
    """An image file as a Picture; raises ImageError."""
    return from_levels(read_image(path), path.name)


def frames_of(path: Path) -> list[Picture]:
    """The pictures of one image file, or of a folder's image files in the order of their names.

    raises  ImageError: nothing there, or a file that cannot be read
    """
    if not path.exists():
        raise ImageError(f"{path}: no such image or folder")
    files = [path] if path.is_file() else sorted(p for p in path.iterdir() if p.suffix.lower() in SUFFIXES)
    if not files:
        raise ImageError(f"{path}: holds no image ({', '.join(SUFFIXES)})")
    return [picture_of(file) for file in files]
