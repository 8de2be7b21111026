"""What the light code asks of folded cloth: a ray's hit, what it blocks, its place and normal; the same calls serve a flat screen.

A scene with a flat screen holds an empty tuple in place of a `Relief` (sheet.py); each function here is compiled to nothing for
it, so flat screens keep their speed and their bits.
"""

from __future__ import annotations

import math

import numpy as np

from ...materials.kernels.by_type import by_type, holds
from ...materials.kernels.jit import kernel
from .screen_grid import MISS, meets_sheet, sheet_normal, sheet_place
from .vectors import row


@by_type(lambda relief, *_: _hit if holds(relief) else _no_hit)  # type: ignore[has-type]
def hit_relief(relief, origin, direction, skip, nearest):
    """Distance [m], patch, u, v [1] at which a ray meets the folded cloth before `nearest` [m]; distance MISS where it does not.

    origin [m], direction unit [1];  skip  the patch the ray starts on
    Source: `meets_sheet`.
    """
    return _hit(relief, origin, direction, skip, nearest) if len(relief) else (MISS, -1, 0.0, 0.0)


@kernel
def _no_hit(relief, origin, direction, skip, nearest):
    return MISS, np.int64(-1), 0.0, 0.0


@kernel
def _hit(relief, origin, direction, skip, nearest):
    t, u, v = meets_sheet(relief, origin, direction, 1e-7, nearest, skip == relief.patch[0])
    return t, relief.patch[0], u, v


@by_type(lambda relief, *_: _blocks if holds(relief) else _blocks_nothing)  # type: ignore[has-type]
def relief_blocks(relief, origin, direction, limit, skip, skip_end):
    """True where the folded cloth lies between origin [m] and origin + limit [m] x direction (unit); the ends may lie on it.

    skip, skip_end  patches at the two ends.  Source: `meets_sheet`.
    """
    return _blocks(relief, origin, direction, limit, skip, skip_end) if len(relief) else False


@kernel
def _blocks_nothing(relief, origin, direction, limit, skip, skip_end):
    return False


@kernel
def _blocks(relief, origin, direction, limit, skip, skip_end):
    if skip_end == relief.patch[0] and skip != relief.patch[0]:  # look from the end that lies on the cloth
        origin = (origin[0] + limit * direction[0], origin[1] + limit * direction[1], origin[2] + limit * direction[2])
        direction = (-direction[0], -direction[1], -direction[2])
        skip = skip_end
    on = skip == relief.patch[0]
    t, _, _ = meets_sheet(relief, origin, direction, 1e-6 if on else 1e-7, limit - (1e-6 if on else 0.0), on)
    return t >= 0.0


@by_type(lambda relief, *_: _hides if holds(relief) else _hides_nothing)  # type: ignore[has-type]
def fold_hides(relief, place, i, dx, dy, dz, square):
    """True where the cloth hides the end of (dx, dy, dz) [m] from its own place i (n, 3) [m]; square = dx^2 + dy^2 + dz^2 [m2].

    Source: `meets_sheet`.
    """
    return _hides(relief, place, i, dx, dy, dz, square) if len(relief) else False


@kernel
def _hides_nothing(relief, place, i, dx, dy, dz, square):
    return False


@kernel
def _hides(relief, place, i, dx, dy, dz, square):
    r = math.sqrt(square)
    t, _, _ = meets_sheet(relief, row(place, i), (dx / r, dy / r, dz / r), 1e-6, r, True)
    return t >= 0.0


@by_type(lambda relief: _steepness if holds(relief) else _even)  # type: ignore[has-type]
def steepness(relief):
    """Steepest slope of the mesh [1] and the nominal normal; slope -1 for a flat screen, known when a kernel is compiled.

    Source: `Relief.reach`.
    """
    return _steepness(relief) if len(relief) else (-1.0, (0.0, 0.0, 0.0))


@kernel
def _even(relief):
    return -1.0, (0.0, 0.0, 0.0)


@kernel
def _steepness(relief):
    return relief.reach[2], row(relief.frame, 3)


@by_type(lambda geometry, *_: _bent_normal if holds(geometry, "relief") else _flat_normal)  # type: ignore[has-type]
def normal_on(geometry, patch, u, v):
    """Unit normal [1] at u, v [1] of a patch: of the smooth cloth where it is folded. Source: `sheet_normal`."""
    return _bent_normal(geometry, patch, u, v) if len(geometry.relief) else row(geometry.normal, patch)


@kernel
def _flat_normal(geometry, patch, u, v):
    return row(geometry.normal, patch)


@kernel
def _bent_normal(geometry, patch, u, v):
    if patch == geometry.relief.patch[0]:
        return sheet_normal(geometry.relief, u, v)
    return row(geometry.normal, patch)


@kernel
def patch_place(geometry, patch, u, v):
    """Place [m] at u, v of a flat patch. Source: definition."""
    c, a, b = geometry.corner, geometry.edge_u, geometry.edge_v
    return (
        c[patch, 0] + u * a[patch, 0] + v * b[patch, 0],
        c[patch, 1] + u * a[patch, 1] + v * b[patch, 1],
        c[patch, 2] + u * a[patch, 2] + v * b[patch, 2],
    )


@by_type(lambda geometry, *_: _bent_place if holds(geometry, "relief") else patch_place)  # type: ignore[has-type]
def place_at(geometry, patch, u, v):
    """Place [m] at u, v [1] of a patch: on the mesh where the cloth is folded. Source: `sheet_place`."""
    return _bent_place(geometry, patch, u, v) if len(geometry.relief) else patch_place(geometry, patch, u, v)


@kernel
def _bent_place(geometry, patch, u, v):
    if patch == geometry.relief.patch[0]:
        return sheet_place(geometry.relief, u, v)
    return patch_place(geometry, patch, u, v)


@by_type(lambda geometry: _yes if holds(geometry, "relief") else _no)  # type: ignore[has-type]
def is_folded(geometry):
    """True for a Geometry with folded cloth; known when a kernel is compiled."""
    return len(geometry.relief) > 0


@kernel
def _yes(geometry):
    return True


@kernel
def _no(geometry):
    return False
