"""Height maps from files: CSV, NPY, 16-bit PNG and TIFF; what is wrong with them is said in the user's words."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np

MAPS = (".csv", ".npy", ".png", ".tif", ".tiff")
LEAST, MOST = 4, 4096  # samples a side
_LARGEST_BYTES = 300_000_000


class UnusableMap(Exception):
    """A height map or scan that cannot be used; `allowed` says what would do, `key` which key of the fold is at fault."""

    def __init__(self, message: str, allowed: str = "", key: str = "file") -> None:
        super().__init__(message)
        self.allowed = allowed
        self.key = key


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
        if path.stat().st_size > _LARGEST_BYTES:
            raise UnusableMap("is too large for a height map", f"at most {_LARGEST_BYTES // 1_000_000} MB")
        if ending == ".csv":
            found = RawMap(_csv(path), counts=False)
        elif ending == ".npy":
            found = RawMap(_npy(path), counts=False)
        else:
            found = RawMap(_picture(path), counts=True)
    except FileNotFoundError:
        raise UnusableMap("no such file") from None
    except IsADirectoryError:
        raise UnusableMap("is a directory, not a height map") from None
    except OSError as fault:
        raise UnusableMap(f"cannot be read: {fault.strerror or 'not a picture of a known kind'}") from None
    return RawMap(_checked(found.values), found.counts)


def _checked(values: np.ndarray) -> np.ndarray:
    if values.ndim != 2:
        raise UnusableMap("is no height map: one number for each place is needed", "a table of rows and columns")
    rows, columns = values.shape
    if not (LEAST <= rows <= MOST and LEAST <= columns <= MOST):
        raise UnusableMap(
            f"is of the wrong size: {columns} columns and {rows} rows", f"{LEAST} to {MOST} columns and rows"
        )
    holes = ~np.isfinite(values)
    if holes.any():
        row, column = (int(a[0]) + 1 for a in np.nonzero(holes))
        raise UnusableMap(
            f"has {int(holes.sum())} holes, the first at row {row}, column {column}",
            "a height at every place: fill the holes first",
        )
    return values


def _csv(path: Path) -> np.ndarray:
    """Numbers separated by commas or semicolons, or by blanks; an empty cell is a hole."""
    rows = []
    for number, line in enumerate(path.read_text(encoding="utf-8-sig", errors="replace").splitlines(), start=1):
        line = line.strip()
        if not line or line.startswith("#"):
            continue
        cells = line.split(";") if ";" in line else (line.split(",") if "," in line else line.split())
        try:
            rows.append([float(cell) if cell.strip() else float("nan") for cell in cells])
        except ValueError:
            raise UnusableMap(f"has something that is no number in its line {number}", "numbers only") from None
        if len(rows[-1]) != len(rows[0]):
            raise UnusableMap(
                f"has {len(rows[-1])} numbers in its line {number} and {len(rows[0])} in the first",
                "rows of the same length",
            )
    if not rows:
        raise UnusableMap("is empty", "rows of numbers")
    return np.array(rows)


def _npy(path: Path) -> np.ndarray:
    try:
        values = np.load(path, allow_pickle=False)
    except (ValueError, EOFError):
        raise UnusableMap("is not an array that numpy can read safely", "an NPY file of numbers") from None
    if not isinstance(values, np.ndarray) or values.dtype.kind not in "fiu":
        raise UnusableMap("is not an array of numbers", "an NPY file of numbers")
    return values.astype(float)


def _picture(path: Path) -> np.ndarray:
    """Grey values of a picture of one channel; through the picture library matplotlib brings along."""
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(path) as image:
            mode = image.mode
            values = np.array(image)
    except UnidentifiedImageError:
        raise UnusableMap("is not a picture", "a 16-bit grey PNG or TIFF") from None
    except (SyntaxError, ValueError, Image.DecompressionBombError):
        raise UnusableMap("is a damaged or oversized picture", "a 16-bit grey PNG or TIFF") from None
    if not (mode.startswith("I;16") or mode in ("I", "F")):
        raise UnusableMap(
            f"is not a 16-bit grey picture (its mode is {mode}): 8 bits are too coarse for folds",
            "a 16-bit grey PNG or TIFF",
        )
    return values.astype(float)
