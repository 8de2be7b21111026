"""How far a pattern of brightness is over the eye's threshold, and where: the larger of two channels.

Waves are judged in windows with at least three periods of them (waves.py), single features by a matched filter (single.py). Both
rest on Barten's sensitivity and agree for an even grating; which of them decided is said.
"""

from __future__ import annotations

import numpy as np

from .pattern import filled, without_smooth
from .sight import NONE, SINGLE, WAVES, Grid, Sight, Visible
from .single import answers, single_feature
from .waves import worst_wave

_AS_GOOD = 0.95  # waves that reach this of the matched filter's ratio are called waves: for an even grating both are the same
_FLAT = 1e-6  # peak to peak of what is no pattern


def worst_place(pattern: np.ndarray, sight: Sight, right_m: np.ndarray, up_m: np.ndarray) -> Visible:
    """The place where a pattern is furthest over threshold.

    pattern  (rows, columns) luminance relative to the even picture [1], top row first; NaN where there is none
    right_m, up_m  (columns,) rising and (rows,) falling places [m], evenly spaced, two or more
    returns  Visible; a ratio of 0 where nothing is there
    What lies beside the picture does not mask: its dark border is not counted, the pattern goes on there by reflection.
    Source: head of this file.
    """
    grid = Grid(right_m, up_m)
    rest = without_smooth(pattern).astype(np.float32)
    peak_to_peak, rms = float(np.ptp(rest)), float(rest.std(dtype=float))
    none = Visible(0.0, NONE, 0.0, 0.0, (0.0, 0.0), (0.0, 0.0), grid.whole_deg(sight), False, peak_to_peak, rms)
    if peak_to_peak < _FLAT:
        return none
    good = np.isfinite(pattern)
    holes = not good.all()
    rest = filled(rest, good)
    found = answers(rest, good if holes else None, sight, grid)
    feature = single_feature(found)
    wave = worst_wave(rest, sight, grid, found, _AS_GOOD * feature.ratio)
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
        field = (size[0] * float(sight.deg_right[part].mean()), size[1] * float(sight.deg_up[part].mean()))
    else:
        return none
    place, side = grid.box_m(*box)
    edge = min(box[0], box[1], len(up_m) - box[0] - box[2], len(right_m) - box[1] - box[3]) < 1.0
    return Visible(ratio, channel, modulation, frequency, place, side, field, edge, peak_to_peak, rms)
