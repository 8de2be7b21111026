"""What the air of the room takes from sound on its way."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

ROOM_CELSIUS, ROOM_HUMIDITY = 20.0, 0.5


def attenuation_db_m(
    frequency_hz: npt.ArrayLike, *, celsius: float = ROOM_CELSIUS, humidity: float = ROOM_HUMIDITY, pressure_kpa: float = 101.325
) -> Array:
    """Attenuation of pure tones in air [dB/m], the shape of `frequency_hz` [Hz].

    celsius       -20 to 50 [degrees];  humidity  relative, 0.1 to 1 [1];  pressure_kpa  of the air [kPa]
    Source: ISO 9613-1:1993, equations 3 to 5 and annex B: classical and rotational losses, and the relaxation of oxygen and nitrogen.
    """
    f = np.asarray(frequency_hz, float)
    kelvin = celsius + 273.15
    pressure, warmth = pressure_kpa / 101.325, kelvin / 293.15
    vapour = 10.0 ** (-6.8346 * (273.16 / kelvin) ** 1.261 + 4.6151)
    h = 100.0 * humidity * vapour / pressure  # molar concentration of water [%]
    oxygen = pressure * (24.0 + 4.04e4 * h * (0.02 + h) / (0.391 + h))  # relaxation frequencies [Hz]
    nitrogen = pressure * warmth**-0.5 * (9.0 + 280.0 * h * math.exp(-4.170 * (warmth ** (-1.0 / 3.0) - 1.0)))
    relaxing = 0.01275 * math.exp(-2239.1 / kelvin) / (oxygen + f**2 / oxygen)
    relaxing = relaxing + 0.1068 * math.exp(-3352.0 / kelvin) / (nitrogen + f**2 / nitrogen)
    return np.asarray(8.686 * f**2 * (1.84e-11 / pressure * warmth**0.5 + warmth**-2.5 * relaxing))


def energy_loss_per_m(frequency_hz: npt.ArrayLike, *, celsius: float = ROOM_CELSIUS, humidity: float = ROOM_HUMIDITY) -> Array:
    """m of sound energy, exp(-m x) [1/m]. Source: `attenuation_db_m`; 10 lg exp(-m x) = -a x, definition of the decibel."""
    return attenuation_db_m(frequency_hz, celsius=celsius, humidity=humidity) * math.log(10.0) / 10.0
