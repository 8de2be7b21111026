"""Image files, the one door to Pillow's readers: judged by size before a pixel is unpacked, every fault one clear line."""

from __future__ import annotations

import io
from contextlib import nullcontext
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from ..materials.text.reading import Unreadable, read_bytes
from .quiet import quiet, quiet_in_c

MOST_BYTES = 200_000_000
MOST_PIXELS = 60_000_000
MOST_SIDE = 32_768  # the longest raster of a projector that a scene takes
FORMATS = ("PNG", "JPEG", "TIFF", "BMP", "WEBP", "GIF", "PPM")
IMAGE_WORDS = "a PNG, JPEG, TIFF, BMP or WebP file"


class Pixels(NamedTuple):
    """Values of an image file: (rows, columns) uint8, uint16, int32 or float32 of a grey one, (rows, columns, 3) uint8 of any other.

    mode  as Pillow names it, such as "I;16": 16-bit grey
    """

    values: np.ndarray
    mode: str

    @property
    def deep(self) -> bool:
        """True where the values are more than 8 bits."""
        return self.values.dtype != np.uint8


def read_pixels(
    path: Path, what: str = "an image", allowed: str = IMAGE_WORDS, most_side: int = MOST_SIDE, turned: bool = False
) -> Pixels:
    """The pixels of an image file, top row first; turned: as its EXIF orientation wants it seen.

    what, allowed  what the file should be, in the user's words
    raises  Unreadable: no such file, no image, damaged, or larger than `most_side` a side or MOST_PIXELS
    """
    from PIL import Image, ImageOps

    data = read_bytes(path, MOST_BYTES, what, allowed)
    _judged(*_webp_size(data), most_side)
    try:
        tiff = data[:2] in (b"II", b"MM")  # its library writes to stderr itself
        with quiet("PIL"), quiet_in_c() if tiff else nullcontext(), Image.open(io.BytesIO(data), formats=FORMATS) as image:
            _judged(*image.size, most_side)
            mode = image.mode
            seen: Any = ImageOps.exif_transpose(image) if turned else image
            if not (mode.startswith("I") or mode in ("F", "L")):
                seen = seen.convert("RGB")
            values = np.asarray(seen)
    except Unreadable:
        raise
    except Image.UnidentifiedImageError:
        raise Unreadable(f"is not {what} that can be read", allowed) from None
    except Image.DecompressionBombError:
        raise _too_large("more than can be shown", most_side) from None
    except Exception:  # the readers of many formats raise whatever they like
        raise Unreadable(f"is damaged, not {what} that can be read", allowed) from None
    if values.dtype.kind == "f" and not np.isfinite(values).all():
        raise Unreadable("has pixels that are no numbers", allowed)
    return Pixels(values, mode)


def _judged(width: int, height: int, most_side: int) -> None:
    if width > most_side or height > most_side or width * height > MOST_PIXELS:
        raise _too_large(f"{width} x {height}", most_side)


def _too_large(size: str, most_side: int) -> Unreadable:
    most = f"at most {min(MOST_PIXELS, most_side * most_side) // 1_000_000} million, none more than {most_side} on a side"
    return Unreadable(f"has too many pixels: {size}", most)


def _webp_size(data: bytes) -> tuple[int, int]:
    """Canvas of a WebP file, whose reader sets it up as soon as it opens the file; (0, 0) of another. Source: RFC 9649, section 2.7."""
    if data[:4] != b"RIFF" or data[8:12] != b"WEBP" or len(data) < 30:
        return 0, 0
    if data[12:16] == b"VP8X":
        return 1 + int.from_bytes(data[24:27], "little"), 1 + int.from_bytes(data[27:30], "little")
    if data[12:16] == b"VP8L":
        bits = int.from_bytes(data[21:25], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    return int.from_bytes(data[26:28], "little") & 0x3FFF, int.from_bytes(data[28:30], "little") & 0x3FFF
