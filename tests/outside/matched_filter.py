"""The eye's matched filter by direct quadrature, with Barten's constants typed in again; imports nothing of the project.

ratio^2 = integral of |C|^2 M^2 T / (k^2 Phi) over both frequencies, for places x about where one looks weighed with
(1 + (2 x / L)^2)^(-3/2) in each axis, L(u) = (1 / 12^2 + u^2 / 15^2)^(-1/2): integrated over -X0/2 ... X0/2 that is Barten's
(1 / X0^2 + 1 / L^2)^(-1/2). Source: Barten (1999), two eyes.
"""

from __future__ import annotations

import numpy as np


def per_square_degree(u, luminance, field):
    """M^2 T / (k^2 Phi) [1/deg^2] at frequencies u [1/deg], field (width, height) [deg] for the pupil."""
    d = 5 - 3 * np.tanh(0.4 * np.log10(luminance * field[0] * field[1] / 1600))
    sigma = np.hypot(0.5, 0.08 * d) / 60
    trolands = np.pi * d**2 / 4 * luminance * (1 - (d / 9.7) ** 2 + (d / 12.4) ** 4)
    noise = 1 / (0.03 * 1.2274e6 * trolands) + 3e-8 / -np.expm1(-((np.maximum(u, 1e-9) / 7) ** 2))
    return np.exp(-4 * np.pi**2 * sigma**2 * u**2) * 0.1 / (9 * noise)


def sensitivity(u, luminance, field):
    """Barten's S for a grating over a field."""
    reach2 = 1 / 144 + u**2 / 225
    size = np.prod([1 / np.sqrt(1 / side**2 + reach2) for side in field], axis=0)
    return np.sqrt(per_square_degree(u, luminance, field) * size / 2)


def _even_sum(c, first, step, u, row=100):
    """Sum of c exp(-2 pi i u t) over even places t, `row` of them at a time: a place is that of its row's beginning and a rest."""
    rows = np.append(c, np.zeros(-len(c) % row)).reshape(-1, row)
    begins, rests = first + step * row * np.arange(len(rows)), step * np.arange(row)
    rest = np.exp(-2j * np.pi * np.outer(u, rests)) @ rows.T
    return np.sum(rest * np.exp(-2j * np.pi * np.outer(u, begins)), axis=1)


def straight_feature(profile, length_deg, luminance, field, way=(0.0, 1.0), step_deg=0.005, span_deg=40.0):
    """Ratio of a straight feature: profile(t [deg]) across, `length_deg` along the unit vector `way`, looked at in its middle."""
    t = (np.arange(round(span_deg / step_deg)) + 0.5) * step_deg - span_deg / 2
    u = np.linspace(1e-3, 25, 1500)
    c = profile(t)
    spectrum = _even_sum(c, t[0], step_deg, u) * step_deg
    s = (np.arange(400) + 0.5) / 400 * length_deg - length_deg / 2
    reach = 1 / np.sqrt(1 / 144 + u**2 / 225)
    weight = np.prod([(1 + (2 * np.outer(1 / reach, s * w)) ** 2) ** -1.5 for w in way], axis=0)
    along = weight.sum(axis=1) * length_deg / 400
    return np.sqrt(2 * np.trapezoid(np.abs(spectrum) ** 2 * per_square_degree(u, luminance, field) * along, u))


def spot(pattern, pitch_deg, luminance, field, padded=2048):
    """Ratio of a small pattern (rows, columns) on no background, looked at directly: the reach is wider than it is."""
    spectrum = np.fft.fft2(pattern, (padded, padded)) * pitch_deg**2
    f = np.arange(padded // 2 + 1) / (padded * pitch_deg)
    seen = per_square_degree(np.hypot(f[:, None], f[None, :]), luminance, field)
    at = np.minimum(np.arange(padded), padded - np.arange(padded))  # of a frequency's size, whatever its sign
    return np.sqrt(np.sum(np.abs(spectrum) ** 2 * seen[np.ix_(at, at)]) / (padded * pitch_deg) ** 2)
