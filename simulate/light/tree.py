"""Building of the bounding-volume tree: level by level with numpy, so that a large mesh costs no compiling and little time."""

from __future__ import annotations

import numpy as np

LEAF = 2


def build_tree(low: np.ndarray, high: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Tree over boxes, halved at the median centre along the longest axis.

    low, high   (M, 3) bounds of the items [m]
    returns     node low (N, 3), node high (N, 3), child (N,) int32, count (N,) int32, item order (M,) int32;
                children of an inner node are neighbours, the root is node 0; no nodes for no items
    Source: standard median split; the bounds grow by a hair so that flat items are not lost to rounding.
    """
    items = len(low)
    if items == 0:
        none = np.zeros((0, 3))
        empty = np.zeros(0, dtype=np.int32)
        return none, none, empty, empty, empty
    centre = 0.5 * (low + high)
    order = np.arange(items, dtype=np.int32)
    first, count = np.array([0]), np.array([items])
    starts: list[np.ndarray] = []
    counts: list[np.ndarray] = []
    children: list[np.ndarray] = []
    made = 1
    while len(first):
        starts.append(first)
        counts.append(count)
        inner = count > LEAF
        child = np.full(len(first), -1, dtype=np.int64)
        child[inner] = made + 2 * np.arange(inner.sum())
        made += 2 * int(inner.sum())
        children.append(child)
        first, count = first[inner], count[inner]
        if len(first):
            order, first, count = _halve(order, centre, first, count)
    start, counts_all, child_all = np.concatenate(starts), np.concatenate(counts), np.concatenate(children)
    padding = 1e-9 * (1.0 + np.abs(high).max())
    node_low, node_high = _bounds(low[order], high[order], start, counts_all, child_all, levels=len(starts))
    leaf = child_all < 0
    return (
        node_low - padding,
        node_high + padding,
        np.where(leaf, start, child_all).astype(np.int32),
        np.where(leaf, counts_all, 0).astype(np.int32),
        order,
    )


def _halve(
    order: np.ndarray, centre: np.ndarray, first: np.ndarray, count: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Sort each range of `order` along its longest axis and cut it in two; returns order and the halves."""
    order = order.copy()
    owner = np.repeat(np.arange(len(first)), count)
    place = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + np.repeat(first, count)
    c = centre[order[place]]
    edges = np.cumsum(count) - count
    extent = np.maximum.reduceat(c, edges) - np.minimum.reduceat(c, edges)
    key = c[np.arange(len(c)), extent.argmax(axis=1)[owner]]
    order[place] = order[place][np.lexsort((key, owner))]
    half = count // 2
    return order, np.stack((first, first + half), axis=1).ravel(), np.stack((half, count - half), axis=1).ravel()


def _bounds(
    low: np.ndarray, high: np.ndarray, start: np.ndarray, count: np.ndarray, child: np.ndarray, levels: int
) -> tuple[np.ndarray, np.ndarray]:
    """Bounds of all nodes: leaves from their items, inner nodes from their children, deepest level first."""
    node_low = np.full((len(start), 3), np.inf)
    node_high = np.full((len(start), 3), -np.inf)
    leaves = np.flatnonzero(child < 0)
    for k in range(LEAF):
        some = leaves[count[leaves] > k]
        node_low[some] = np.minimum(node_low[some], low[start[some] + k])
        node_high[some] = np.maximum(node_high[some], high[start[some] + k])
    inner = np.flatnonzero(child >= 0)
    for _ in range(levels):
        kids = child[inner]
        node_low[inner] = np.minimum(node_low[kids], node_low[kids + 1])
        node_high[inner] = np.maximum(node_high[kids], node_high[kids + 1])
    return node_low, node_high
