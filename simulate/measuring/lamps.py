"""Lamps and windows of a scene lowered for the light code, and what each light state takes of them."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import NamedTuple

import numpy as np

from ...scenes.geometry import to_inside
from ...scenes.model import Lamp, Light, Place, Room, Scene, Window
from ...scenes.rooms.spots import window_spots
from ..light.lamps import AREA, LINE, POINT, Lamps, no_lamps
from ..light.patches import frozen

BEFORE_WALL_M = 1e-6  # a window's points stand so far before their wall, which then cannot hide them


class LampSet(NamedTuple):
    """The lamps and windows that any light state of a scene uses, in the scene's order, lamps first.

    names  of the L of them;  lamps  at full output, blinds up;  colour (L, 3) linear RGB of luminance 1
    """

    names: tuple[str, ...]
    lamps: Lamps
    colour: np.ndarray


def key_of(lamps: LampSet) -> Hashable:
    """What tells one set of lamps from another; () for none."""
    return (lamps.names, *(array.tobytes() for array in lamps.lamps)) if lamps.names else ()


NONE = LampSet((), no_lamps(), frozen(np.zeros((0, 3))))


def lamp_set(scene: Scene) -> LampSet:
    """What the light code needs of a scene's lamps and windows, in the inside frame, metres and radians. Source: `lamp_arrays`."""
    asked = {
        name for light in scene.lights for share in (light.lamps, light.windows) for name, level in share.items() if level > 0.0
    }
    lamps = [lamp for lamp in scene.lamps if lamp.name in asked]
    windows = [window for window in scene.windows if window.name in asked]
    every: list[Lamp | Window] = [*lamps, *windows]
    if not every:
        return NONE
    names, colour = tuple(each.name for each in every), np.array([each.colour for each in every], float)
    return LampSet(names, lamp_arrays(lamps, windows, scene.room), frozen(colour))


def lamp_shares(scene: Scene, light: Light, names: Sequence[str]) -> np.ndarray:
    """Share (L,) of full output that a light state takes of each lamp and window [1], blinds counted."""
    blinds = {each.name: each.blind_transmission or 0.0 for each in scene.windows if each.name in light.blinds_down}
    levels = {**light.lamps, **light.windows}
    return np.array([levels.get(name, 0.0) * blinds.get(name, 1.0) for name in names])


def lamp_arrays(lamps: Sequence[Lamp], windows: Sequence[Window], room: Room) -> Lamps:
    """Lamps, then windows of a room, as read-only arrays. Source: `lamp_frame`, `window_rectangle`."""
    count = len(lamps) + len(windows)
    kind, luminance = np.zeros(count, np.uint8), np.zeros(count)
    place, edge_u, edge_v, frame = *(np.zeros((count, 3)) for _ in range(3)), np.zeros((count, 3, 3))
    table = np.zeros((5, count), np.int32)
    angles: list[np.ndarray] = []
    values: list[np.ndarray] = []
    for i, lamp in enumerate(lamps):
        start = np.array(to_inside(lamp.place_m), float)
        end = start if lamp.end_m is None else np.array(to_inside(lamp.end_m), float)
        kind[i] = POINT if lamp.end_m is None else LINE
        place[i], edge_u[i], frame[i] = 0.5 * (start + end), 0.5 * (end - start), lamp_frame(lamp.aim, lamp.turn_deg)
        c, gamma = np.radians(lamp.photometry.c_deg), np.radians(lamp.photometry.gamma_deg)
        c[-1] = 2.0 * np.pi
        at = sum(map(len, angles))
        table[:, i] = at, len(c), at + len(c), len(gamma), sum(map(len, values))
        angles += [c, gamma]
        values.append(lamp.photometry.candela.ravel())
    for i, window in enumerate(windows, len(lamps)):
        kind[i], luminance[i] = AREA, window.luminance_cd_m2
        place[i], edge_u[i], edge_v[i], frame[i, 2] = window_rectangle(window, room)
    one = [frozen(np.concatenate(parts) if parts else np.zeros(0)) for parts in (angles, values)]
    return Lamps(frozen(kind), *map(frozen, (place, edge_u, edge_v, frame, luminance)), *map(frozen, table), *one)


def lamp_frame(aim: Place, turn_deg: float) -> np.ndarray:
    """Rows: directions of C = 0 and C = 90, and the axis, in the inside frame (3, 3) [1].

    C = 0 points to the right as seen from the seats, or up where the lamp is aimed along that; planes count counter-clockwise as
    seen from behind the lamp, so from above where it looks down.
    Source: ANSI/IESNA LM-63-2002, definition of horizontal angles for type C.
    """
    axis = np.array(to_inside(aim), float)
    axis /= np.abs(axis).max()  # so that no square runs over, however long the aim is written
    axis /= np.linalg.norm(axis)
    right = np.array([1.0, 0.0, 0.0]) if abs(axis[0]) < 0.999 else np.array([0.0, 0.0, 1.0])
    first = right - (right @ axis) * axis
    first /= np.linalg.norm(first)
    second = np.cross(first, axis)
    turn = np.radians(turn_deg)
    return np.array([np.cos(turn) * first + np.sin(turn) * second, np.cos(turn) * second - np.sin(turn) * first, axis])


def window_rectangle(window: Window, room: Room) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Corner, two edges [m] and the normal into the room [1] of a window, in the inside frame. Source: the file's definition."""
    if room.shell is not None:
        spot = window_spots(room, window)[0]
        normal = np.cross(spot.edge_u, spot.edge_v)
        normal /= np.linalg.norm(normal)
        return spot.corner + BEFORE_WALL_M * normal, spot.edge_u, spot.edge_v, normal
    depth = {"front": BEFORE_WALL_M, "back": room.depth_m - BEFORE_WALL_M}
    side = {"left": -0.5 * room.width_m + BEFORE_WALL_M, "right": 0.5 * room.width_m - BEFORE_WALL_M}
    height = {"ceiling": room.height_m - BEFORE_WALL_M, "floor": BEFORE_WALL_M}
    right = window.right_m or (side.get(window.surface, 0.0),) * 2
    out = window.out_m or (depth.get(window.surface, 0.0),) * 2
    up = window.up_m or (height.get(window.surface, 0.0),) * 2
    low, high = np.array(to_inside((right[0], out[0], up[0]))), np.array(to_inside((right[1], out[1], up[1])))
    edges = [np.where(np.arange(3) == axis, high - low, 0.0) for axis in range(3) if high[axis] != low[axis]]
    normals = {
        "front": (0, -1, 0),
        "back": (0, 1, 0),
        "left": (1, 0, 0),
        "right": (-1, 0, 0),
        "ceiling": (0, 0, -1),
        "floor": (0, 0, 1),
    }
    return low, edges[0], edges[1], np.array(normals[window.surface], float)
