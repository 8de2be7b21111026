"""A luminaire's luminous intensity by direction, as goniophotometers give it: C planes about an axis, gamma from the axis."""

from __future__ import annotations

import numpy as np

from ...materials.dataclass import dataclass


@dataclass(frozen=True, eq=False)
class Photometry:
    """Intensities of a whole turn; between angles they are interpolated in both, outside gamma_deg there is no light.

    c_deg      (n,) planes [deg], rising from 0 to 360, both there; counter-clockwise as seen from above where the luminaire looks down
    gamma_deg  (m,) from the axis it looks along [deg], rising, within 0 to 180
    candela    (n, m) [cd], none negative; first and last plane alike
    lamps_lm   flux of the lamps in it as the file states it [lm]; None where the photometry is absolute
    remarks    what a user should know of it, in sentences
    """

    c_deg: np.ndarray
    gamma_deg: np.ndarray
    candela: np.ndarray
    lamps_lm: float | None = None
    remarks: tuple[str, ...] = ()

    @property
    def flux_lm(self) -> float:
        """Luminous flux [lm], the exact integral of what is interpolated. Source: `gamma_weights`, trapezoids in C."""
        planes = self.candela @ gamma_weights(self.gamma_deg)
        return float(np.trapezoid(planes, np.radians(self.c_deg)))

    @property
    def downward_share(self) -> float:
        """Share [1] of the flux within 90 deg of the axis. Source: `flux_lm`."""
        below = np.minimum(self.gamma_deg, 90.0)
        inside = np.append(below[below < 90.0], 90.0) if self.gamma_deg[-1] >= 90.0 else below
        cut = np.array([np.interp(inside, self.gamma_deg, row) for row in self.candela])
        if self.gamma_deg[0] >= 90.0:
            return 0.0
        return Photometry(self.c_deg, inside, cut).flux_lm / self.flux_lm

    def scaled(self, factor: float) -> Photometry:
        """The same distribution with all intensities times a factor [1]."""
        lamps = None if self.lamps_lm is None else self.lamps_lm * factor
        return Photometry(self.c_deg, self.gamma_deg, self.candela * factor, lamps, self.remarks)


def gamma_weights(gamma_deg: np.ndarray) -> np.ndarray:
    """Weights (m,) [rad] of intensities at gamma_deg (m,) [deg] for the integral of I sin(gamma) d gamma, I linear between angles.

    Exact: of a hat function's two sides, cos a - (sin b - sin a) / (b - a) and (sin b - sin a) / (b - a) - cos b. Source: derived.
    """
    gamma = np.radians(gamma_deg)
    a, b = gamma[:-1], gamma[1:]
    mean = (np.sin(b) - np.sin(a)) / (b - a)
    weights = np.zeros(len(gamma))
    weights[:-1] += np.cos(a) - mean
    weights[1:] += mean - np.cos(b)
    return weights


def whole_turn(c_deg: np.ndarray, candela: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Planes (n,) [deg] and intensities (n, m) [cd] of a part of a turn, as its symmetry repeats them over 0 to 360 deg.

    c_deg  0 alone: alike all round; 0 to 90: alike in quadrants; 0 to 180: mirrored at the plane of 0 and 180; 90 to 270 or
           270 to 450: mirrored at that of 90 and 270; 0 to more than 180: no symmetry, closed with its first plane
    Source: ANSI/IES LM-63, horizontal angles; EULUMDAT, Isym 0 to 4.
    """
    c, rows = np.asarray(c_deg, float), np.asarray(candela, float)
    if len(c) == 1:
        return np.array([0.0, 360.0]), np.concatenate([rows, rows])
    if c[0] == 0.0 and c[-1] == 90.0:
        c, rows = np.append(c, 180.0 - c[-2::-1]), np.concatenate([rows, rows[-2::-1]])
    if c[0] == 0.0 and c[-1] == 180.0:
        c, rows = np.append(c, 360.0 - c[-2::-1]), np.concatenate([rows, rows[-2::-1]])
    elif c[0] == 270.0:  # 270 .. 450 is what 90 .. 270 mirrors
        c, rows = (540.0 - c)[::-1], rows[::-1]
    if c[0] == 90.0:  # I(180 - C) = I(C): 90 .. 180 gives 90 .. 0, 180 .. 270 gives 360 .. 270
        low, high = c <= 180.0, c > 180.0
        c = np.concatenate([180.0 - c[low][::-1], c[low][1:], c[high], 540.0 - c[high][-2::-1]])
        rows = np.concatenate([rows[low][::-1], rows[low][1:], rows[high], rows[high][-2::-1]])
        if c[0] != 0.0:  # no plane at 180: its neighbours stand on either side of the turn's ends
            start = (rows[0] * (360.0 - c[-1]) + rows[-1] * c[0]) / (c[0] + 360.0 - c[-1])
            c, rows = np.concatenate([[0.0], c, [360.0]]), np.concatenate([start[None], rows, start[None]])
        elif c[-1] != 360.0:
            c, rows = np.append(c, 360.0), np.concatenate([rows, rows[:1]])
    elif c[-1] < 360.0:
        c, rows = np.append(c, 360.0), np.concatenate([rows, rows[:1]])
    return c, rows
