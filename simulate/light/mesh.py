"""From a folded cloth to its mesh: how fine it must be, corners on the cloth, the smooth surface through them."""

from __future__ import annotations

import math

import numpy as np

from ...scenes.cloth.cloth import Cloth
from ...scenes.cloth.spline import spline_coefficients
from ...scenes.geometry import ScreenFrame
from .patches import frozen
from .screen_grid import Relief

CELLS_A_WAVE = 48  # slopes of triangles are then right to (2 pi / 48)^2 / 24 = 0.07 % on average
LEAST_ACROSS, MOST_CELLS = 256, 1_000_000
_NEARLY = (
    1.0 - 1e-12
)  # roots are asked for where squares are as large as the largest but for rounding: a root takes as long as ten sums


def cells_of(cloth: Cloth, *, finer: float = 1.0) -> tuple[int, int]:
    """Columns and rows of cells for a cloth; each cell is two triangles.

    cloth    its size and finest fold [m] decide
    finer    factor on both [1], for tests of convergence
    returns  what the finest fold asks, at least LEAST_ACROSS columns, but at most about MOST_CELLS cells; times `finer` each way
    Source: chord of a sine; the cell of CELLS_A_WAVE a wave leaves 0.1 % of its height.
    """
    step = min(cloth.finest_m / CELLS_A_WAVE, cloth.width_m / LEAST_ACROSS)
    step = max(step, math.sqrt(cloth.width_m * cloth.height_m / MOST_CELLS)) / finer
    return math.ceil(cloth.width_m / step), math.ceil(cloth.height_m / step)


def make_relief(cloth: Cloth, frame: ScreenFrame, patch: int, *, finer: float = 1.0) -> Relief:
    """Mesh of a folded cloth over the white area, all lengths [m].

    frame    of the nominal screen, see scenes.geometry.screen_frame
    patch    index of the patch it stands for
    finer    as in `cells_of`
    Source: corners at the cloth's own heights.
    """
    columns, rows = cells_of(cloth, finer=finer)
    right = cloth.width_m * (np.arange(columns + 1) / columns - 0.5)
    up = cloth.height_m * (np.arange(rows + 1) / rows - 0.5)
    height = np.ascontiguousarray(cloth.on_grid(right, up).height)
    step = np.array([cloth.width_m / columns, cloth.height_m / rows])
    axes = np.array([frame.right, frame.up, frame.normal], float)
    corner = np.array(frame.centre) - 0.5 * cloth.width_m * axes[0] - 0.5 * cloth.height_m * axes[1]
    outline = (
        0.5 * cloth.width_m - float(cloth.half_width_m(np.zeros(()))),
        float(cloth.lower_edge_m(np.array(0.5 * cloth.width_m))) + 0.5 * cloth.height_m,
    )
    return Relief(
        patch=frozen(np.array([patch])),
        frame=frozen(np.vstack([corner, axes])),
        size=frozen(np.array([cloth.width_m, cloth.height_m])),
        step=frozen(step),
        height=frozen(height),
        spline=frozen(spline_coefficients(height)),
        reach=frozen(np.array([height.min(), height.max(), _steepest(height, step)])),
        outline=frozen(np.array(outline)),
    )


def _steepest(height: np.ndarray, step: np.ndarray) -> float:
    """Steepest slope among the triangles: along both edges at a right-angled corner of each."""
    right, up = np.diff(height, axis=1) / step[0], np.diff(height, axis=0) / step[1]
    across, along = right * right, up * up
    corners = (
        (right[:-1, :], up[:, :-1], across[:-1, :] + along[:, :-1]),
        (right[1:, :], up[:, 1:], across[1:, :] + along[:, 1:]),
    )
    least = _NEARLY * max(float(square.max()) for _, _, square in corners)
    return max(float(np.hypot(a[square >= least], b[square >= least]).max(initial=0.0)) for a, b, square in corners)
