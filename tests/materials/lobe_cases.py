"""One fabric for each lobe family, and the directions and even sums that the tests of all families share."""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from halfgain.materials.fabric import Fabric
from halfgain.materials.kernels.jit import kernel
from halfgain.materials.lobes.brdf import fabric_density, fabric_sample, fabric_value
from halfgain.materials.lobes.groove_table import Groove
from halfgain.materials.lobes.measured import MeasuredCurve, MeasuredLobe
from halfgain.materials.lobes.profile import MIRROR, SOURCE, Lobe, Profile, cosine_power, ledge, standard, table_top
from halfgain.materials.lobes.shapes import EllipticLobe, GrooveLobe, HalfVectorLobe, HoleLobe, RoughLobe
from halfgain.materials.solving.solve import fabric_from_pair
from scipy.stats import chi2

DEGREE = math.pi / 180.0


def as_fabric(profile: Profile, axis: int = MIRROR, scale: float | None = None) -> Fabric:
    """A fabric made of a profile directly, so that each lobe family is tested for itself."""
    solid = profile.scaled(scale if scale is not None else 0.9 / profile.albedo, axis)
    values = {**_diffuse().__dict__, "base_gain": solid.base, "lobes": solid.lobes, "albedo": solid.albedo}
    return Fabric(**values)


@cache
def _diffuse() -> Fabric:
    return fabric_from_pair(name="x", gain=0.9)


CURVE = MeasuredCurve((0.0, 5.0, 12.0, 20.0, 35.0, 50.0, 70.0), (1.6, 1.5, 1.1, 0.8, 0.5, 0.4, 0.33))
HUMP = MeasuredCurve((0.0, 10.0, 20.0, 40.0, 90.0), (0.8, 1.0, 0.9, 0.5, 0.6))

PROFILES = {
    "diffuse": Profile(0.9, ()),
    "gaussian": standard(25 * DEGREE, 0.0),
    "wide gaussian": standard(80 * DEGREE, 0.0),
    "base and gaussian": standard(30 * DEGREE, 0.4),
    "gaussian, entrance fall-off": Profile(0.1, (Lobe("gaussian", 1.0, (0.3,), fall=2.0),)),
    "cosine-power": cosine_power(30 * DEGREE),
    "flat cosine-power": cosine_power(85 * DEGREE),
    "ledge": ledge(35 * DEGREE, 0.2),
    "wide ledge": ledge(80 * DEGREE, 0.2),
    "table top": table_top(40 * DEGREE, 0.5),
    "measured": Profile(CURVE.tail, (MeasuredLobe(1.6 - CURVE.tail, CURVE),)),
    "measured, humped": Profile(HUMP.tail, (MeasuredLobe(0.8 - HUMP.tail, HUMP),)),
    "ggx": Profile(0.2, (HalfVectorLobe(2.0, 0.3, 0.3),)),
    "narrow ggx": Profile(0.0, (HalfVectorLobe(2.0, 0.1, 0.1),)),
    "elliptic ggx": Profile(0.2, (HalfVectorLobe(2.0, 0.45, 0.15),)),
    "elliptic": Profile(0.2, (EllipticLobe(1.0, 0.5, 0.15),)),
    "wide elliptic": Profile(0.0, (EllipticLobe(1.0, 0.9, 0.6),)),
    "rough": Profile(0.0, (RoughLobe(0.8, 0.25),)),
    "rough, single fraction": Profile(0.0, (RoughLobe(0.8, 0.35, 1.0),)),
    "holes": Profile(0.2, (HoleLobe(0.3, 0.4),)),
    "weave": Profile(0.2, (HoleLobe(0.3, 0.0, 0.5, 0.6),)),
    "louvred": Profile(0.0, (GrooveLobe(1.0, Groove(30, 60, 0.05, 0.8)),)),
    "louvred, turned, white": Profile(0.0, (GrooveLobe(1.0, Groove(40, 50, 0.9, 0.9, 30.0)),)),
}
UNSCALED = ("louvred", "louvred, turned, white")
ONE_AXIS = ("diffuse", "rough", "rough, single fraction", "holes", "weave", *UNSCALED)
CASES = [(name, axis) for name in PROFILES for axis in ((MIRROR,) if name in ONE_AXIS else (MIRROR, SOURCE))]


@cache
def case(name: str, axis: int = MIRROR) -> Fabric:
    """The fabric of a case, scaled to an albedo of 0.9 where it may be."""
    return as_fabric(PROFILES[name], axis, 1.0 if name in UNSCALED else None)


LIGHTS = {
    angle: (math.sin(angle * DEGREE) * 0.8, math.sin(angle * DEGREE) * -0.6, math.cos(angle * DEGREE))
    for angle in (0, 35, 70, 85)
}


@kernel
def _fill_draws(fabric, wi, uniforms, out):
    for i in range(uniforms.shape[0]):
        wo, weight = fabric_sample(fabric, wi, uniforms[i, 0], uniforms[i, 1], uniforms[i, 2])
        out[i, 0], out[i, 1], out[i, 2], out[i, 3] = wo[0], wo[1], wo[2], weight


def draw(fabric, wi, uniforms):
    """Directions of the sampler and their weights, (n, 4), from uniform numbers (n, 3)."""
    out = np.empty((len(uniforms), 4))
    _fill_draws(fabric, wi, uniforms, out)
    return out


def _turns(count):
    """Cosines and sines of even steps of a whole turn, from the middle of the first."""
    turn = 2.0 * math.pi * (np.arange(count) + 0.5) / count
    return np.array([np.cos(turn), np.sin(turn)])


@kernel
def _fill_density(fabric, wi, turns, low_z, fine_z, cell, out):
    bins_z, bins_turn = out.shape
    count = turns.shape[1]
    for i in range(bins_z * fine_z):
        z = low_z + (1.0 - low_z) * (i + 0.5) / (bins_z * fine_z)
        side = math.sqrt(1.0 - z * z)
        for j in range(count):
            wo = (side * turns[0, j], side * turns[1, j], z)
            out[i // fine_z, j // (count // bins_turn)] += fabric_density(fabric, wi, wo) * cell


def density_in_bins(fabric, wi, bins_z, bins_turn, fine_z, fine, low_z):
    """Probability of each bin of equal solid angle by a midpoint rule, finer in z, which a lobe's edge may follow."""
    out = np.zeros((bins_z, bins_turn))
    cell = (1.0 - low_z) / (bins_z * fine_z) * 2.0 * math.pi / (bins_turn * fine)
    _fill_density(fabric, wi, _turns(bins_turn * fine), low_z, fine_z, cell, out)
    return out


@kernel
def _sum_of_values(fabric, wi, sines, turns):
    total = 0.0
    for side in sines:
        z = math.sqrt(1.0 - side * side)
        for j in range(turns.shape[1]):
            total += 2.0 * side * fabric_value(fabric, wi, (side * turns[0, j], side * turns[1, j], z))
    return total


def brute_albedo(fabric, wi, count, turns=None):
    """Albedo by a midpoint rule in `count` sines and as many or other turns of the eye: no knowledge of the lobe's axis."""
    turns = turns or count
    return math.pi * _sum_of_values(fabric, wi, (np.arange(count) + 0.5) / count, _turns(turns)) / (count * turns)


LEAST_P, DRAWN = 1e-4, 100_000


class Sampled(NamedTuple):
    """What DRAWN draws of a sampler are like, against its density.

    p     odds of a worse fit [1];  rare   seen and expected number in the pooled rare bins, where too few for the law
    mean, error, most   of the weights [1]: their mean, its standard error, the greatest
    """

    p: float
    rare: tuple[float, float] | None
    lengths_are_one: bool
    weightless_below: bool
    mean: float
    error: float
    most: float


@cache
def _uniforms():
    return np.random.default_rng(7).random((DRAWN, 3))


@cache
def sampled(name: str, axis: int, angle_deg: int) -> Sampled:
    """DRAWN draws of a case's sampler, by Pearson's chi-square against its density; light from LIGHTS[angle_deg]."""
    arrays, wi = case(name, axis).arrays(), LIGHTS[angle_deg]
    drawn = draw(arrays, wi, _uniforms())
    below = drawn[:, 2] <= 0.0
    z_bin = np.minimum((drawn[~below, 2] * 10).astype(int), 9)
    turn = np.arctan2(drawn[~below, 1], drawn[~below, 0]) % (2.0 * math.pi)
    turn_bin = np.minimum((turn / (2.0 * math.pi) * 16).astype(int), 15)
    observed = np.bincount(16 * z_bin + turn_bin, minlength=160).astype(float)
    fine_z, fine = (400, 60) if "ggx" in name and angle_deg == 85 else (120, 8)
    expected = density_in_bins(arrays, wi, 10, 16, fine_z, fine, 0.0) * DRAWN
    seen = np.append(observed, below.sum())
    hoped = np.append(expected.ravel(), max(0.0, DRAWN - expected.sum()))
    few = hoped < 20.0  # Cochran's rule: pool what is too rare for the chi-square law
    seen = np.append(seen[~few], seen[few].sum())
    hoped = np.append(hoped[~few], hoped[few].sum())
    rare = None
    if hoped[-1] < 20.0:
        rare = (float(seen[-1]), float(hoped[-1]))
        seen, hoped = seen[:-1], hoped[:-1]
    return Sampled(
        float(chi2.sf(np.sum((seen - hoped) ** 2 / hoped), len(seen) - 1)),
        rare,
        bool(np.abs(np.einsum("ij,ij->i", drawn[:, :3], drawn[:, :3]) - 1.0).max() < 2e-12),  # of the square
        bool(np.all(drawn[below, 3] == 0.0)),
        float(drawn[:, 3].mean()),
        float(drawn[:, 3].std() / math.sqrt(DRAWN)),
        float(drawn[:, 3].max()),
    )
