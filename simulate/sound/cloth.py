"""A thin sheet in the way of sound: mass beside holes, what passes it, what it throws back, what it takes before a wall."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from ...materials.dataclass import dataclass
from .bands import BANDS, DENSITY_KG_M3, IMPEDANCE_PA_S_M, SPEED_M_S, VISCOSITY_PA_S

Array = npt.NDArray[np.float64]
Complex = npt.NDArray[np.complex128]

_ANGLES = 256  # a closed cloth rings sharply in angle
_FOK = (1.0, -1.4092, 0.0, 0.33818, 0.0, 0.06793, -0.02287, 0.03015, -0.01641)


@dataclass(frozen=True)
class Sheet:
    """A cloth as sound meets it.

    mass_kg_m2   of the whole sheet [kg/m2]
    open_area    share of holes [1]; 0: none
    hole_mm      diameter of a hole, or of the round hole of a weave's gap's area [mm]
    depth_mm     thickness of the sheet along the hole [mm]
    """

    mass_kg_m2: float
    open_area: float = 0.0
    hole_mm: float = 0.0
    depth_mm: float = 0.0


def hole_interaction(ratio: float) -> float:
    """What neighbouring holes leave of a hole's end correction [1], 1 for a hole alone.

    ratio   0.88 x diameter / pitch on a square lattice [1], below 1
    Source: V. A. Fok 1941, the series as in T. H. Melling, J. Sound Vib. 29 (1973) 1 (from memory).
    """
    return max(0.0, float(np.polynomial.polynomial.polyval(ratio, _FOK)))


def hole_impedance(frequency_hz: npt.ArrayLike, sheet: Sheet, *, viscosity_pa_s: float = VISCOSITY_PA_S) -> Complex:
    """Pressure over mean velocity of air in the holes, per area of sheet [Pa s/m], the shape of `frequency_hz` [Hz].

    The air in a hole drags on its wall (Bessel functions), moves some air before and behind with it (8 d / 3 pi for both ends, less by
    `hole_interaction`), and rubs on the sheet around the ends (sqrt(2 rho eta omega) / 2 once for both).
    viscosity_pa_s   of air [Pa s]; 0: inertance alone
    Source: I. B. Crandall, Theory of Vibrating Systems and Sound, 1926; D.-Y. Maa, J. Acoust. Soc. Am. 104 (1998) 2861. Good
    while the hole is far below a wavelength and the level too low for jets.
    """
    from scipy.special import jve

    omega = 2.0 * np.pi * np.asarray(frequency_hz, float)
    d, t = 1e-3 * sheet.hole_mm, 1e-3 * sheet.depth_mm
    pitch = d * np.sqrt(np.pi / (4.0 * sheet.open_area))
    ends = 8.0 * d / (3.0 * np.pi) * hole_interaction(0.88 * d / pitch)
    drag: Complex | float = 1.0
    rub: Array | float = 0.0
    if viscosity_pa_s > 0.0:
        x = 0.5 * d * np.sqrt(omega * DENSITY_KG_M3 / viscosity_pa_s) * np.sqrt(-1j)
        drag = 1.0 / (1.0 - 2.0 / x * jve(1, x) / jve(0, x))  # scaled alike, so wide holes do not overflow
        rub = 0.5 * np.sqrt(2.0 * DENSITY_KG_M3 * viscosity_pa_s * omega)
    return np.asarray((1j * omega * DENSITY_KG_M3 * (t * drag + ends) + rub) / sheet.open_area)


def impedance(frequency_hz: npt.ArrayLike, sheet: Sheet, *, viscosity_pa_s: float = VISCOSITY_PA_S) -> Complex:
    """Pressure difference across a sheet over velocity [Pa s/m]: its mass beside its holes.

    Source: Newton for the limp mass; both feel the same pressure, so their velocities add.
    """
    mass = 1j * 2.0 * np.pi * np.asarray(frequency_hz, float) * sheet.mass_kg_m2
    if sheet.open_area <= 0.0:
        return np.asarray(mass)
    holes = hole_impedance(frequency_hz, sheet, viscosity_pa_s=viscosity_pa_s)
    return np.asarray(mass * holes / (mass + holes))


def passed(z: Complex) -> Complex:
    """Pressure behind a sheet over the pressure that arrives squarely [1], from its impedance [Pa s/m].

    Source: continuity of velocity, air on both sides; textbook, e.g. Fahy, Sound and Structural Vibration.
    """
    return np.asarray(1.0 / (1.0 + z / (2.0 * IMPEDANCE_PA_S_M)))


def thrown_back(z: Complex) -> Complex:
    """Reflected over arriving pressure [1], the same. Source: as `passed`; both add to 1."""
    return 1.0 - passed(z)


def loss_db(frequency_hz: npt.ArrayLike, sheet: Sheet, *, viscosity_pa_s: float = VISCOSITY_PA_S) -> Array:
    """Transmission loss at normal incidence [dB]. Source: -20 lg of `passed`."""
    return np.asarray(-20.0 * np.log10(np.abs(passed(impedance(frequency_hz, sheet, viscosity_pa_s=viscosity_pa_s)))))


def before_wall(frequency_hz: npt.ArrayLike, sheet: Sheet, *, gap_m: float, wall_absorption: npt.ArrayLike) -> Array:
    """Absorption coefficient in a diffuse field [1] of a cloth that hangs before a wall, the shape of `frequency_hz` [Hz].

    gap_m             wall to cloth [m]
    wall_absorption   of the wall behind [1], the same shape
    Source: cavity's input impedance with the wall's reflection sqrt(1 - absorption), phase nought; mean over directions by Paris's formula,
    integral of absorption x sin(2 theta) up to 78 degrees, as reverberation rooms are read (textbook, e.g. Kuttruff, Room Acoustics).
    """
    f = np.asarray(frequency_hz, float)[..., None]
    wall = np.sqrt(1.0 - np.clip(np.asarray(wall_absorption, float), 0.0, 1.0))[..., None]
    cosine, weight = _directions()
    turn = wall * np.exp(-2j * 2.0 * np.pi * f / SPEED_M_S * gap_m * cosine)
    air = IMPEDANCE_PA_S_M / cosine
    behind = air * (1.0 + turn) / (1.0 - turn + 1e-12)
    front = impedance(f, sheet) + behind
    taken = 1.0 - np.abs((front - air) / (front + air)) ** 2
    return np.asarray((taken * weight).sum(axis=-1) / weight.sum())


@cache
def _directions() -> tuple[Array, Array]:
    """Cosines of angles to 78 degrees, and what each counts in Paris's formula [1]."""
    nodes, weights = np.polynomial.legendre.leggauss(_ANGLES)
    theta = 0.5 * np.radians(78.0) * (nodes + 1.0)
    return np.cos(theta), weights * np.sin(2.0 * theta)


def before_wall_by_band(sheet: Sheet, *, gap_m: float, wall_absorption: Array) -> Array:
    """The same as a mean over each octave band (8,) [1], even in the logarithm of frequency; wall_absorption by band (8,) [1]."""
    steps = 2.0 ** ((np.arange(8) + 0.5) / 8.0 - 0.5)
    within = BANDS[:, None] * steps
    taken = before_wall(within, sheet, gap_m=gap_m, wall_absorption=np.repeat(wall_absorption[:, None], 8, axis=1))
    return np.asarray(taken.mean(axis=1))
