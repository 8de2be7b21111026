"""Reverberation of a box by image sources and rays, with an independent library; it imports nothing of this project."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

SOURCE_M = [1.1, 1.3, 1.2]
PLACES_M = [[3.9, 2.9, 1.6], [2.2, 3.1, 1.0], [4.1, 1.2, 1.4]]


def batch_times(size: NDArray[np.float64], six: tuple[float, ...], scattering: float, *, batches: int) -> NDArray[np.float64]:
    """Mean reverberation time [s] over three places by image sources and rays, one seed a batch (batches,).

    size   (3,) [m];  six   absorption of west, east, south, north, floor, ceiling
    Source: pyroomacoustics, one broad band, T30; its threads share no random numbers, so a seed fixes the result.
    """
    import pyroomacoustics as pra
    from pyroomacoustics.experimental.rt60 import measure_rt60

    names = ("west", "east", "south", "north", "floor", "ceiling")
    found = []
    for seed in range(batches):
        pra.random.seed(seed)
        walls = {name: pra.Material(value, scattering) for name, value in zip(names, six, strict=True)}
        room = pra.ShoeBox(size, fs=8000, materials=walls, max_order=6, ray_tracing=True, air_absorption=False)
        room.set_ray_tracing(n_rays=6000, receiver_radius=0.3)
        room.add_source(SOURCE_M)
        room.add_microphone(np.array(PLACES_M).T)
        room.compute_rir()
        found.append(np.mean([measure_rt60(room.rir[i][0], fs=8000, decay_db=30) for i in range(len(PLACES_M))]))
    return np.array(found)
