"""Where in its raster the lit picture is sampled: rows of a product rule in every zone, and scattered places for zones that an edge crosses."""

from __future__ import annotations

from functools import cache

import numpy as np

from .patches import frozen

SCATTERED, PARTS = 64, 8
NO_SCATTERED = frozen(np.zeros(2, np.int64))


@cache
def gauss_points(side: int) -> tuple[np.ndarray, np.ndarray]:
    """Places and shares (side,) of a rule on 0 .. 1 [1]. Source: Gauss and Legendre, as numpy has them."""
    node, gauss = np.polynomial.legendre.leggauss(side)
    return frozen(0.5 * (node + 1.0)), frozen(0.5 * gauss)


@cache
def unit_samples(zones: tuple[int, int], levels: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Places across and down in units of a zone [1], share of a zone [1], and first sample of each level.

    zones  across and down;  levels  Gauss points a side of a zone
    Source: `light_the_screen`.
    """
    across, down, shares, first, done = [], [], [], [], 0
    for side in levels:
        place, share = gauss_points(side)
        row_of, column_of, b, a = np.meshgrid(
            np.arange(zones[1]), np.arange(zones[0]), np.arange(side), np.arange(side), indexing="ij"
        )
        across.append((column_of + place[a]).ravel())
        down.append((row_of + place[b]).ravel())
        shares.append((share[a] * share[b]).ravel())
        first.append(done)
        done += across[-1].size
    return frozen(np.concatenate(across)), frozen(np.concatenate(down)), frozen(np.concatenate(shares)), frozen(np.array(first))


def _hammersley(zones: tuple[int, int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Numbers 0 .. SCATTERED - 1, the same with their bits in reverse order, and numbers of zones (zones, 1). Source: definition."""
    index = np.arange(SCATTERED)
    bits = int(SCATTERED).bit_length() - 1
    turned = np.sum([((index >> k) & 1) << (bits - 1 - k) for k in range(bits)], axis=0)
    return index, turned, np.arange(zones[0] * zones[1])[:, None]


@cache
def scattered_samples(zones: tuple[int, int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """SCATTERED even places of every zone, across and down in units of a zone [1], and the share of a zone each stands for [1].

    Source: Hammersley's points, shifted round the zone by another amount for each zone (Cranley and Patterson 1976; Roberts's
    additive recurrence, from memory), so that an edge through many zones does not meet the same places in all.
    """
    index, turned, zone = _hammersley(zones)
    across = ((index + 0.5) / SCATTERED + 0.7548776662466927 * zone) % 1.0
    down = ((turned + 0.5) / SCATTERED + 0.5698402909980532 * zone) % 1.0
    row_of, column_of = np.divmod(zone, zones[0])
    return (frozen((column_of + across).ravel()), frozen((row_of + down).ravel()), frozen(np.full(across.size, 1.0 / SCATTERED)))


@cache
def netted_samples(zones: tuple[int, int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """As `scattered_samples`, one in each of 8 x 8 parts of a zone, row by row, so that each can stand for what its part holds.

    Source: Hammersley's points, their digits shifted by another amount for each zone: a net stays one.
    """
    index, turned, zone = _hammersley(zones)
    across = index ^ (SCATTERED * (0.7548776662466927 * zone % 1.0)).astype(int)
    down = turned ^ (SCATTERED * (0.5698402909980532 * zone % 1.0)).astype(int)
    order = np.argsort(down // PARTS * PARTS + across // PARTS, axis=1)
    places = [(np.take_along_axis(each, order, 1) + 0.5) / SCATTERED for each in (across, down)]
    row_of, column_of = np.divmod(zone, zones[0])
    return (
        frozen((column_of + places[0]).ravel()),
        frozen((row_of + places[1]).ravel()),
        frozen(np.full(down.size, 1.0 / SCATTERED)),
    )


@cache
def raster_samples(
    zones: tuple[int, int], levels: tuple[int, ...], scattering: bool, netted: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """All samples of the zones as `unit_samples` has them, scattered ones behind them where asked for, and LitScreen.scattered."""
    across, down, share, first = unit_samples(zones, levels)
    if not scattering:
        return across, down, share, first, NO_SCATTERED
    more = netted_samples(zones) if netted else scattered_samples(zones)
    whole = [frozen(np.concatenate(pair)) for pair in zip((across, down, share), more, strict=True)]
    return whole[0], whole[1], whole[2], first, frozen(np.array([len(across), SCATTERED]))
