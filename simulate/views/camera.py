"""A camera at an eye: one ray a pixel, and where the pixels lie on the screen's plane."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...scenes.geometry import screen_frame, to_inside
from ...scenes.model import Scene

LEAST_FIELD_DEG, MOST_FIELD_DEG = 10.0, 130.0
_ROOM_AROUND = 0.8  # of the picture's half-width stays free on each side of it
_USUAL_MOST_DEG = 100.0  # a flat picture of a wider field looks stretched at its edges


class Camera(NamedTuple):
    """A central projection; unit vectors in the inside frame.

    eye                 (3,) place [m]
    forward, right, up  (3,) [1]
    half_width          tangent of half the horizontal field [1]
    width, height       [pixels]
    """

    eye: np.ndarray
    forward: np.ndarray
    right: np.ndarray
    up: np.ndarray
    half_width: float
    width: int
    height: int

    @property
    def field_deg(self) -> float:
        """Horizontal field of view [degrees]. Source: central projection."""
        return 2.0 * math.degrees(math.atan(self.half_width))

    def rays(self, column: np.ndarray, row: np.ndarray) -> np.ndarray:
        """Unit rays (n, 3) through pixel places (n,), 0 at the middle of the first column and of the top row [pixels].

        Source: central projection.
        """
        x = self.half_width * ((column + 0.5) * 2.0 / self.width - 1.0)
        y = self.half_width * (self.height - (row + 0.5) * 2.0) / self.width
        scale = 1.0 / np.sqrt(1.0 + x * x + y * y)  # the three axes are unit vectors at right angles
        x, y, ray = x * scale, y * scale, np.empty((len(scale), 3))
        for k in range(3):
            ray[:, k] = scale * self.forward[k] + x * self.right[k] + y * self.up[k]
        return ray


def seat_camera(scene: Scene, seat: int, *, width: int = 960, height: int = 540, field_deg: float | None = None) -> Camera:
    """The camera at a seat's eye, looking at the middle of the screen, upright.

    field_deg  horizontal field [degrees]; None: the screen with room around it, at most 100 degrees
    Source: central projection; the roll is that of a level head.
    """
    frame = screen_frame(scene)
    eye = np.array(to_inside(scene.seats[seat].eye_m), float)
    forward = np.array(frame.centre) - eye
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, (0.0, 0.0, 1.0))
    right /= np.linalg.norm(right)
    up = np.cross(right, forward)
    if field_deg is None:
        reach = 0.0
        for x in (-0.5, 0.5):
            for y in (-0.5, 0.5):
                corner = np.array(frame.centre) + x * scene.screen.width_m * np.array(frame.right)
                ray = corner + y * scene.screen.height_m * np.array(frame.up) - eye
                across, upward = abs(ray @ right) / (ray @ forward), abs(ray @ up) / (ray @ forward)
                reach = max(reach, across, upward * width / height)
        half = min((1.0 + _ROOM_AROUND) * reach, math.tan(math.radians(_USUAL_MOST_DEG / 2.0)))
    else:
        half = math.tan(math.radians(field_deg / 2.0))
    return Camera(eye, forward, right, up, half, width, height)


def on_screen_plane(scene: Scene, camera: Camera, rays: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where rays (n, 3) cut the screen's plane: right of and up from its centre [m]; NaN where they do not. Source: ray against plane."""
    frame = screen_frame(scene)
    normal, centre = np.array(frame.normal), np.array(frame.centre)
    drop = rays @ normal
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(drop < 0.0, ((centre - camera.eye) @ normal) / drop, np.nan)
    at = camera.eye + t[:, None] * rays - centre
    return at @ np.array(frame.right), at @ np.array(frame.up)
