"""Plane stress of a sheet that hangs from a tube: bilinear finite elements of our own on scipy's sparse solver.

Coordinates: right x from the middle, up y from the bar. The upper edge has given displacements, the sides are free, the bar is
stiff against bending and as wide as the sheet. Forces are per width [N/m]; the tension of the sheet comes from its weight and the bar's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import spsolve


@dataclass(frozen=True)
class Sheet:
    """Size [m], stiffness E t [N/m], Poisson's ratio, weight of the sheet [N/m2] and of the bar [N/m]."""

    width: float = 2.56
    height: float = 1.61
    stiffness: float = 8000.0
    poisson: float = 0.45
    weight: float = 3.92
    bar: float = 7.85


def forces(sheet: Sheet, right: np.ndarray, up: np.ndarray, *, columns: int = 64, rows: int = 40) -> np.ndarray:
    """Forces (rows, columns, 3: across, upright, shear) at the middles of the cells, lowest row first [N/m].

    right, up  displacement of the upper edge's columns + 1 nodes [m]
    """
    a, b = sheet.width / columns, sheet.height / rows
    node = np.arange((rows + 1) * (columns + 1)).reshape(rows + 1, columns + 1)
    corner = np.stack([node[:-1, :-1], node[:-1, 1:], node[1:, 1:], node[1:, :-1]], -1).reshape(-1, 4)
    dof = np.stack([2 * corner, 2 * corner + 1], -1).reshape(-1, 8)
    nu = sheet.poisson
    law = sheet.stiffness / (1 - nu**2) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu) / 2]])
    g = 1 / np.sqrt(3)
    cell = sum(_strain(s, t, a, b).T @ law @ _strain(s, t, a, b) for s in (-g, g) for t in (-g, g)) * a * b / 4
    size = 2 * node.size
    places = (np.repeat(dof, 8, 1).ravel(), np.tile(dof, (1, 8)).ravel())
    whole = sp.coo_matrix((np.tile(cell.ravel(), len(dof)), places), (size, size)).tocsr()
    load, given = np.zeros(size), np.zeros(size)
    np.add.at(load, 2 * corner.ravel() + 1, -sheet.weight * a * b / 4)
    share = np.full(columns + 1, a)
    share[[0, -1]] = a / 2
    load[2 * node[0] + 1] -= sheet.bar * share
    given[2 * node[-1]], given[2 * node[-1] + 1] = right, up
    free = np.ones(size, bool)
    free[np.concatenate([2 * node[-1], 2 * node[-1] + 1, 2 * node[0], 2 * node[0][1:] + 1])] = False
    tied = sp.identity(size, format="lil")
    for each in node[0][1:]:  # the bar stays straight and level
        tied[2 * each + 1, 2 * node[0][0] + 1] = 1
    tied = tied.tocsr()[:, free]
    moved = tied @ spsolve((tied.T @ whole @ tied).tocsc(), tied.T @ (load - whole @ given)) + given
    return (moved[dof] @ _strain(0.0, 0.0, a, b).T @ law).reshape(rows, columns, 3)


def least_force(found: np.ndarray) -> np.ndarray:
    """The smaller principal force of each cell [N/m]; below 0: the sheet is pressed together some way."""
    across, upright, shear = np.moveaxis(found, -1, 0)
    return 0.5 * (across + upright) - np.hypot(0.5 * (across - upright), shear)


def sagging(sheet: Sheet, sag: float, columns: int = 64) -> np.ndarray:
    """Upward displacement of an evenly loaded beam's nodes, `sag` at the middle [m]; textbook, 16 / 5 (s - 2 s^3 + s^4)."""
    s = np.linspace(0.0, 1.0, columns + 1)
    return -sag * 16 / 5 * (s - 2 * s**3 + s**4)


def _strain(s: float, t: float, a: float, b: float) -> np.ndarray:
    by_x = np.array([-(1 - t), 1 - t, 1 + t, -(1 + t)]) / (2 * a)
    by_y = np.array([-(1 - s), -(1 + s), 1 + s, 1 - s]) / (2 * b)
    found = np.zeros((3, 8))
    found[0, ::2], found[1, 1::2], found[2, ::2], found[2, 1::2] = by_x, by_y, by_y, by_x
    return found
