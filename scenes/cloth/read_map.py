"""Height maps from files: CSV, NPY, 16-bit PNG and TIFF; what is wrong with them is said in the user's words."""

from __future__ import annotations

import io
from pathlib import Path
from typing import NamedTuple

import numpy as np

from ...materials.text.reading import Unreadable, read_bytes
from ..images import read_pixels
from ..quiet import quiet
from .unusable import UnusableMap

MAPS = (".csv", ".npy", ".png", ".tif", ".tiff")
LEAST, MOST = 4, 4096  # samples a side
HIGHEST = 1e9  # of a height in the file's own unit, as of zero_count
_LARGEST_BYTES = 300_000_000
_MOST_LETTERS = 64  # of one number in a CSV file
_PICTURE = "a 16-bit grey PNG or TIFF"
_ARRAY = "an NPY file of numbers"


class RawMap(NamedTuple):
    """Numbers as the file holds them, top row first; counts: True for the grey values of a picture."""

    values: np.ndarray
    counts: bool


def read_map(path: Path) -> RawMap:
    """The numbers of a height map, (rows, columns) float64, in the file's own unit: what they mean the scene says.

    raises UnusableMap for a file that is missing, of another kind, too small or large, or has holes
    """
    ending = path.suffix.lower()
    try:
        if ending in (".csv", ".npy"):
            data = read_bytes(path, _LARGEST_BYTES, "a height map", ", ".join(MAPS))
            found = RawMap(_csv(data) if ending == ".csv" else _npy(data), counts=False)
        else:
            found = RawMap(_picture(path), counts=True)
    except Unreadable as fault:
        raise UnusableMap(str(fault), fault.allowed) from None
    return RawMap(_checked(found.values), found.counts)


def _checked(values: np.ndarray) -> np.ndarray:
    _sized(values.shape)
    holes = ~np.isfinite(values)
    if holes.any():
        row, column = (int(a[0]) + 1 for a in np.nonzero(holes))
        raise UnusableMap(
            f"has {int(holes.sum())} hole{'' if holes.sum() == 1 else 's'}, the first at row {row}, column {column}",
            "a height at every place: fill the holes first",
        )
    far = np.abs(values) > HIGHEST
    if far.any():
        row, column = (int(a[0]) for a in np.nonzero(far))
        raise UnusableMap(
            f"has a height of {values[row, column]:g} at row {row + 1}, column {column + 1}", f"{-HIGHEST:g} to {HIGHEST:g}"
        )
    return values


def _sized(shape: tuple[int, ...]) -> None:
    """raises UnusableMap for what is no table of a usable size"""
    if len(shape) != 2:
        raise UnusableMap("is no height map: one number for each place is needed", "a table of rows and columns")
    rows, columns = shape
    if not (LEAST <= rows <= MOST and LEAST <= columns <= MOST):
        raise UnusableMap(f"is of the wrong size: {columns} columns and {rows} rows", f"{LEAST} to {MOST} columns and rows")


def _csv(data: bytes) -> np.ndarray:
    """Numbers separated by commas or semicolons, or by blanks; an empty cell is a hole."""
    rows: list[np.ndarray] = []
    for number, raw in enumerate(io.BytesIO(data.removeprefix(b"\xef\xbb\xbf")), start=1):
        if len(raw) > MOST * _MOST_LETTERS:
            raise UnusableMap(f"has a line of {len(raw)} characters, its line {number}", f"at most {MOST} numbers a line")
        for line in raw.decode("utf-8", errors="replace").replace("\r", "\n").split("\n"):
            line = line.strip()
            if not line or line.startswith("#"):
                continue
            cells = line.split(";") if ";" in line else (line.split(",") if "," in line else line.split())
            rows.append(_numbers(cells, number))
            if len(rows[-1]) != len(rows[0]):
                raise UnusableMap(
                    f"has {len(rows[-1])} numbers in its line {number} and {len(rows[0])} in the first", "rows of the same length"
                )
            if len(rows) > MOST:
                raise UnusableMap(f"is of the wrong size: more than {MOST} rows", f"{LEAST} to {MOST} columns and rows")
    if not rows:
        raise UnusableMap("is empty", "rows of numbers")
    return np.array(rows)


def _numbers(cells: list[str], number: int) -> np.ndarray:
    for cell in cells:
        try:
            float(cell if cell.strip() else "nan")
        except ValueError:
            what = f"has something that is no number in its line {number}"
            raise UnusableMap(what, "numbers only") from None
    return np.array([float(cell) if cell.strip() else np.nan for cell in cells])


def _npy(data: bytes) -> np.ndarray:
    """Source: NumPy's format NPY, versions 1 to 3; the header is judged before its array is made."""
    file = io.BytesIO(data)
    try:
        with quiet():
            version = np.lib.format.read_magic(file)
            reader = np.lib.format.read_array_header_1_0 if version == (1, 0) else np.lib.format.read_array_header_2_0
            shape, column_first, kind = reader(file)
    except Exception:  # the header is an expression of Python: its reader raises whatever it likes
        raise UnusableMap("is not an array that numpy can read safely", _ARRAY) from None
    if kind.hasobject:
        raise UnusableMap("is not an array that numpy can read safely", _ARRAY)
    if kind.kind not in "fiu" or kind.subdtype is not None:
        raise UnusableMap("is not an array of numbers", _ARRAY)
    _sized(shape)
    if len(data) - file.tell() < shape[0] * shape[1] * kind.itemsize:
        raise UnusableMap("is cut off: its header counts more numbers than the file holds", "a whole NPY file")
    flat = np.frombuffer(data, kind, count=shape[0] * shape[1], offset=file.tell())
    with quiet():
        return np.ascontiguousarray(flat.reshape(shape, order="F" if column_first else "C").astype(float))


def _picture(path: Path) -> np.ndarray:
    """Grey values of a picture of one channel."""
    pixels = read_pixels(path, "a picture", _PICTURE, most_side=MOST)
    if not (pixels.mode.startswith("I;16") or pixels.mode in ("I", "F")):
        raise UnusableMap(f"is not a 16-bit grey picture (its mode is {pixels.mode}): 8 bits are too coarse for folds", _PICTURE)
    return pixels.values.astype(float)
