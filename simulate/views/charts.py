"""Charts of our own, as sRGB greys 0 .. 1: rows from the top, columns from the left as the audience sees them.

All take the picture's aspect, width / height [1]; a chart without fine detail has few pixels, whatever the aspect.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ...scenes.quiet import quiet_drawing

ROWS = 1080


def _size(aspect: float) -> tuple[int, int]:
    return ROWS, round(ROWS * aspect)


def white(aspect: float) -> np.ndarray:
    """Full white, (12, 16) [1]."""
    return np.ones((12, 16))


def black(aspect: float) -> np.ndarray:
    """Black, (12, 16) [1]: what is left is the projector's own."""
    return np.zeros((12, 16))


def checkerboard(aspect: float) -> np.ndarray:
    """4 x 4 equal rectangles, top left white, (12, 16) [1]. Source: ISO/IEC 21118, the contrast pattern."""
    row, column = np.indices((12, 16))
    return ((row // 3 + column // 4) % 2 == 0).astype(float)


def grid(aspect: float) -> np.ndarray:
    """White lines on dark grey, sixteen cells across, a thicker cross in the middle, a frame at the edge, (ROWS, ROWS x aspect) [1]."""
    rows, columns = _size(aspect)
    cell = columns / 16
    y, x = np.abs(np.arange(rows) + 0.5 - rows / 2)[:, None], np.abs(np.arange(columns) + 0.5 - columns / 2)[None, :]
    near = np.minimum(np.abs((y + cell / 2) % cell - cell / 2), np.abs((x + cell / 2) % cell - cell / 2))
    line = (near < 1.5) | (y < 4) | (x < 4) | (y > rows / 2 - 6) | (x > columns / 2 - 6)
    return np.where(line, 1.0, 0.15)


def steps(aspect: float) -> np.ndarray:
    """Eleven upright bars from black to white in even steps of sRGB, and from white to black below, (2, 176) [1]."""
    upper = np.repeat(np.linspace(0.0, 1.0, 11), 16)[None, :]
    return np.concatenate([upper, upper[:, ::-1]])


def gradient(aspect: float) -> np.ndarray:
    """A calm light grey, 0.85 in the middle, 0.61 in the corners, (216, 216 x aspect) [1]: nothing in it hides what folds do."""
    rows, columns = 216, round(216 * aspect)
    y, x = np.meshgrid(np.linspace(-1, 1, rows), np.linspace(-1, 1, columns), indexing="ij")
    return 0.85 - 0.12 * (x * x + y * y)


def letters(aspect: float) -> np.ndarray:
    """Four rows of letters that read one way only, larger to smaller, black on white, the sides named, (ROWS, ROWS x aspect) [1]."""
    quiet_drawing()
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    rows, columns = _size(aspect)
    figure = Figure(figsize=(columns / 100, rows / 100), dpi=100, facecolor="white")
    canvas = FigureCanvasAgg(figure)
    for text, y, size in (("FRPEQ", 0.76, 150), ("LGKZSNJ", 0.515, 96), ("RFBEDPGQ", 0.335, 60), ("JZKSLNREFG", 0.20, 36)):
        figure.text(0.5, y, text, size=size, ha="center", va="center", weight="bold", family="DejaVu Sans")
    for text, x, y in (("TOP", 0.5, 0.955), ("BOTTOM", 0.5, 0.05), ("LEFT", 0.06, 0.5), ("RIGHT", 0.94, 0.5)):
        figure.text(x, y, text, size=34, ha="center", va="center", family="DejaVu Sans")
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[..., 0] / 255.0


CHARTS: dict[str, Callable[[float], np.ndarray]] = {
    "white": white,
    "black": black,
    "checkerboard": checkerboard,
    "grid": grid,
    "steps": steps,
    "letters": letters,
    "gradient": gradient,
}
