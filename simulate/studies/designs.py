"""Where in the unit cube a design draws its samples: one row a sample, one column a factor."""

from __future__ import annotations

import warnings
from typing import Literal

import numpy as np

Method = Literal["latin hypercube", "sobol", "sobol indices", "random"]
METHODS: tuple[Method, ...] = ("latin hypercube", "sobol", "sobol indices", "random")
MOST_SOBOL = 1000  # columns; the tables of direction numbers hold 21201, far beyond what anyone studies


def unit_points(method: Method, samples: int, factors: int, seed: int) -> np.ndarray:
    """Samples in the unit cube (n, factors) [1].

    samples  of the design; "sobol indices" makes samples x (factors + 2) rows of them: A, B, then A with each column from B
    seed     the same one gives the same points
    raises   ValueError for another method
    Source: McKay, Beckman and Conover 1979 (Latin hypercube), Sobol' 1967 with Owen's scrambling (scipy.stats.qmc); rows of the
    indices' design: Saltelli et al. 2010, Comput. Phys. Commun. 181(2), table 2.
    """
    if factors == 0:
        return np.zeros((1, 0))
    from scipy.stats import qmc  # a second to load, so only where something is drawn

    random = np.random.default_rng(seed)
    if method == "latin hypercube":
        return qmc.LatinHypercube(d=factors, seed=random).random(samples)
    if method == "random":
        return random.random((samples, factors))
    if method not in METHODS:
        raise ValueError(f"no design is called {method}; allowed {', '.join(METHODS)}")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # samples that are no power of two: refused where a study is read
        columns = factors if method == "sobol" else 2 * factors
        points = qmc.Sobol(d=columns, scramble=True, seed=random).random(samples)
    return points if method == "sobol" else _mixed(points[:, :factors], points[:, factors:])


def _mixed(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """A, B, and for each column A with that column from B, one below the other."""
    blocks = [a, b]
    for column in range(a.shape[1]):
        mixed = a.copy()
        mixed[:, column] = b[:, column]
        blocks.append(mixed)
    return np.concatenate(blocks)
