"""What air takes from sound, against published tables."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.sound.air import attenuation_db_m, energy_loss_per_m

EXACT_HZ = 1000.0 * 10.0 ** (0.3 * np.arange(-4, 4))  # octave mid-bands, base ten


@pytest.mark.parametrize(
    ("celsius", "humidity", "db_km"),
    [
        (10.0, 0.7, (0.1, 0.4, 1.0, 1.9, 3.7, 9.7, 32.8, 117.0)),
        (20.0, 0.7, (0.1, 0.3, 1.1, 2.8, 5.0, 9.0, 22.9, 76.6)),
        (30.0, 0.7, (0.1, 0.3, 1.0, 3.1, 7.4, 12.7, 23.1, 59.3)),
        (15.0, 0.5, (0.1, 0.5, 1.2, 2.2, 4.2, 10.8, 36.2, 129.0)),
        (15.0, 0.8, (0.1, 0.3, 1.1, 2.4, 4.1, 8.3, 23.7, 82.8)),
    ],
)
def test_attenuation_against_the_outdoor_table(celsius: float, humidity: float, db_km: tuple[float, ...]) -> None:
    """Source: ISO 9613-2:1996, table 2 (from memory), given to a tenth of a dB/km, three digits;
    the standard's constants have four digits, so a thousandth more is left for them."""
    found = 1000.0 * attenuation_db_m(EXACT_HZ, celsius=celsius, humidity=humidity)
    for got, expected in zip(found, db_km, strict=True):
        rounding = 0.5 if expected > 100.0 else 0.05
        assert abs(got - expected) <= rounding + 1e-3 * expected


@pytest.mark.parametrize(
    ("humidity", "per_km"),
    [(0.4, (0.60, 1.07, 2.58, 8.40, 30.00)), (0.5, (0.63, 1.08, 2.28, 6.84, 24.29)), (0.6, (0.64, 1.11, 2.14, 5.91, 20.52))],
)
def test_energy_loss_against_the_room_acoustics_table(humidity: float, per_km: tuple[float, ...]) -> None:
    """Source: Kuttruff, Room Acoustics, table of m at 20 degrees, 500 Hz to 8 kHz (from memory), three digits."""
    found = 1000.0 * energy_loss_per_m(np.array([500.0, 1000.0, 2000.0, 4000.0, 8000.0]), humidity=humidity)
    assert found == pytest.approx(per_km, rel=0.01)
