"""Polygons in a plane: area, crossings, triangles, convex parts, cuts along diagonals. Corners (n, 2) in [m], any order of turning."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

_FLAT_M2 = 1e-10  # twice the area below which three corners lie on one line


def area_m2(corners: np.ndarray) -> float:
    """Area [m2], positive where the corners turn left (x to the right, y up). Source: shoelace formula."""
    x, y = corners[:, 0], corners[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _side(a: np.ndarray, b: np.ndarray, p: np.ndarray) -> float:
    """Twice the area of the triangle a, b, p: positive where p lies left of the line from a to b."""
    return float((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]))


def _on(a: np.ndarray, b: np.ndarray, p: np.ndarray) -> bool:
    """True where p, which lies on the line through a and b, lies between them."""
    return bool(np.all(np.minimum(a, b) - 1e-9 <= p) and np.all(p <= np.maximum(a, b) + 1e-9))


def segments_meet(a: np.ndarray, b: np.ndarray, c: np.ndarray, d: np.ndarray) -> bool:
    """True where the segments a b and c d share a point. Source: orientation tests."""
    s, t, u, v = _side(a, b, c), _side(a, b, d), _side(c, d, a), _side(c, d, b)
    if s * t < 0.0 and u * v < 0.0:
        return True
    ends = ((s, a, b, c), (t, a, b, d), (u, c, d, a), (v, c, d, b))
    return any(abs(side) < _FLAT_M2 and _on(p, q, r) for side, p, q, r in ends)


def first_crossing(corners: np.ndarray) -> tuple[int, int] | None:
    """Two edges (by their first corners) that cross or touch although they are no neighbours; None for a simple polygon."""
    n = len(corners)
    for i in range(n):
        for j in range(i + 2, n):
            if (j + 1) % n == i:
                continue
            if segments_meet(corners[i], corners[(i + 1) % n], corners[j], corners[(j + 1) % n]):
                return i, j
    return None


def contains(corners: np.ndarray, place: tuple[float, float]) -> bool:
    """True inside a polygon; on its edge either. Source: even-odd rule."""
    x, y = corners[:, 0], corners[:, 1]
    nx, ny = np.roll(x, -1), np.roll(y, -1)
    above = (y > place[1]) != (ny > place[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = x + (place[1] - y) / (ny - y) * (nx - x)
    return bool(np.count_nonzero(above & (at > place[0])) % 2)


def triangles(corners: np.ndarray) -> list[tuple[int, int, int]]:
    """Triangles of a simple polygon that turns left, as its corners' numbers.

    raises ValueError for a polygon that crosses itself
    Source: ear clipping (Meisters 1975); corners on a straight line get no triangle of their own, but are corners of others.
    """
    left = list(range(len(corners)))
    found: list[tuple[int, int, int]] = []
    while len(left) > 3:
        ears = ((k, a, b, c) for k, (a, b, c) in enumerate(_corners_of(left)) if _is_ear(corners, left, a, b, c))
        best = max(ears, key=lambda ear: _fatness(corners, ear[1:]), default=None)
        if best is None:
            raise ValueError("the outline crosses itself")
        found.append((best[1], best[2], best[3]))
        left.pop((best[0] + 1) % len(left))
    if _side(*(corners[i] for i in left)) > _FLAT_M2:
        found.append((left[0], left[1], left[2]))
    return found


def _corners_of(left: list[int]) -> Iterator[tuple[int, int, int]]:
    n = len(left)
    for k in range(n):
        yield left[k], left[(k + 1) % n], left[(k + 2) % n]


def _is_ear(corners: np.ndarray, left: list[int], a: int, b: int, c: int) -> bool:
    """True where the triangle turns left and no other corner lies in it or on it."""
    p, q, r = corners[a], corners[b], corners[c]
    if _side(p, q, r) <= _FLAT_M2:
        return False
    for other in left:
        if other in (a, b, c):
            continue
        x = corners[other]
        if min(_side(p, q, x), _side(q, r, x), _side(r, p, x)) >= -_FLAT_M2:
            return False
    return True


def _fatness(corners: np.ndarray, ear: tuple[int, ...]) -> float:
    """Area over the square of the longest side: ears are cut so that no sliver is left."""
    p, q, r = (corners[i] for i in ear)
    longest = max(float(((p - q) ** 2).sum()), float(((q - r) ** 2).sum()), float(((r - p) ** 2).sum()))
    return _side(p, q, r) / longest


def convex_parts(corners: np.ndarray) -> list[list[int]]:
    """A simple polygon that turns left cut into few convex ones, each a ring of corner numbers.

    Source: Hertel and Mehlhorn (1983): diagonals of a triangulation that no reflex corner needs are taken away; at most four times
    the least number of parts.
    """
    rings = [list(each) for each in triangles(corners)]
    merged = True
    while merged:
        merged = False
        for i in range(len(rings)):
            for j in range(i + 1, len(rings)):
                joined = _joined(corners, rings[i], rings[j])
                if joined is not None:
                    rings[i] = joined
                    del rings[j]
                    merged = True
                    break
            if merged:
                break
    return rings


def _joined(corners: np.ndarray, one: list[int], two: list[int]) -> list[int] | None:
    """Two rings over their common edge as one, where that is convex."""
    for i in range(len(one)):
        a, b = one[i], one[(i + 1) % len(one)]
        if b in two and two[(two.index(b) + 1) % len(two)] == a:
            k = two.index(a)
            ring = one[i + 1 :] + one[: i + 1]  # starts at b, ends at a
            other = [two[(k + m) % len(two)] for m in range(1, len(two) - 1)]
            whole = ring + other
            turns = [_side(*(corners[whole[(m + s) % len(whole)]] for s in range(3))) for m in range(len(whole))]
            return whole if min(turns) >= -_FLAT_M2 else None
    return None


def cut(ring: list[int], lines: list[tuple[int, int]]) -> list[list[int]]:
    """A ring of corner numbers cut along diagonals, each between two of its corners.

    raises ValueError naming a line whose ends are neighbours, or in no part together
    Source: definition.
    """
    parts = [ring]
    for a, b in lines:
        for k, part in enumerate(parts):
            if a in part and b in part:
                i, j = sorted((part.index(a), part.index(b)))
                if j - i in (1, len(part) - 1):
                    raise ValueError(f"corners {a + 1} and {b + 1} are neighbours")
                parts[k : k + 1] = [part[i : j + 1], part[j:] + part[: i + 1]]
                break
        else:
            raise ValueError(f"the line from corner {a + 1} to corner {b + 1} crosses another")
    return parts
