"""What a picture gives at each seat: white and black detail, contrast, and the luminances shown; frames all at once."""
from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ...materials.tint import LUMINANCE_WEIGHTS
from ..colour import luminance
from ..estimate import Estimate, estimate, jackknife_error
from ..readings import BOARD_POINTS, CENTRE, levels_of
from .answers import Answers
from .pictures import Picture


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
    """Frames at every seat: (F, T) values and standard errors. black at the centre [cd/m2], contrast of details [1]; average (F,)."""

    average: np.ndarray
    black: np.ndarray
    black_error: np.ndarray
    contrast: np.ndarray
    contrast_error: np.ndarray


def floor_level(average: np.ndarray | float, black: float, veil: float) -> np.ndarray:
    """Level of black, white = 1: the projector's own black and the lens's even veil, which follows the average level.

    Source: veil = 2 APL (1 / checkerboard contrast - 1 / native contrast), the contract; `veil` is its value at one half.
    """
    return black + 2.0 * np.asarray(average) * veil


def zone_matrix(answers: Answers) -> np.ndarray:
    """Returned light (R + 2, 25, T, zones, C) [cd/m2] of each zone at white. Source: stage.zone_matrix."""
    facts = answers.facts
    matrix = answers.stage.zone_matrix(answers.arrays, facts, answers.fabric_key, answers.reflectance)
    scale = answers.stage.lux_scale(answers.arrays) * answers.reflectance[-1]
    seats = answers.points.seats.shape[1]
    return np.broadcast_to(matrix * scale, (*matrix.shape[:2], seats, *matrix.shape[3:]))


def mean_level(average: np.ndarray) -> float:
    """Mean level for luminance from (1,) or (3,). Source: ITU-R BT.709 weights."""
    return float(luminance(np.asarray(average)))


def _in_colour(table: np.ndarray, channels: int) -> np.ndarray:
    """Last axis 1 or 3 to `channels`."""
    return np.broadcast_to(table, (*table.shape[:-1], channels)) if table.shape[-1] == 1 else table


def picture_readings(answers: Answers) -> list[PictureReading]:
    """Readings of the picture in `answers` at every seat; no tracing.

    Colours need a matrix in colour: in a grey room a coloured picture returns its luminance's light, and so does this.
    Source: linearity in the picture; the contract's levels.
    """
    picture, matrix = answers.picture, zone_matrix(answers)
    levels = levels_of(answers.scene)
    channels = matrix.shape[-1]
    zones, bound, shown_level = (_for_channels(table, channels) for table in (picture.zones, picture.bound, picture.points))
    average = mean_level(picture.average)
    dark = float(floor_level(average, levels.black, levels.veil))
    returned = np.einsum("rptzc,zc->rptc", matrix, zones + (1.0 - zones) * dark)
    slip = np.einsum("ptzc,zc->ptc", matrix[0], bound * (1.0 - dark))
    seats = answers.seats(np.zeros((1, 25, 1, 1, 2, channels)), whole=False)
    direct = _in_colour(seats.direct, channels)
    own, even = direct * levels.black, 2.0 * average * levels.veil
    found = []
    for seat in range(len(answers.scene.seats)):
        veil = np.empty(25)
        mean_lux = answers.points.direct_lx[BOARD_POINTS].mean()
        veil[:] = even * answers.points.gain[:, seat] * mean_lux / np.pi * seats.tint_luminance

        def figures(room: np.ndarray, seat: int = seat, veil: np.ndarray = veil) -> tuple[np.ndarray, ...]:
            back = luminance(room)
            white = luminance(direct[:, seat]) + back
            black = luminance(own[:, seat]) + veil + back
            level = shown_level
            picture_light = luminance(direct[:, seat] * level + own[:, seat] * (1.0 - level))
            shown = picture_light + veil * (1.0 - mean_rows(level)) + back
            contrast = white[:, BOARD_POINTS].sum(axis=1) / black[:, BOARD_POINTS].sum(axis=1)
            return white[:, CENTRE], black[:, CENTRE], contrast, shown

        stack = figures(returned[:, :, seat])
        moved = figures((returned[0] + slip)[None, :, seat])
        grey = mean_rows(shown_level)
        found.append(
            PictureReading(
                seat=answers.scene.seats[seat].name,
                average=average,
                white=_bounded(stack[0], moved[0]),
                black=_bounded(stack[1], moved[1]),
                contrast=_bounded(stack[2], moved[2]),
                shown=stack[3][0],
                shown_error=jackknife_error(stack[3]),
                shown_contrast=_shown_contrast(stack[3], moved[3], grey),
            )
        )
    return found


def mean_rows(level: np.ndarray) -> np.ndarray:
    """Luminance level (n,) of levels (n, 1 or 3)."""
    return luminance(level)


def _for_channels(table: np.ndarray, channels: int) -> np.ndarray:
    """Picture tables in the matrix's channels: grey spreads to all three, colour falls to luminance in a grey room."""
    if table.shape[-1] == channels:
        return table
    return luminance(table)[..., None] if channels == 1 else _in_colour(table, channels)


def _bounded(stack: np.ndarray, moved: np.ndarray) -> Estimate:
    """Estimate whose bias bound also holds what shapes smaller than a zone may be wrong by."""
    base = estimate(stack)
    return base._replace(bias_bound=base.bias_bound + float(abs(moved[0] - stack[0])))


def _shown_contrast(stack: np.ndarray, moved: np.ndarray, level: np.ndarray) -> Estimate | None:
    white, black = level == 1.0, level == 0.0
    if white[BOARD_POINTS].any() and black[BOARD_POINTS].any():  # the nine points lie on a checkerboard's edges
        white[16:] = black[16:] = False
    if not white.any() or not black.any():
        return None
    return _bounded(*(s[:, white].mean(axis=1) / s[:, black].mean(axis=1) for s in (stack, moved)))


def frame_readings(answers: Answers, frames: Sequence[Picture]) -> FrameReadings:
    """Black level and contrast of details in every frame at every seat, in one product.

    Source: as `picture_readings`; luminance is linear, so the matrix is weighed to luminance and summed over points first.
    """
    matrix, levels = zone_matrix(answers), levels_of(answers.scene)
    channels = matrix.shape[-1]
    average = np.array([mean_level(frame.average) for frame in frames])
    dark = floor_level(average, levels.black, levels.veil)
    zones = np.stack([_for_channels(frame.zones, channels) for frame in frames], axis=-1)  # (zones, C, F)
    zones = zones + (1.0 - zones) * dark
    weights = np.ones(1) if channels == 1 else np.array(LUMINANCE_WEIGHTS)
    parts = np.stack([matrix[:, CENTRE], matrix[:, BOARD_POINTS].sum(axis=1)]) * weights  # (2, R + 2, T, zones, C)
    back = parts.reshape(*parts.shape[:3], -1) @ zones.reshape(-1, len(frames))  # (2, R + 2, T, F)
    direct = luminance(answers.seats(np.zeros((1, 25, 1, 1, 2, channels)), whole=False).direct)  # (25, T)
    lux = answers.points.direct_lx[BOARD_POINTS].mean()
    tint = float(luminance(np.asarray(answers.arrays.fabric.tint))) if channels == 3 else 1.0
    even = answers.points.gain * lux / np.pi * tint
    own = [direct[CENTRE], direct[BOARD_POINTS].sum(axis=0)]
    veil = [even[CENTRE], even[BOARD_POINTS].sum(axis=0)]
    extra = 2.0 * average * levels.veil
    black = own[0][:, None] * levels.black + veil[0][:, None] * extra + back[0]
    dark_sum = own[1][:, None] * levels.black + veil[1][:, None] * extra + back[1]
    contrast = (own[1][:, None] + back[1]) / dark_sum
    return FrameReadings(average, black[0].T, jackknife_error(black).T, contrast[0].T, jackknife_error(contrast).T)


def contrast_by_level(answers: Answers, averages: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Contrast of details against the average level of the picture, (n, T) values and standard errors.

    averages  (n,) mean level, 0 .. 1, spread evenly over the picture as a film's frames are on average
    Source: returned light = (level + what is black) times that of full white; exact in the picture's level.
    """
    seats = answers.seats(whole=False)
    levels = levels_of(answers.scene)
    direct = luminance(seats.direct)[BOARD_POINTS].sum(axis=0)
    lux = answers.points.direct_lx[BOARD_POINTS].mean()
    even = (answers.points.gain[BOARD_POINTS] * lux / np.pi * seats.tint_luminance).sum(axis=0)
    white = luminance(seats.white)[:, BOARD_POINTS].sum(axis=1)  # (R + 2, T)
    average = np.asarray(averages, float)[:, None, None]
    dark = floor_level(average, levels.black, levels.veil)
    back = white * (average + (1.0 - average) * dark)
    contrast = (direct + back) / (direct * levels.black + even * 2.0 * average * levels.veil + back)  # (n, R + 2, T)
    contrast = np.moveaxis(contrast, 1, 0)
    return contrast[0], jackknife_error(contrast)
