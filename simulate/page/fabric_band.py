"""What a fabric's gain and half-gain angle leave open: the band of its gain curve, and what that does at the seats."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.fabric import MEASURED, Fabric
from ..answers.answers import Answers
from ..choices.fabric_models import fabric_models
from ..output.drawing import FAINT, INK, figure_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_BAND, _OWN, _SEATS = "#a9cfcb", "#0f5c5c", "#c98a12"
_LARGEST_DEG = 80.0


@dataclass(frozen=True)
class Spread:
    """A figure at a seat, in its own unit: of the fabric as it is taken, and the least and greatest over all its models."""

    own: float
    least: float
    greatest: float


@dataclass(frozen=True)
class FabricBand:
    """A fabric and the models that share its numbers.

    models          names, the fabric's own first; one name: nothing is left open
    angle_deg       (n,) view angles, 0 to 80 [deg]
    own, least, greatest   (n,) gain there for light at normal incidence [1]: the fabric's own curve, ends over all models
    white_cd_m2     full white at the picture's centre, by seat [cd/m2]
    contrast        checkerboard in the dark, by seat [1]
    """

    fabric: Fabric
    models: tuple[str, ...]
    angle_deg: np.ndarray
    own: np.ndarray
    least: np.ndarray
    greatest: np.ndarray
    white_cd_m2: tuple[Spread, ...]
    contrast: tuple[Spread, ...]

    @property
    def open(self) -> bool:
        """True where more than one model meets what is stated of the fabric."""
        return len(self.models) > 1

    @property
    def stated(self) -> str:
        """What all the models share, in words."""
        if self.fabric.kind == MEASURED:
            return "measured curve"
        return "gain" if self.fabric.half_gain_deg is None else "gain and half-gain angle"


def fabric_band(answers: Answers, fabric: Fabric) -> FabricBand:
    """The band of a fabric in a room: gain curves [1], and figures at the seats. Source: `fabric_models`; one ledger for all models."""
    models = fabric_models(fabric)
    angle = np.linspace(0.0, _LARGEST_DEG, 161)
    curves = np.stack([model.profile.gain(np.radians(angle)) for _, model in models])
    quick = [answers.with_fabric(model).quick() for _, model in models]
    return FabricBand(
        fabric,
        tuple(name for name, _ in models),
        angle,
        curves[0],
        curves.min(axis=0),
        curves.max(axis=0),
        _spreads([each.white[0] for each in quick]),
        _spreads([each.checkerboard[0] for each in quick]),
    )


def _spreads(values: Sequence[np.ndarray]) -> tuple[Spread, ...]:
    every = np.stack(values)
    return tuple(Spread(float(every[0, i]), float(every[:, i].min()), float(every[:, i].max())) for i in range(every.shape[1]))


def band_figure(band: FabricBand, seats_deg: Sequence[float]) -> Figure:
    """Gain against view angle: the curve that was taken, the band of all models, and where the seats lie.

    seats_deg  angle of each seat off the lobe's axis at the picture's middle [degrees]; those beyond 80 are left out
    """
    figure = figure_of(5.4, 3.6)
    axes = figure.add_axes((0.12, 0.15, 0.85, 0.82))
    axes.fill_between(band.angle_deg, band.least, band.greatest, color=_BAND, lw=0, label=f"all models with this {band.stated}")
    axes.plot(band.angle_deg, band.own, color=_OWN, lw=2.2, label="the curve taken here")
    half = band.fabric.half_gain_deg
    if half is not None:
        axes.plot(half, 0.5 * band.fabric.gain, marker="o", ms=7, color=INK, ls="none", label="half-gain angle")
    top = 1.12 * float(band.greatest.max())
    inside = [angle for angle in seats_deg if angle <= _LARGEST_DEG]
    if inside:
        at = np.interp(inside, band.angle_deg, band.own)
        axes.plot(inside, at, marker="v", ms=8, color=_SEATS, mec=INK, mew=0.8, ls="none", label="the seats")
    axes.set_xlim(0, _LARGEST_DEG)
    axes.set_ylim(0, top)
    axes.set_xlabel("angle off the lobe's axis [degrees]", fontsize=11, color=INK)
    axes.set_ylabel("gain", fontsize=11, color=INK)
    axes.tick_params(labelsize=10)
    axes.grid(color=FAINT, lw=0.8)
    axes.set_axisbelow(True)
    axes.legend(fontsize=10, loc="best", framealpha=0.9, edgecolor=FAINT)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return figure


def lobe_angles_deg(found: Sequence[float | None]) -> list[float]:
    """Sizes of those angles [deg] that are numbers; None stands for a fabric without a lobe."""
    return [abs(angle) for angle in found if angle is not None and math.isfinite(angle)]
