"""The light of a scene's lamps on the measuring points: directly, after one reflection, and along the paths."""

from __future__ import annotations

import numpy as np

from ..light.geometry import is_pieced
from ..light.lampbounce import first_bounce
from ..light.lampcells import MOST_PATCHES, LampCells, lamp_cells
from ..light.lampdirect import LampDirect, lamp_direct
from ..light.lamphits import lamp_light
from ..light.lampwalk import walk_lamps
from ..light.ledger import Ledger, Starts
from ..light.screen_samples import LitScreen
from ..light.walk import Finishes
from .flatten import SceneArrays
from .shining_through import shining


def lamps_on(
    arrays: SceneArrays, cloth: LitScreen, seats: np.ndarray, right: np.ndarray, up: np.ndarray, *, fine: bool = True
) -> LampDirect | None:
    """Direct light of a scene's lamps on points of the cloth [cd/m2] towards seats (n, T, 3); None where no state uses any.

    What shines through from behind is in the luminance, not in the illuminance.
    right, up  (n,) of the points on the nominal plane from the screen's centre [m]
    fine  False: by fewer points of each lamp, for places between the measuring points
    Source: `lamp_direct`, `shining`.
    """
    if not arrays.lamps.names:
        return None
    found = lamp_direct(arrays.geometry, cloth, seats, arrays.lamps.lamps, arrays.fabric, fine=fine)
    if arrays.behind is None:
        return found
    through = shining(arrays, arrays.behind, cloth, seats, right, up, fine=fine)
    return LampDirect(found.luminance + through.luminance, found.lux, found.off + through.off)


def cells_of_lamps(arrays: SceneArrays, starts: Starts) -> tuple[LampCells, ...]:
    """Pieces of the surfaces for each lamp's first reflection; none for a geometry of very many patches. Source: `lamp_cells`."""
    lamps = arrays.lamps.lamps
    if len(arrays.geometry.corner) > MOST_PATCHES or is_pieced(arrays.geometry):  # of a piece of a patch only a frame is known
        return ()
    return tuple(lamp_cells(arrays.geometry, lamps, lamp, starts) for lamp in range(len(lamps.kind)))


def lamps_on_hits(
    arrays: SceneArrays, ledger: Ledger, cells: tuple[LampCells, ...], key: np.uint64, *, threads: int = 1
) -> np.ndarray:
    """What each lamp puts on a ledger's hits (H, L) float32 [lx]; not on first ones where `cells` give the first reflection.

    key  as `lamp_key` gives it.  Source: `lamp_light`.
    """
    return lamp_light(arrays.geometry, arrays.lamps.lamps, ledger, key, first=not cells, threads=threads)


def once_reflected(
    arrays: SceneArrays,
    starts: Starts,
    seats: np.ndarray,
    cells: tuple[LampCells, ...],
    key: np.uint64,
    *,
    replications: int,
    threads: int = 1,
) -> np.ndarray:
    """Lamps' light after one reflection, (replications, S, T, surfaces, 2L) for reflectance 1 [cd/m2]; empty without cells.

    Source: `first_bounce`.
    """
    if not cells:
        return np.zeros(0)
    geometry, lamps, surfaces = arrays.geometry, arrays.lamps.lamps, len(arrays.surfaces)
    return first_bounce(
        geometry, lamps, cells, starts, seats, arrays.fabric, key, surfaces=surfaces, replications=replications, threads=threads
    )


def lamp_sums(
    arrays: SceneArrays,
    starts: Starts,
    seats: np.ndarray,
    pool_of: np.ndarray,
    finishes: Finishes,
    ledger: Ledger,
    key: np.uint64,
    lux: np.ndarray,
    once: np.ndarray,
    *,
    pooling: bool = True,
    threads: int = 1,
) -> np.ndarray:
    """Light of lamps by way of the room over a ledger's paths, (cells, T, surfaces, 4L, C) times paths [cd/m2].

    seats    (25, T, 3);  pool_of (P,) as MapGrid.pool has it;  key  as `lamp_key` gives it
    lux, once  as `lamps_on_hits` and `once_reflected` give them
    returns  rows: luminance, illuminance over pi, and what fits of lower degree would have said otherwise of each
    Source: `walk_lamps`; the first reflection as it is.
    """
    geometry, lamps, fabric = arrays.geometry, arrays.lamps.lamps, arrays.fabric
    sums = walk_lamps(
        geometry, starts, seats, pool_of, lamps, lux, key, finishes, fabric, ledger, pooling=pooling, threads=threads
    )
    if once.size:
        count = len(lamps.kind)
        first = once.reshape(len(sums), *once.shape[2:])
        # the cloth's tint is on what a seat sees, not on what falls on it
        tint = np.where(np.arange(2 * count)[:, None] < count, finishes.tint, 1.0)
        sums[:, :, :, : 2 * count] += ledger.paths[0] * first[..., None] * finishes.reflectance[:, None, :] * tint
    return sums


def beside(pictures: np.ndarray, lamps: np.ndarray) -> np.ndarray:
    """Sums (..., 2K, C) of pictures and (..., 4L, C) of lamps as one (..., 2 (K + 2L), C): first the values, then their spread."""
    half, own = pictures.shape[-2] // 2, lamps.shape[-2] // 2
    return np.concatenate([pictures[..., :half, :], lamps[..., :own, :], pictures[..., half:, :], lamps[..., own:, :]], axis=-2)
