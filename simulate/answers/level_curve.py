"""Contrast at each seat against the average picture level, and where a film's frames lie on it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from .answers import Answers
from .picture_readings import FrameReadings, contrast_by_level, frame_readings
from .pictures import ZonePicture

LOWEST, HIGHEST, STEPS = 0.005, 1.0, 41


class LevelCurve(NamedTuple):
    """Contrast of a small white against a small black detail.

    seats     names;  level (n,) average picture level 0 .. 1 [1];  contrast, error (n, T) [1]
    checkerboard  (T,) for comparison [1];  names, frames   the frames' names and readings, or none
    """

    seats: tuple[str, ...]
    level: np.ndarray
    contrast: np.ndarray
    error: np.ndarray
    checkerboard: np.ndarray
    names: tuple[str, ...]
    frames: FrameReadings | None


def level_curve(answers: Answers, pictures: Sequence[ZonePicture] = ()) -> LevelCurve:
    """The curve from 0.5 to 100 % average picture level, and the readings of frames.

    returns  contrasts [1]
    Source: seen.contrast_by_level, seen.frame_readings.
    """
    level = np.geomspace(LOWEST, HIGHEST, STEPS)
    contrast, error = contrast_by_level(answers, level)
    return LevelCurve(
        tuple(seat.name for seat in answers.scene.seats),
        level,
        contrast,
        error,
        answers.quick().checkerboard[0],
        tuple(p.name for p in pictures),
        frame_readings(answers, pictures) if pictures else None,
    )
