"""A repaint: the production walk with all that no repaint changes put in beforehand.

With pooling, paths share what they find beyond their first hits, which takes most of the noise from readings point by point. What
is a mean over points gains little, and what must be a polynomial in the reflectances, path by path, has each path for itself.
"""

from __future__ import annotations

import numpy as np

from ...materials.kernels.jit import kernel
from ..light import workers
from ..light.ledger import STEP
from ..light.pool import fit_all, pooled, remember, scratch, terms_at
from .throughputs import Throughputs

KINDS = 4  # white and checkerboard, then what extrapolating the map changed of each


@kernel
def light_from(facts, path, after, reflectance, found):
    """What a path's hits from number `after` on send back along it [cd/m2] into found (4, C); after as in light.along_path.gather_path.

    reflectance  (surfaces, C) [1], the screen's row its tint
    Source: light.along_path.gather_path with all that no repaint changes taken out.
    """
    last = facts.light.shape[0] - 1
    first = facts.first[path]
    for c in range(reflectance.shape[1]):
        light = facts.light[min(c, last)]
        through = 1.0
        a, b, d, e = 0.0, 0.0, 0.0, 0.0
        for i in range(first + after, first + facts.hits[path]):
            through *= reflectance[facts.surface[i], c] * facts.bounce[i]
            a += through * light[i, 0]
            b += through * light[i, 1]
            d += through * light[i, 2]
            e += through * light[i, 3]
        found[0, c], found[1, c], found[2, c], found[3, c] = a, b, d, e


@kernel
def repaint_replications(facts, starts, reflectance, sums, found, pool, low, high):
    """Add the paths of replications low .. high - 1 into sums (cells, T, surfaces, 4, C), luminance [cd/m2] times paths.

    starts  their number;  reflectance (surfaces, C) [1], the screen's row its tint;  found (4, C) and pool   scratch
    Source: light.walk.walk_replications.
    """
    square, side, lower, simpler, terms = pool
    last = facts.light.shape[0] - 1
    together = square.shape[0] > 0
    for replication in range(low, high):
        cells = range(replication * starts, (replication + 1) * starts)
        if together:
            square[:] = 0.0
            side[:] = 0.0
            for path in range(cells.start * facts.paths[0], cells.stop * facts.paths[0]):
                if facts.onto[path] >= 0:
                    light_from(facts, path, 1, reflectance, found)
                    terms_at(facts.at[path, 0] * STEP, facts.at[path, 1] * STEP, terms)
                    remember(square, side, np.int64(facts.onto[path]), terms, found)
            fit_all(square, side, lower, simpler)
        for cell in cells:
            for path in range(cell * facts.paths[0], (cell + 1) * facts.paths[0]):
                if facts.hits[path] == 0:
                    continue
                first = facts.first[path]
                surface = facts.surface[first]
                if not together or facts.onto[path] < 0:
                    light_from(facts, path, 0, reflectance, found)
                else:
                    terms_at(facts.at[path, 0] * STEP, facts.at[path, 1] * STEP, terms)
                    for c in range(reflectance.shape[1]):
                        for k in range(KINDS):
                            own = facts.light[min(c, last), first, k]
                            found[k, c] = reflectance[surface, c] * (own + pooled(side, np.int64(facts.onto[path]), terms, k, c))
                for t in range(facts.weight.shape[1]):
                    w = np.float64(facts.weight[path, t])
                    for k in range(KINDS):
                        for c in range(reflectance.shape[1]):
                            sums[cell, t, surface, k, c] += w * found[k, c]


def repaint(facts: Throughputs, reflectance: np.ndarray, *, replications: int, patches: int = 0, threads: int = 1) -> np.ndarray:
    """Sums (cells, 1 or T, surfaces, 4, C), luminance [cd/m2] times paths, for given reflectances.

    reflectance  (surfaces, C) [1], the screen's row its tint
    patches  fits that paths are pooled in (MapGrid.pool); 0: each path for itself
    returns  pictures white and checkerboard, then the map's spread, with the fits' bound where paths are pooled
    Source: `repaint_replications`.
    """
    cells, channels = len(facts.hits) // int(facts.paths[0]), reflectance.shape[1]
    sums = np.zeros((cells, facts.weight.shape[1], len(reflectance), KINDS, channels))

    def run(low: int, high: int) -> None:
        pool = scratch(patches, KINDS // 2, channels)
        repaint_replications(facts, cells // replications, reflectance, sums, np.empty((KINDS, channels)), pool, low, high)

    workers.in_ranges(run, replications, threads)
    return sums
