"""Least and greatest luminance of a picture on folded cloth: of the cloth, not of light that misses it."""

from __future__ import annotations

import numpy as np
from halfgain.simulate.light.direct import cloth_points
from halfgain.simulate.measuring.field import EXTREMES, picture_field

from tests.rooms import lowered, room

CURLED = '[screen.fabric]\nkind = "diffuse"\ngain = 0.9\n[[screen.fold]]\nkind = "concave edges"\ndepth_mm = 12\n'


def test_the_least_of_a_picture_lies_on_the_cloth():
    """Light beside hollow side edges misses the cloth; a diffuse cloth in even light is then as bright at its least as anywhere."""
    arrays, points, _ = lowered(room(gap=0.1, fabric=CURLED))
    missed = cloth_points(arrays.geometry, arrays.projector, np.array([1.199]), np.array([0.0])).patch[0] < 0
    assert missed, "the case is the one that is meant"
    field = picture_field(arrays, points)
    direct = (field.gain * field.direct_lx[:, None])[EXTREMES]
    assert np.all(direct > 0.9 * points.gain[20] * points.direct_lx[20])
