"""The lit screen as pictures sum it: gentle folds as their plane, and scattered samples where something hides a part of it."""

from __future__ import annotations

import numpy as np

from ..light.patches import frozen
from ..light.projector import ZONES_RIGHT, ZONES_UP
from ..light.screen_samples import LitScreen, blank_samples, is_steep, land_all
from ..measuring.flatten import SceneArrays

_SCATTERED = 16  # samples a zone where something hides a part of the screen


def smoothed(arrays: SceneArrays, lit: LitScreen) -> LitScreen:
    """The samples of gently folded cloth as if its plane sent their flux [lm]; others as they are.

    Light nearly along the plane comes from slopes that lean that way and is partly hidden by crests. Samples know nothing of the
    crests, so surfaces near the plane got too much. What is seen of the cloth fills the same solid angle as the plane does, and
    its radiance hardly depends on the slope: so the plane's cosine is right to first order. Source: derived; `brute.py`.
    """
    if not arrays.geometry.relief or is_steep(arrays.geometry):
        return lit
    frame, count = arrays.projector.frame, len(lit.place)
    right, up, normal = (frozen(np.tile(frame[k], (count, 1))) for k in (1, 2, 3))
    ray = arrays.projector.lens - lit.place
    ray /= np.linalg.norm(ray, axis=1, keepdims=True)
    return lit._replace(right=right, up=up, normal=normal, source=frozen(ray @ np.array(frame[1:4]).T))


def scattered(arrays: SceneArrays) -> LitScreen:
    """Flux samples with sixteen scattered places a zone, no two of a zone at one height or one side.

    Source: the first 16 points of the (0, 2)-sequence of van der Corput and Sobol.
    """
    k = np.arange(_SCATTERED)
    bits = [(k >> i) & 1 for i in range(4)]
    y = sum(bit / 2.0 ** (i + 1) for i, bit in enumerate(bits)) + 0.5 / _SCATTERED
    x = (k + 0.5) / _SCATTERED
    left, right, bottom, top = arrays.projector.picture
    width, height = (right - left) / ZONES_RIGHT, (top - bottom) / ZONES_UP
    row, column = np.divmod(np.arange(ZONES_RIGHT * ZONES_UP), ZONES_RIGHT)
    at_right = (left + width * (column[:, None] + x)).ravel()
    at_up = (top - height * (row[:, None] + y)).ravel()
    middle = left + width * (column + 0.5), top - height * (row + 0.5)
    n = len(row) * (1 + _SCATTERED)
    weight = np.concatenate([np.zeros(len(row)), np.full(at_right.size, width * height / _SCATTERED)])
    lit = blank_samples(
        n,
        first=np.full(1, len(row), np.int64),
        side=np.full(1, 4, np.int64),
        zone_place=np.zeros((len(row), 3)),
        zone_size=np.array([max(width, height)]),
    )
    across, upward = np.concatenate([middle[0], at_right]), np.concatenate([middle[1], at_up])
    land_all(arrays.geometry, arrays.projector, across, upward, weight, lit)
    lit.zone_place[:] = lit.place[: len(row)]
    return smoothed(arrays, LitScreen(*(frozen(a) for a in lit)))
