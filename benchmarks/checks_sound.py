"""Checks of sound: worked reverberation, a hole by finite differences, the air's table, image sources and rays."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfgain.simulate.sound.air import attenuation_db_m
from halfgain.simulate.sound.bands import SPEED_M_S
from halfgain.simulate.sound.cloth import Sheet, hole_impedance, hole_interaction, loss_db
from halfgain.simulate.sound.modes import modes
from halfgain.simulate.sound.reverberation import eyring, sabine

from benchmarks.check import Check
from tests.outside.sound_rays import batch_times
from tests.sound.test_air import EXACT_HZ
from tests.sound.test_cloth import hole_by_differences, hole_ends
from tests.sound.test_reverberation import AREA, SIZE, VOLUME


def sound() -> Iterator[Check]:
    """Reverberation, modes, cloth and air."""
    carpet = 20.0 * 0.14 + 65.0 * 0.05
    worked = "worked by hand with published coefficients (carpet 0.14, the rest 0.05)"
    yield Check(
        "room 5 x 4 x 2.5 m at 500 Hz: reverberation after Sabine, s", 1.330743, float(sabine(VOLUME, carpet)), 0.0, worked
    )
    yield Check("the same after Eyring, s", 1.282802, float(eyring(VOLUME, AREA, carpet)), 0.0, worked)
    times = batch_times(SIZE, (0.15,) * 6, 0.5, batches=4)
    time, error = float(times.mean()), float(times.std(ddof=1) / 2.0)
    low = float(eyring(VOLUME, AREA, 0.15 * AREA))
    high = low / (1.0 - 0.25 * -math.log(0.85))
    source = "pyroomacoustics, image sources and rays; limits: Eyring, and Kuttruff's spread of ways (from memory)"
    yield Check(
        "the same room, 0.15 everywhere, walls that scatter: simulated time, s", f"{low:.4f} to {high:.4f}", time, error, source
    )
    lowest = modes(5.0, 4.0, 2.5, 60.0).found[2].frequency_hz
    by_hand = 0.5 * SPEED_M_S * math.hypot(1.0 / 5.0, 1.0 / 4.0)
    yield Check("its third mode, Hz", by_hand, lowest, 0.0, "Rayleigh, c / 2 sqrt((1 / 5)^2 + (1 / 4)^2)")
    mass = 10.0 * math.log10(1.0 + (math.pi * 6000.0 * 0.4 / (1.204 * SPEED_M_S)) ** 2)
    yield Check(
        "closed cloth of 0.4 kg/m2: loss at 6 kHz, dB", mass, float(loss_db(6000.0, Sheet(0.4))), 0.0, "mass law, textbook"
    )
    sheet = Sheet(0.4, 0.045, 1.2, 0.35)
    inertance = "inertance beside the sheet's mass, worked apart"
    yield Check(
        "holes of 1.2 mm, 4.5 % open: loss at 8 kHz without friction, dB",
        5.608769,
        float(loss_db(8000.0, sheet, viscosity_pa_s=0.0)),
        0.0,
        inertance,
    )
    fine = Sheet(0.4, 0.05, 0.2, 1.0)
    expected = (
        1e-3 * hole_by_differences(1000.0, 0.2e-3) + hole_ends(1000.0, 0.2e-3, hole_interaction(0.88 * math.sqrt(0.2 / math.pi)))
    ) / 0.05
    found = complex(hole_impedance(1000.0, fine))
    differences = "equation of motion on rings of air, scipy"
    yield Check("hole of 0.2 mm in 1 mm, 5 % open: resistance at 1 kHz, Pa s/m", expected.real, found.real, 0.0, differences)
    yield Check("the same: reactance, Pa s/m", expected.imag, found.imag, 0.0, differences)
    air = 1000.0 * float(attenuation_db_m(EXACT_HZ[6], celsius=20.0, humidity=0.7))
    yield Check(
        "air of 20 degrees and 70 % at 4 kHz, dB/km", 22.9, air, 0.0, "ISO 9613-2:1996, table 2 (from memory; to a tenth)"
    )
