"""What a picture gives at each seat: white and black detail, contrast, and the luminances shown; frames all at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ...materials.tint import LUMINANCE_WEIGHTS
from ..measuring.colour import luminance
from ..measuring.estimate import Estimate, jackknife_error
from ..measuring.lens import levels_of
from ..measuring.readings import BOARD_POINTS, CENTRE, Seats
from .answers import Answers
from .pictures import ZonePicture


class PictureReading(NamedTuple):
    """One seat before one picture. A detail is a small patch of white or black that changes nothing else.

    black, white  luminance of a black and of a white detail at the picture's centre [cd/m2]
    contrast      white over black detail, sums over the 16 checkerboard patch centres [1]
    shown         (25,) luminance of the picture itself at the measuring points [cd/m2], and its standard_error
    shown_contrast  mean shown luminance where the picture is white over that where it is black; None without both [1]
    average       mean level of the picture, for luminance [1]
    """

    seat: str
    average: float
    black: Estimate
    white: Estimate
    contrast: Estimate
    shown: np.ndarray
    shown_error: np.ndarray
    shown_contrast: Estimate | None


class FrameReadings(NamedTuple):
    """Frames at every seat, (F, T): black at the centre [cd/m2], contrast of details [1], standard errors.

    average  (F,) mean level [1]
    """

    average: np.ndarray
    black: np.ndarray
    black_error: np.ndarray
    contrast: np.ndarray
    contrast_error: np.ndarray


def zone_matrix(answers: Answers) -> tuple[np.ndarray, np.ndarray]:
    """Returned light of each zone at white: (C, R + 2, 25, 1 or T, zones), and the factor (C,) that makes it [cd/m2].

    One column where all seats see the same. Source: stage.zone_matrix.
    """
    matrix = answers.stage.zone_matrix(answers.arrays, answers.facts, answers.fabric_key, answers.reflectance)
    return matrix, answers.stage.ground.lux_scale(answers.arrays) * answers.reflectance[-1]


def mean_level(average: np.ndarray) -> float:
    """Mean level for luminance [1] from (1,) or (3,). Source: ITU-R BT.709 weights."""
    return float(luminance(np.asarray(average)))


def _in_colour(table: np.ndarray, channels: int) -> np.ndarray:
    """Last axis 1 or 3 to `channels`."""
    return np.broadcast_to(table, (*table.shape[:-1], channels)) if table.shape[-1] == 1 else table


def picture_readings(answers: Answers) -> list[PictureReading]:
    """Readings of the picture in `answers` at every seat, luminances [cd/m2], contrasts [1]; no tracing.

    Colours need a matrix in colour: in a grey room a coloured picture returns its luminance's light, and so does this.
    Source: linearity in the picture; `Levels`.
    """
    picture, levels = answers.picture, levels_of(answers.scene)
    channels = answers.reflectance.shape[1]
    zones, bound, level = (_for_channels(table, channels) for table in (picture.zones, picture.bound, picture.points))
    average = mean_level(picture.average)
    dark = float(levels.floor(average))
    back, slip = _returned(answers, zones + (1.0 - zones) * dark, bound * (1.0 - dark))
    back = np.concatenate([back, back[:1] + slip])  # the last row: with what small shapes may be wrong by
    light = answers.seats(np.zeros((1, 25, 1, 1, 2, channels)), whole=False)
    direct = np.broadcast_to(light.direct, (*light.direct.shape[:2], channels))  # (25, T, C)
    lux = answers.points.direct_lx[BOARD_POINTS].mean()
    veil = levels.veil_at(average) * answers.points.gain * lux / np.pi * light.tint_luminance
    own, shown_level = luminance(direct), level[:, None]
    white, black = own + back, own * levels.black + veil + back
    contrast = white[:, BOARD_POINTS].sum(axis=1) / black[:, BOARD_POINTS].sum(axis=1)
    shown = luminance(direct * (shown_level + levels.black * (1.0 - shown_level))) + veil * (1.0 - luminance(shown_level)) + back
    pattern = _shown_contrast(shown, luminance(level))
    error = jackknife_error(shown[:-1])
    stacks = [white[:, CENTRE], black[:, CENTRE], contrast] + ([] if pattern is None else [pattern])
    seats = len(answers.scene.seats)
    figures = _bounded(np.concatenate(stacks, axis=1))
    patterns: list[Estimate | None] = [None] * seats if pattern is None else [*figures[3 * seats :]]
    return [
        PictureReading(
            seat=seat.name,
            average=average,
            white=figures[i],
            black=figures[seats + i],
            contrast=figures[2 * seats + i],
            shown=shown[0, :, i],
            shown_error=error[:, i],
            shown_contrast=patterns[i],
        )
        for i, seat in enumerate(answers.scene.seats)
    ]


def _returned(answers: Answers, zones: np.ndarray, bound: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Luminance of returned light (R + 2, 25, T) of zone levels (zones, C), and of their second-order bound (1, 25, T)."""
    matrix, scale = zone_matrix(answers)
    weights = scale * (np.ones(1) if len(matrix) == 1 else np.array(LUMINANCE_WEIGHTS))
    if np.ptp(zones, axis=1).max() == 0.0 and len(matrix) == 3:  # a grey picture needs the luminance of the matrix alone
        matrix = answers.stage.weighed_matrix(answers.arrays, answers.facts, answers.fabric_key, answers.reflectance, weights)[
            None
        ]
        weights = np.ones(1)
    back: np.ndarray = np.zeros(())
    slip: np.ndarray = np.zeros(())
    for c, (w, part) in enumerate(zip(weights, matrix, strict=True)):
        rows = part.reshape(len(part) * 5, -1, part.shape[-1])  # fewer products than points, too small to be shared by threads
        back = back + (rows @ (w * zones[:, c])).reshape(part.shape[:-1])
        slip = slip + (part[0] @ (w * bound[:, c]))[None]
    seats = answers.points.seats.shape[1]
    return np.broadcast_to(back, (*back.shape[:2], seats)), np.broadcast_to(slip, (*slip.shape[:2], seats))


def _for_channels(table: np.ndarray, channels: int) -> np.ndarray:
    """Picture tables in the matrix's channels: grey spreads to all three, colour falls to luminance in a grey room."""
    if table.shape[-1] == channels:
        return table
    return luminance(table)[..., None] if channels == 1 else _in_colour(table, channels)


def _bounded(stack: np.ndarray) -> list[Estimate]:
    """Estimates of replicates (R + 3, n) whose last row, moved by what small shapes may be wrong by, goes into the bias bounds."""
    error = jackknife_error(stack[:-1])
    bound = abs(stack[0] - stack[-2]) + abs(stack[-1] - stack[0])
    return [Estimate(*map(float, each)) for each in zip(stack[0], error, bound, strict=True)]


def _shown_contrast(shown: np.ndarray, level: np.ndarray) -> np.ndarray | None:
    """Mean shown luminance (rows, T) where the level (25,) is 1 over that where it is 0."""
    white, black = level == 1.0, level == 0.0
    if white[BOARD_POINTS].any() and black[BOARD_POINTS].any():  # the nine points lie on a checkerboard's edges
        white[16:] = black[16:] = False
    if not white.any() or not black.any():
        return None
    return shown[:, white].mean(axis=1) / shown[:, black].mean(axis=1)


def frame_readings(answers: Answers, frames: Sequence[ZonePicture]) -> FrameReadings:
    """Black level [cd/m2] and contrast of details [1] in every frame at every seat, in one product.

    Source: as `picture_readings`; luminance is linear, so the matrix is weighed to luminance and summed over points first.
    """
    (matrix, scale), levels = zone_matrix(answers), levels_of(answers.scene)
    channels = len(matrix)
    average = np.array([mean_level(frame.average) for frame in frames])
    dark = levels.floor(average)
    zones = np.stack([_for_channels(frame.zones, channels) for frame in frames], axis=-1)  # (zones, C, F)
    zones = zones + (1.0 - zones) * dark
    weights = scale * (np.ones(1) if channels == 1 else np.array(LUMINANCE_WEIGHTS))
    back = np.zeros(())
    for c in range(channels):
        parts = np.stack([matrix[c, :, CENTRE], matrix[c][:, BOARD_POINTS].sum(axis=1)]) * weights[c]
        flat = parts.reshape(-1, len(zones)) @ np.ascontiguousarray(zones[:, c])
        back = back + flat.reshape(*parts.shape[:3], -1)  # (2, R + 2, 1 or T, F)
    direct = luminance(answers.seats(np.zeros((1, 25, 1, 1, 2, channels)), whole=False).direct)  # (25, T)
    lux = answers.points.direct_lx[BOARD_POINTS].mean()
    tint = float(luminance(np.asarray(answers.arrays.fabric.tint))) if channels == 3 else 1.0
    even = answers.points.gain * lux / np.pi * tint
    own = [direct[CENTRE], direct[BOARD_POINTS].sum(axis=0)]
    veil = [even[CENTRE], even[BOARD_POINTS].sum(axis=0)]
    extra = levels.veil_at(average)
    black = own[0][:, None] * levels.black + veil[0][:, None] * extra + back[0]
    dark_sum = own[1][:, None] * levels.black + veil[1][:, None] * extra + back[1]
    contrast = (own[1][:, None] + back[1]) / dark_sum
    return FrameReadings(average, black[0].T, jackknife_error(black).T, contrast[0].T, jackknife_error(contrast).T)


def contrast_by_level(answers: Answers, averages: np.ndarray, seats: Seats | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Contrast of details [1] against the average level of the picture, (n, T) values and standard errors.

    averages  (n,) mean level [1], 0 .. 1, spread evenly over the picture as a film's frames are on average
    seats     those of the answers where they are at hand
    Source: returned light = (level + what is black) times that of full white; exact in the picture's level.
    """
    seats = answers.seats(whole=False) if seats is None else seats
    levels = levels_of(answers.scene)
    direct = luminance(seats.direct)[BOARD_POINTS].sum(axis=0)
    lux = answers.points.direct_lx[BOARD_POINTS].mean()
    even = (answers.points.gain[BOARD_POINTS] * lux / np.pi * seats.tint_luminance).sum(axis=0)
    white = luminance(seats.white)[:, BOARD_POINTS].sum(axis=1)  # (R + 2, T)
    average = np.asarray(averages, float)[:, None, None]
    dark = levels.floor(average)
    back = white * (average + (1.0 - average) * dark)
    contrast = (direct + back) / (direct * levels.black + even * levels.veil_at(average) + back)  # (n, R + 2, T)
    contrast = np.moveaxis(contrast, 1, 0)
    return contrast[0], jackknife_error(contrast)
