"""Expected values: physics notes 5.1 and 5.7, derived there from dF = dA / (4 pi R^2), computed in double precision."""

import numpy as np
import pytest

from .spherical_room import integrating_sphere_lx, spherical_room

TABLE = [
    (0.05, 0.0814446, 8.0628024, 53.190798, -0.0487470),
    (0.20, 0.2258956, 9.5673532, 45.347680, -0.2325172),
    (0.50, 0.5147975, 15.2639981, 29.265055, -0.9313475),
]


@pytest.mark.parametrize(("rho_wall", "mean", "induced", "contrast", "elasticity"), TABLE)
def test_spherical_room_has_the_tabulated_answers(
    rho_wall: float, mean: float, induced: float, contrast: float, elasticity: float
) -> None:
    room = spherical_room(2.2, 2.25, 0.9, rho_wall, 1000, 1000)
    assert room.mean_reflectance == pytest.approx(mean, abs=6e-8)
    assert room.induced_lx == pytest.approx(induced, abs=6e-8)
    assert room.contrast == pytest.approx(contrast, abs=6e-7)
    assert room.wall_elasticity == pytest.approx(elasticity, abs=6e-8)


@pytest.mark.parametrize("rho_wall", [0.05, 0.2, 0.5])
def test_elasticity_is_the_slope_of_the_contrast(rho_wall: float) -> None:
    """Central difference, the definition of d ln C / d ln rho."""
    step = 1e-4
    low, high = (spherical_room(2.2, 2.25, 0.9, rho_wall * np.exp(s), 1000, 1000) for s in (-step, step))
    slope = (np.log(high.contrast) - np.log(low.contrast)) / (2 * step)
    assert spherical_room(2.2, 2.25, 0.9, rho_wall, 1000, 1000).wall_elasticity == pytest.approx(slope, abs=1e-7)


def test_absorbed_light_equals_emitted_light() -> None:
    """Energy: what the lit screen sends out is absorbed by the sphere's area at (1 - mean reflectance)."""
    room = spherical_room(1.7, 3.0, 0.8, 0.35, 1500, 2000)
    sent = 0.8 * 1500 / 2 * (1 + 1 / 2000)
    area = 4 * np.pi * 1.7**2
    assert room.induced_lx * area * (1 - room.mean_reflectance) == pytest.approx(sent, rel=1e-13)


def test_integrating_sphere() -> None:
    assert integrating_sphere_lx(radius_m=2, rho=0.8, flux_lm=1000) == pytest.approx(79.5774715459, abs=6e-11)
    multipliers = [integrating_sphere_lx(radius_m=1, rho=r, flux_lm=4 * np.pi) for r in (0.1, 0.5, 0.8, 0.9)]
    assert multipliers == pytest.approx([1 / 9, 1, 4, 9], rel=1e-12)


@pytest.mark.parametrize("wrong", [(1.0, 13.0, 0.9, 0.5), (1.0, 1.0, 1.1, 0.5), (1.0, 1.0, 0.9, -0.1)])
def test_impossible_spheres_are_refused(wrong: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="must lie in"):
        spherical_room(*wrong, 1000, 1000)
