"""The bodies within a room's own mesh that run into each other or through its walls, named."""

from __future__ import annotations

import numpy as np

from ..warning import SceneWarning, WarningCode
from .mesh import Mesh
from .overlaps import first_crossing, reaches_into

_MOST_TOLD = 8


def overlapping_bodies(shell: Mesh, body: np.ndarray, around: int) -> list[SceneWarning]:
    """A warning for each pair of bodies of a room's mesh that share space, and for each that reaches through the room's walls.

    body  (F,) the connected body of each triangle;  around  the one that is the room
    Source: `first_crossing`; bodies that touch, as furniture on a floor, do not count.
    """
    found: list[SceneWarning] = []
    count = int(body.max()) + 1
    spans = [shell.triangles[body == i].reshape(-1, 3) for i in range(count)]
    low, high = np.array([each.min(axis=0) for each in spans]), np.array([each.max(axis=0) for each in spans])
    inner = [i for i in range(count) if i != around]
    pairs = [(i, around) for i in inner]
    for at, i in enumerate(inner):
        rest = np.array(inner[at + 1 :], int)
        near = rest[(np.minimum(high[i], high[rest]) > np.maximum(low[i], low[rest])).all(axis=1)]
        pairs += [(i, int(j)) for j in near]
    told = 0
    for i, j in pairs:
        one, other = shell.triangles[body == i], shell.triangles[body == j]
        place = first_crossing(one, other)
        if place is None and (j == around or not _inside(shell, body, i, j)):
            continue
        told += 1
        if told > _MOST_TOLD:
            continue
        where = one.reshape(-1, 3).mean(axis=0) if place is None else place
        names = _named(shell, body == i, where), _named(shell, body == j, where)
        verb = "reaches through" if j == around else "shares space with"
        x, y, z = where
        text = f'"{names[0]}" {verb} "{names[1]}" at [{x:.2f}, {-y:.2f}, {z:.2f}]: where faces coincide, either finish may count'
        found.append(SceneWarning(WarningCode.OVERLAP, text, things=(f'"{names[0]}"', f'"{names[1]}"')))
    if told > _MOST_TOLD:
        found.append(SceneWarning(WarningCode.OVERLAP, f"{told - _MOST_TOLD} more pairs of the room's bodies share space"))
    return found


def _inside(shell: Mesh, body: np.ndarray, i: int, j: int) -> bool:
    """True where some of one closed body lies in the other."""
    if shell.sheet[(body == i) | (body == j)].any():
        return False
    one, other = shell.triangles[body == i], shell.triangles[body == j]
    return reaches_into(one, other) or reaches_into(other, one)


def _named(shell: Mesh, mine: np.ndarray, place: np.ndarray) -> str:
    """The surface of those triangles that is nearest to a place by its middles."""
    middles = shell.triangles[mine].mean(axis=1)
    return shell.names[int(shell.surface[mine][np.argmin(np.linalg.norm(middles - place, axis=1))])]
