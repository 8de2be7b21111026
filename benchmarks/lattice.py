"""How the generating vector of light/numbers.py was found: component by component, good for every number of paths at once.

    python -m benchmarks.lattice

Prints the vectors of several weights and starts of the search, each with the error of the room's light that it leaves (rms over nine
points, two rooms and all numbers of paths, geometric mean) [%]. It takes some minutes.
"""

from __future__ import annotations

from itertools import product

import numpy as np

DIMENSIONS, BITS = 16, range(4, 13)
CANDIDATES, LARGEST = 256, 1 << 16
PATHS = (16, 32, 64, 128, 256, 512, 1024)


def weights(fall: float, whole: float) -> list[float]:
    """What each dimension counts [1]: a direction's two numbers alike, those of later directions by `fall` less, the length a third."""
    later = [0.8 * fall**k for k in range(7)]
    return [whole * each for each in (1.0, 1.0, 0.3, *np.repeat(later, 2))][:DIMENSIONS]


def candidates(start: int, dimension: int) -> np.ndarray:
    """Odd numbers below LARGEST to choose a component from, another set for each start and dimension. Source: multiplicative hash."""
    index = np.arange(CANDIDATES, dtype=np.uint64) + np.uint64(CANDIDATES * (DIMENSIONS * start + dimension))
    return ((index * np.uint64(0x9E3779B97F4A7C15)) >> np.uint64(48)).astype(np.int64) | 1


def found(weight: list[float], start: int) -> list[int]:
    """Generating vector (DIMENSIONS,), odd numbers below LARGEST.

    Each component is that of the candidates whose largest worst-case error, over what the best candidate leaves at each of the sizes
    2^BITS, is smallest, in the weighted Korobov space of smoothness 1, each dimension alone left out.
    Source: Cools, Kuo and Nuyens, SIAM J. Sci. Comput. 28, 2162 (2006); the kernel is that of Sloan and Woźniakowski.
    """
    vector, sizes = [1], [1 << bits for bits in BITS]
    kernels = []
    for n in sizes:
        x = np.arange(n) / n
        kernels.append(2.0 * np.pi**2 * (x * x - x + 1.0 / 6.0))
    products = [1.0 + weight[0] * kernel for kernel in kernels]
    for dimension in range(1, len(weight)):
        some = candidates(start, dimension)
        errors = np.empty((len(sizes), len(some)))
        for i, n in enumerate(sizes):
            index = np.arange(n)
            for j, step in enumerate(some % n):
                errors[i, j] = products[i] @ (1.0 + weight[dimension] * kernels[i][index * step % n]) / n - 1.0
            errors[i] -= sum(weight[: dimension + 1]) * kernels[i].mean()  # each dimension alone is alike for all
        best = int(some[int((errors / errors.min(axis=1, keepdims=True)).max(axis=0).argmin())])
        vector.append(best)
        for i, n in enumerate(sizes):
            products[i] = products[i] * (1.0 + weight[dimension] * kernels[i][np.arange(n) * (best % n) % n])
    return vector


def main() -> None:
    from halfgain.simulate.light import numbers
    from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

    from . import speed

    rooms = []
    for title in ("empty room", "furnished room"):
        arrays = speed.rooms()[title]
        ready = prepare(arrays, speed.nine(measuring_points(arrays)), cells=24)
        rooms.append((ready, speed.returned(traced_sums(ready, seed=77, low_path=0, paths=8192, replications=32), 8192)))
    for fall, whole, start in product((0.6, 0.75, 0.9), (0.1, 0.3, 1.0), range(6)):
        vector = found(weights(fall, whole), start)
        numbers.VECTOR = np.array(vector, np.uint32)
        numbers.VECTOR.flags.writeable = False
        left = []
        for (ready, exact), paths in product(rooms, PATHS):
            sums = traced_sums(ready, seed=31, low_path=0, paths=paths, replications=6144 // max(paths, 64))
            values = sums[:, :, 0, :, 0, 0].sum(axis=2) / paths
            left.append(100.0 * float(np.sqrt(np.mean((values / exact - 1.0) ** 2))))
        mean = float(np.exp(np.mean(np.log(left))))
        print(f"{mean:.3f} % with fall {fall}, whole {whole}, start {start}: {vector} {np.round(left, 2).tolist()}", flush=True)


if __name__ == "__main__":
    main()
