"""How far a pattern of brightness is over the eye's threshold, and where: the larger of two channels.

Waves are judged in windows with at least three periods of them (waves.py), single features by a matched filter (single.py). Both
rest on Barten's sensitivity and agree for an even grating; which of them decided is said.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .pattern import filled, without_smooth
from .sight import NONE, SINGLE, WAVES, Angles, Grid, Sight, Visible
from .single import Transformed, answers_at, single_feature, transformed
from .waves import worst_wave

_AS_GOOD = 0.95  # waves that reach this of the matched filter's ratio are called waves: for an even grating both are the same
_FLAT = 1e-6  # peak to peak of what is no pattern


class ReadyPattern(NamedTuple):
    """A pattern with all that the eye makes of it before it is known how bright the picture is.

    rest                (rows, columns) pattern less its smooth part [1], holes filled
    peak_to_peak, rms   of it before holes were filled [1];  transformed  its waves; None where there is no pattern
    """

    rest: np.ndarray
    angles: Angles
    grid: Grid
    peak_to_peak: float
    rms: float
    transformed: Transformed | None


def worst_place(pattern: np.ndarray, sight: Sight, right_m: np.ndarray, up_m: np.ndarray) -> Visible:
    """The place where a pattern is furthest over threshold.

    pattern  (rows, columns) luminance relative to the even picture [1], top row first; NaN where there is none
    right_m, up_m  (columns,) rising and (rows,) falling places [m], evenly spaced, two or more
    returns  Visible; a ratio of 0 where nothing is there
    What lies beside the picture does not mask: its dark border is not counted, the pattern goes on there by reflection.
    Source: head of this file.
    """
    return worst_place_of(ready_pattern(pattern, sight.angles, right_m, up_m), sight.luminance_cd_m2)


def ready_pattern(pattern: np.ndarray, angles: Angles, right_m: np.ndarray, up_m: np.ndarray) -> ReadyPattern:
    """A pattern made ready; arguments as of `worst_place`. Source: head of this file."""
    grid = Grid(right_m, up_m)
    rest = without_smooth(pattern).astype(np.float32)
    peak_to_peak, rms = float(np.ptp(rest)), float(rest.std(dtype=float))
    if peak_to_peak < _FLAT:
        return ReadyPattern(rest, angles, grid, peak_to_peak, rms, None)
    good = np.isfinite(pattern)
    holes = not good.all()
    rest = filled(rest, good)
    return ReadyPattern(rest, angles, grid, peak_to_peak, rms, transformed(rest, good if holes else None, angles, grid))


def worst_place_of(ready: ReadyPattern, luminance_cd_m2: float) -> Visible:
    """`worst_place` of a pattern that is ready, at a mean luminance of the picture [cd/m2]. Source: head of this file."""
    rest, angles, grid, peak_to_peak, rms, waves = ready
    none = Visible(0.0, NONE, 0.0, 0.0, (0.0, 0.0), (0.0, 0.0), grid.whole_deg(angles), False, peak_to_peak, rms)
    if waves is None:
        return none
    found = answers_at(waves, luminance_cd_m2)
    feature = single_feature(found)
    wave = worst_wave(rest, Sight(luminance_cd_m2, *angles), grid, found, _AS_GOOD * feature.ratio)
    if wave is not None:
        box = (wave.row, wave.column, wave.rows, wave.columns)
        ratio, channel, modulation, frequency, field = (
            max(wave.ratio, feature.ratio),
            WAVES,
            wave.modulation,
            wave.cycles_per_deg,
            wave.field_deg,
        )
    elif feature.ratio > 0.0:
        box = (feature.row, feature.column, feature.rows, feature.columns)
        top, left = max(int(box[0]), 0), max(int(box[1]), 0)
        part = np.s_[top : max(int(np.ceil(box[0] + box[2])), top + 1), left : max(int(np.ceil(box[1] + box[3])), left + 1)]
        ratio, channel, modulation, frequency = feature.ratio, SINGLE, 0.5 * float(np.ptp(rest[part])), feature.cycles_per_deg
        size = grid.box_m(*box)[1]
        field = (size[0] * float(angles.deg_right[part].mean()), size[1] * float(angles.deg_up[part].mean()))
    else:
        return none
    place, side = grid.box_m(*box)
    edge = min(box[0], box[1], rest.shape[0] - box[0] - box[2], rest.shape[1] - box[1] - box[3]) < 1.0
    return Visible(ratio, channel, modulation, frequency, place, side, field, edge, peak_to_peak, rms)
