"""Holes in a screen: how much is open, what passes at an angle, what comes back, and how they beat with the pixels."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from ..dataclass import dataclass
from ..text.word import check_word

Array = npt.NDArray[np.float64]

HEX, SQUARE, WOVEN = "hexagonal", "square", "woven"
LATTICES = (HEX, SQUARE, WOVEN)
BACK_REFLECTANCE = 0.6  # of the sheet's back, seen from behind (common practice, no source)


@dataclass(frozen=True)
class Perforation:
    """Round holes on a lattice, or the gaps of a weave.

    lattice      hexagonal | square | woven
    pitch_mm     from hole to nearest hole, or from thread to thread [mm]
    size_mm      diameter of a hole, or of a thread [mm], below the pitch
    depth_mm     thickness of the sheet [mm]; 0: not known, no loss on the holes' walls
    raises       UnknownWord for another lattice
    """

    lattice: str
    pitch_mm: float
    size_mm: float
    depth_mm: float = 0.0

    def __post_init__(self) -> None:
        check_word("lattice", self.lattice, LATTICES)

    @property
    def open_area(self) -> float:
        """Share of holes [1]. Source: pi d^2 / (2 sqrt3 p^2), pi d^2 / 4 p^2, (1 - e / p)^2: elementary geometry."""
        ratio = self.size_mm / self.pitch_mm
        if self.lattice == HEX:
            return math.pi * ratio**2 / (2.0 * math.sqrt(3.0))
        return math.pi * ratio**2 / 4.0 if self.lattice == SQUARE else (1.0 - ratio) ** 2

    @property
    def kernel_numbers(self) -> tuple[float, float, float]:
        """depth / diameter of round holes, thread / pitch right and up [1], 0 where there is none; see sheet.open_share."""
        if self.lattice == WOVEN:
            return 0.0, self.size_mm / self.pitch_mm, self.size_mm / self.pitch_mm
        return self.depth_mm / self.size_mm, 0.0, 0.0

    def transmittance(self, incidence_deg: npt.ArrayLike, azimuth_deg: npt.ArrayLike = 0.0) -> Array:
        """Share of light that goes straight through [1] at an incidence [deg]; azimuth from the right [deg] (weaves only).

        Source: `open_share`; what meets a hole's wall is counted lost.
        """
        return self.open_area * open_share(np.radians(incidence_deg), np.radians(azimuth_deg), *self.kernel_numbers)


def open_share(view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike, depth: float, thread_right: float, thread_up: float) -> Array:
    """Straight-through share of the holes' light relative to the normal [1], any shapes that broadcast.

    view_rad, azimuth_rad            from the normal, and from the right [rad]
    depth, thread_right, thread_up   as Perforation.kernel_numbers [1]
    Source: sheet.open_share, the same formula.
    """
    t, p = np.broadcast_arrays(np.asarray(view_rad, float), np.asarray(azimuth_rad, float))
    tangent = np.tan(np.minimum(t, 0.5 * math.pi - 1e-12))
    if thread_right > 0.0 or thread_up > 0.0:
        right = np.maximum(0.0, 1.0 - thread_right * np.hypot(1.0, tangent * np.cos(p))) / (1.0 - thread_right)
        up = np.maximum(0.0, 1.0 - thread_up * np.hypot(1.0, tangent * np.sin(p))) / (1.0 - thread_up)
        share = right * up
    else:
        x = np.minimum(1.0, depth * tangent)
        share = 2.0 / math.pi * (np.arccos(x) - x * np.sqrt(1.0 - x * x))
    return np.where(t < 0.5 * math.pi, share, 0.0)


def returned_gain(*, open_area: float, behind_reflectance: float, back_reflectance: float = BACK_REFLECTANCE) -> float:
    """Gain of the light that comes back through the holes, along the normal [1].

    open_area           T, share of holes [1]
    behind_reflectance  rc, what the space behind gives back, diffusely [1]
    back_reflectance    rb, of the sheet's back [1]
    Source: T^2 rc (1 + x + x^2 + ...), x = rc rb (1 - T): light to and fro behind the sheet; derived here.
    """
    t = open_area
    return t * t * behind_reflectance / (1.0 - behind_reflectance * back_reflectance * (1.0 - t))


def arc_minutes(*, size_mm: float, distance_m: float) -> float:
    """Angle that a small size fills at a distance ['], seen squarely. Source: definition of the angle."""
    return math.degrees(2.0 * math.atan(0.5 * size_mm / (1000.0 * distance_m))) * 60.0


@dataclass(frozen=True)
class Moire:
    """How the holes beat with the pixels.

    pitch_ratio      hole pitch over pixel pitch [1]
    order_holes, order_pixels   the nearest whole ratio: so many holes stand about as wide as so many pixels
    beat_mm          period of the beat on the screen [mm]; infinite where both agree exactly
    pitch_arcmin, pixel_arcmin, beat_arcmin   the same as seen from the seat [']
    words            what to expect, one sentence
    """

    pitch_ratio: float
    order_holes: int
    order_pixels: int
    beat_mm: float
    pitch_arcmin: float
    pixel_arcmin: float
    beat_arcmin: float
    words: str


EYE_ARCMIN = 1.0  # what the eye resolves (from memory: visual acuity 1.0)
FINE_RATIO = 0.5  # holes this far below the pixels are averaged within each (common practice, no source)


def moire(*, pitch_mm: float, pixel_mm: float, distance_m: float, what: str = "holes") -> Moire:
    """Beat between holes and pixels, both along one axis, seen from `distance_m` away.

    pitch_mm, pixel_mm  period of the holes and of the pixels on the screen [mm];  distance_m  of the seat [m]
    what                "holes" or "threads", for the words
    Source: two gratings of frequency m / p and k / q beat at |m / p - k / q|; of the orders up to 3 (of small holes, whose
    overtones are strong, up to the pitch in pixels) the one whose beat is slowest is told. That 1:1 beats are seen first, and
    that a weave turned by 10 to 15 degrees hides them: common practice, no source.
    """
    most = max(3, math.ceil(pitch_mm / pixel_mm))
    found = min(
        (abs(m / pitch_mm - k / pixel_mm), m + k, k, m) for m in range(1, most + 1) for k in (1, 2, 3) if math.gcd(m, k) == 1
    )
    frequency, _, holes, pixels = found
    beat = 1.0 / frequency if frequency > 1e-12 else math.inf
    ratio = pitch_mm / pixel_mm
    beat_arcmin = arc_minutes(size_mm=beat, distance_m=distance_m) if math.isfinite(beat) else math.inf
    pitch_arcmin = arc_minutes(size_mm=pitch_mm, distance_m=distance_m)
    seen = "finer than the eye resolves" if pitch_arcmin < EYE_ARCMIN else "as wide as the eye resolves or wider"
    if ratio <= FINE_RATIO:
        words = f"{what} {seen}; at {ratio:.2f} of a pixel each pixel averages several: little moire to expect"
    elif not math.isfinite(beat):
        words = f"{what} {seen}; {holes} {what} are exactly as wide as {pixels} pixels: no bands, until the zoom is touched"
    elif beat_arcmin < 2.0 * EYE_ARCMIN:
        words = f"{what} {seen}; the beat with the pixels is finer than the eye resolves"
    else:
        finer = "finer holes, or a sheet" if what == "holes" else "a finer weave, or one"
        words = (
            f"{what} {seen}; they beat with the pixels every {beat:.3g} mm ({beat_arcmin:.2g} arc minutes): "
            f"{finer} turned by 10 to 15 degrees, hide it (common practice, no source)"
        )
    return Moire(
        ratio, holes, pixels, beat, pitch_arcmin, arc_minutes(size_mm=pixel_mm, distance_m=distance_m), beat_arcmin, words
    )
