"""Light by way of the space behind a cloth that lets light through: lamps' reflected light and the projector's own, and back again.

Paths start on the cloth's back; what they find counts for lamps as on any cloth, for the picture where they end on the lit back,
which shines by the light that came through. Neither needs a map, so nothing is interpolated. Two small returns are scaled from the
white picture's, as if spread like them: light of lamps that came through, goes round the room and falls on the cloth again, and light
of lamps before the cloth that goes through it, back from what is behind, and through again.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.lobes.albedo import directional_albedos
from ..light.geometry import Geometry
from ..light.lampcells import LampCells
from ..light.lamphits import lamp_key
from ..light.ledger import CERTAIN_HITS, PLACES, Ledger, Starts, trace
from ..light.numbers import address
from ..light.patches import frozen
from ..light.projector import ZONES_RIGHT, ZONES_UP, ProjectorArrays
from ..light.screen_samples import LitScreen
from ..light.walk import Finishes
from .even_light import EvenLight
from .flatten import BACK_FROM_END, SCREEN_FROM_END, Behind, SceneArrays
from .lamp_sums import cells_of_lamps, lamp_sums, lamps_on_hits, once_reflected
from .shining_through import back_points, shining, straight_share

_BEHIND = 0xBEC4  # sets the random numbers of paths behind the cloth apart from those before it
_PATHS_AT_ONCE = 200_000


class PreparedBehind(NamedTuple):
    """What tracing behind the cloth needs and no random number enters, for the S measuring points.

    behind   as the scene has it;  starts  of paths on the back;  cells  of each lamp, for its first reflection
    view     (S, 1, 3) one direction, since a diffuse back looks alike from all
    passes   (S, T) share of what falls on the back that comes out towards each seat, as luminance over illuminance / pi [1]
    direct   (S, L) illuminance of the back by lamps, nothing reflected [lx];  front (S, L) the same of the cloth's front
    even     (S, T) luminance factor of the cloth for even light [1]
    white_lm_m2, white_lx   what the white picture's cloth sends out, and what falls on it, mean [lm/m2], [lx]
    """

    behind: Behind
    starts: Starts
    cells: tuple[LampCells, ...]
    view: np.ndarray
    passes: np.ndarray
    direct: np.ndarray
    front: np.ndarray
    even: np.ndarray
    white_lm_m2: float
    white_lx: float


def arrays_behind(arrays: SceneArrays, behind: Behind) -> SceneArrays:
    """The scene from behind its cloth, whose front is a diffuse surface. Source: definition."""
    return arrays._replace(geometry=behind.geometry, fabric=behind.fabric, reflectance=behind.reflectance, behind=None)


def prepare_behind(
    arrays: SceneArrays,
    cloth: LitScreen,
    seats: np.ndarray,
    right: np.ndarray,
    up: np.ndarray,
    white_lx: np.ndarray,
    even: EvenLight,
    front_lux: np.ndarray | None,
) -> PreparedBehind | None:
    """Starts on the cloth's back and what lamps put there [lx]; None where no light is followed through the cloth.

    cloth, right, up, seats, even  of the measuring points;  white_lx (S,) of the white picture;  front_lux (S, L) of lamps, None: there are none
    Source: `shining`.
    """
    behind = arrays.behind
    if behind is None:
        return None
    back = back_points(arrays, behind, cloth, right, up)
    starts = Starts(back.place, back.right, back.up, back.normal, back.patch)
    direct = np.zeros((len(right), 0))
    if front_lux is not None:
        direct = shining(arrays, behind, cloth, seats, right, up, fine=True).lux
    sent = directional_albedos(arrays.fabric, np.ascontiguousarray(cloth.source)) * white_lx
    return PreparedBehind(
        behind=behind,
        starts=starts,
        cells=() if front_lux is None else cells_of_lamps(arrays_behind(arrays, behind), starts),
        view=frozen(np.tile([0.0, 0.0, 1.0], (len(right), 1, 1))),
        passes=behind.transmittance + straight_share(behind, seats),
        direct=direct,
        front=np.zeros((len(right), 0)) if front_lux is None else front_lux,
        even=even.factor,
        white_lm_m2=float(sent.mean()),
        white_lx=float(white_lx.mean()),
    )


def with_light_from_behind(
    sums: np.ndarray,
    prepared: PreparedBehind,
    arrays: SceneArrays,
    finishes: Finishes,
    levels: np.ndarray,
    before: Ledger,
    *,
    seed: int,
    low_path: int,
    replications: int,
    survival: float,
    threads: int = 1,
) -> np.ndarray:
    """Sums (cells, T, surfaces, 2K, C) of `traced_sums`, times paths [cd/m2], with what comes through the cloth in them.

    levels  (zones, 2) of the traced pictures [1];  before  the ledger of paths before the cloth, which the sums are of
    survival  probability to go on behind the cloth [1]
    Source: `light_of_sides`, `_lamps_from_behind`.
    """
    behind, paths = arrays.behind or prepared.behind, int(before.paths[0])
    own, channels = arrays_behind(arrays, behind), finishes.reflectance.shape[1]
    turned = Finishes(np.ascontiguousarray(own.reflectance[:, :channels]), np.ones(channels))
    key = int(address(np.uint64(seed), np.int64(_BEHIND), np.int64(0)))
    ledger = trace(
        own.geometry, prepared.starts, seed=key, replications=replications, low_path=low_path, paths=paths,
        survival=survival, threads=threads,
    )  # fmt: skip
    passes, even = (np.tile(each, (replications, 1))[:, :, None, None, None] for each in (prepared.passes, prepared.even))
    half, count = sums.shape[3] // 2, prepared.direct.shape[1]
    sides = SCREEN_FROM_END, BACK_FROM_END
    on_back = light_of_sides(own.geometry, behind, own.projector, turned, ledger, levels, sides)
    on_front = light_of_sides(arrays.geometry, behind, own.projector, turned, before, levels, sides[1:])
    if count:
        on_back = np.concatenate(
            [on_back, _lamps_from_behind(prepared, own, turned, ledger, key, low_path, replications, threads)], axis=2
        )
        on_front = np.concatenate([on_front, np.zeros_like(on_back[:, :, 2:])], axis=2)
    come = passes * on_back[:, None] + even * finishes.tint * on_front[:, None]  # (cells, T, surfaces, 2 + L, C)
    # the rest is scaled from the white picture: what came through lights the room, what the room sends back goes through
    known = (
        np.concatenate([sums[:, :, :, :2], sums[:, :, :, 2 + count : 2 + 2 * count] * even], axis=3)[:, 0].sum(axis=1)
        / even[:, 0, 0]
    )
    back = _mean_lx(on_back.sum(axis=1), paths, replications, prepared.direct)
    front = _mean_lx(known, paths, replications, prepared.front)
    share = (behind.transmittance + behind.open_area) * back / prepared.white_lm_m2
    again = front / prepared.white_lx
    found = sums.copy()
    for rows, spread in ((slice(0, 2 + count), False), (slice(half, half + 2 + count), True)):
        white = sums[:, :, :, half : half + 1] if spread else sums[:, :, :, :1]
        found[:, :, :, rows] += share[:, None, None] * white + (
            0.0 if spread else come + again[:, None, None] * come[:, :, :, :1]
        )
    return found


def _mean_lx(over_pi: np.ndarray, paths: int, replications: int, direct: np.ndarray) -> np.ndarray:
    """Mean illuminance over the points of each kind of light, one row a cell (cells, K, C) [lx], from (cells, K, C) over pi, times paths.

    direct  (S, L) of lamps, which come last [lx]
    """
    points = len(over_pi) // replications
    mean = np.pi / paths * over_pi.reshape(replications, points, *over_pi.shape[1:]).mean(axis=1)
    mean[:, mean.shape[1] - direct.shape[1] :] += direct.mean(axis=0)[:, None]
    return np.asarray(np.repeat(mean, points, axis=0))


def _lamps_from_behind(
    prepared: PreparedBehind,
    own: SceneArrays,
    finishes: Finishes,
    ledger: Ledger,
    key: int,
    low_path: int,
    replications: int,
    threads: int,
) -> np.ndarray:
    """Illuminance over pi of the cloth's back by lamps' reflected light, (cells, surfaces, L, C), times paths [cd/m2]."""
    number, count = lamp_key(key, low_path), prepared.direct.shape[1]
    starts, view, cells = prepared.starts, prepared.view, prepared.cells
    lux = lamps_on_hits(own, ledger, cells, number, threads=threads)
    once = once_reflected(own, starts, view, cells, number, replications=replications, threads=threads)
    pools = np.full(len(own.geometry.corner), -1, np.int32)
    sums = lamp_sums(own, starts, view, pools, finishes, ledger, number, lux, once, pooling=False, threads=threads)
    return sums[:, 0, :, count : 2 * count]


def light_of_sides(
    geometry: Geometry,
    behind: Behind,
    projector: ProjectorArrays,
    finishes: Finishes,
    ledger: Ledger,
    levels: np.ndarray,
    sides: tuple[int, ...],
) -> np.ndarray:
    """Illuminance over pi of the starts by sides of the cloth that pictures light, (cells, surfaces, K, C), times paths [cd/m2].

    geometry  of the ledger, from either side;  finishes  the cloth's own sides among them;  levels (zones, K) of each picture's zones [1]
    sides     whose light counts, as places of their surfaces from the end
    Source: the front sends out reflectance x E, the back (transmittance + open area) x E, evenly; a path that ends there brings that
    light, unbiased.
    """
    paths, cells = int(ledger.paths[0]), len(ledger.hits) // int(ledger.paths[0])
    channels = finishes.reflectance.shape[1]
    out = np.zeros((cells, len(finishes.reflectance), levels.shape[1], channels))
    if not behind.picture:
        return out
    surfaces, step = len(finishes.reflectance), max(1, _PATHS_AT_ONCE // paths)
    sends = np.ones(channels) * (behind.transmittance + behind.open_area), finishes.reflectance[-SCREEN_FROM_END]
    shining = [(surfaces - side, sends[side == SCREEN_FROM_END] / np.pi, side == BACK_FROM_END) for side in sides]
    for low in range(0, cells, step):
        some = slice(low * paths, min(cells, low + step) * paths)
        first, hits = ledger.first[some], ledger.hits[some].astype(int)
        through, found = np.ones((len(hits), channels)), np.zeros((len(hits), levels.shape[1], channels))
        for k in range(int(hits.max(initial=0))):
            alive = np.flatnonzero(hits > k)
            if k >= CERTAIN_HITS:
                through[alive] /= ledger.survival[0]
            surface = geometry.surface[ledger.patch[first[alive] + k]]
            for number, sent, turned in shining:
                lit = alive[surface == number]
                at = first[lit] + k
                u, v = ledger.u[at] / PLACES, ledger.v[at] / PLACES
                lux = _picture_lx(projector, geometry, number, *((v, u) if turned else (u, v)), levels)
                found[lit] += (through[lit] * sent)[:, None, :] * lux[:, :, None]
            through[alive] *= finishes.reflectance[surface]
        began = np.flatnonzero(hits > 0)
        np.add.at(out, (low + began // paths, geometry.surface[ledger.patch[first[began]]]), found[began])
    return out


def _picture_lx(
    projector: ProjectorArrays, geometry: Geometry, surface: int, right: np.ndarray, up: np.ndarray, levels: np.ndarray
) -> np.ndarray:
    """Illuminance (n, K) [lx] of pictures at places of the open cloth, from its lower left corner as the seats see it [1].

    Source: projector.nominal_illuminance_lx and zone_of.
    """
    patch = int(np.flatnonzero(geometry.surface == surface)[-1])
    edges = np.abs(geometry.edge_u[patch]) + np.abs(geometry.edge_v[patch])  # along x and z, whichever side this is
    x, y = (right - 0.5) * edges[0], (up - 0.5) * edges[2]
    left, right, bottom, top = projector.raster
    peak, fall, far = projector.light
    dx, dy = x - 0.5 * (left + right), y - 0.5 * (bottom + top)
    lux = np.where((x >= left) & (x <= right) & (y >= bottom) & (y <= top), peak * (1.0 - fall * (dx * dx + dy * dy) / far), 0.0)
    left, right, bottom, top = projector.picture
    column = np.clip(np.floor((x - left) / (right - left) * ZONES_RIGHT), 0, ZONES_RIGHT - 1).astype(int)
    rank = np.clip(np.floor((top - y) / (top - bottom) * ZONES_UP), 0, ZONES_UP - 1).astype(int)
    return np.asarray(lux[:, None] * levels[rank * ZONES_RIGHT + column])
