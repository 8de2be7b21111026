"""What lamps put on the back of a cloth comes through it: diffusely, and of windows straight through its holes to an eye."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.lobes.perforation import open_share
from ..light.geometry import SCREEN, STACK, blocked
from ..light.lampdirect import lamp_direct
from ..light.lamps import AREA, AXIS, Lamps
from ..light.patches import frozen
from ..light.screen_samples import LitScreen
from .flatten import BACK_M, Behind, SceneArrays


class Shining(NamedTuple):
    """Light of lamps at full output on n points of the cloth's back, nothing reflected.

    lux        (n, L) illuminance of the back [lx]
    luminance  (n, T, L) that it adds towards each seat [cd/m2];  off  the same: what the sum over a lamp's points may be wrong by
    """

    lux: np.ndarray
    luminance: np.ndarray
    off: np.ndarray


def back_patch(behind: Behind) -> int:
    """Number of the cloth's patch, seen from behind."""
    return int(np.flatnonzero(behind.geometry.role == SCREEN)[-1])


def back_points(arrays: SceneArrays, behind: Behind, cloth: LitScreen, right: np.ndarray, up: np.ndarray) -> LitScreen:
    """The back of the flat cloth at places (n,) of the nominal plane [m]; where `cloth` misses, so does its back.

    right, up  from the screen's centre, as the seats see it [m]
    Source: definition; folds are left out.
    """
    centre, to_right, to_up, normal = arrays.projector.frame
    n = len(right)
    place = centre + np.outer(right, to_right) + np.outer(up, to_up) - BACK_M * normal
    return cloth._replace(
        place=frozen(place),
        right=frozen(np.tile(-to_right, (n, 1))),
        up=frozen(np.tile(to_up, (n, 1))),
        normal=frozen(np.tile(-normal, (n, 1))),
        patch=frozen(np.where(cloth.patch < 0, cloth.patch, back_patch(behind)).astype(np.int32)),
    )


def straight_share(behind: Behind, seats: np.ndarray) -> np.ndarray:
    """Share [1] of light that goes straight through the holes towards directions (..., 3) in the cloth's frame. Source: `open_share`."""
    view, turn = np.arccos(np.clip(seats[..., 2], 0.0, 1.0)), np.arctan2(seats[..., 1], seats[..., 0])
    return behind.open_area * open_share(view, turn, *behind.holes)


def shining(
    arrays: SceneArrays, behind: Behind, cloth: LitScreen, seats: np.ndarray, right: np.ndarray, up: np.ndarray, *, fine: bool
) -> Shining:
    """Light of a scene's lamps on the cloth's back and towards seats (n, T, 3), no reflection between.

    right, up  (n,) places of the nominal plane [m];  fine  as `lamp_direct` takes it
    Source: L = tau E / pi of a sheet that scatters evenly; through holes an eye sees a window's own luminance times their share.
    """
    lamps, back = arrays.lamps.lamps, back_points(arrays, behind, cloth, right, up)
    even = FabricArrays(*map(frozen, (np.ones(1), behind.fabric.lobes, np.ones(3), np.zeros(0))))
    normal_view = frozen(np.tile([0.0, 0.0, 1.0], (len(back.place), 1, 1)))
    found = lamp_direct(behind.geometry, back, normal_view, lamps, even, fine=fine)
    diffuse = behind.transmittance * found.lux[:, None, :] / np.pi
    straight = np.zeros((*seats.shape[:2], len(lamps.kind)))
    if behind.open_area > 0.0:
        straight = straight_share(behind, seats)[..., None] * _windows_seen(behind, lamps, cloth, back, seats)
    # right behind the cloth the rule over a lamp's points errs by a tenth more than its halving tells: twice that is the bound
    return Shining(found.lux, diffuse + straight, 2.0 * behind.transmittance * found.off)


def _windows_seen(behind: Behind, lamps: Lamps, cloth: LitScreen, back: LitScreen, seats: np.ndarray) -> np.ndarray:
    """Luminance [cd/m2] of each window as an eye sees it behind places of the cloth, (n, T, L); 0 where it does not meet it.

    Source: the ray from the eye through the place, cut with the window's plane.
    """
    seen = np.zeros((*seats.shape[:2], len(lamps.kind)))
    axes = np.stack([cloth.right, cloth.up, cloth.normal], axis=1)
    away = -np.einsum("ntk,nkj->ntj", seats, axes)
    stack, skip, none = np.empty(STACK, np.int32), np.int64(back_patch(behind)), np.int64(-1)
    for lamp in np.flatnonzero(lamps.kind == AREA):
        corner, u, v, normal = lamps.place[lamp], lamps.edge_u[lamp], lamps.edge_v[lamp], lamps.frame[lamp, AXIS]
        with np.errstate(divide="ignore", invalid="ignore"):
            far = ((corner - back.place) @ normal)[:, None] / (away @ normal)
            at = back.place[:, None] + far[..., None] * away - corner
            a, b = at @ u / (u @ u), at @ v / (v @ v)
            meets = (far > 0.0) & (away @ normal < 0.0) & (a >= 0.0) & (a <= 1.0) & (b >= 0.0) & (b <= 1.0)
        for i, t in np.argwhere(meets & (back.patch >= 0)[:, None]):
            origin, direction = tuple(map(float, back.place[i])), tuple(map(float, away[i, t]))
            if not blocked(behind.geometry, origin, direction, float(far[i, t]), skip, none, stack):
                seen[i, t, lamp] = lamps.luminance[lamp]
    return seen
