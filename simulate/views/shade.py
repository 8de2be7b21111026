"""What a surface sends towards an eye: the projector's own light, light that arrives from the room, even light."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.albedo import directional_albedos
from ...materials.lobes.family import FAMILY, Family
from ...scenes.errors import NOTHING, SceneError, SceneErrors
from ...scenes.lamps.behind import follows_light_through
from ...scenes.model import Light, Scene
from ..light.geometry import SCREEN
from ..light.vectors import row, screen_tangents
from ..measuring.flatten import SceneArrays, flatten
from ..measuring.lens import levels_of
from .content import Content, Sampler
from .gather import GatherPoints, gather, together
from .lamplight import LampsOn, lamps_on_in, on_cloth, on_surfaces, windows_seen
from .primary_rays import HEAD, Seen
from .roomlight import RoomCells, RoomLight, from_screen_of, light_the_room
from .texture import read_at

HEAD_REFLECTANCE = 0.25  # hair and skin of the head of a viewer; common practice, no source
_ANGLES, _TURNS = 64, 49  # of the table of the cloth's albedo


@dataclass(frozen=True)
class PictureSetup:
    """A scene under one picture and one light state, ready for the pictures of all seats."""

    scene: Scene
    arrays: SceneArrays
    content: Content
    light: Light | None
    room: RoomLight
    seed: int
    lamps: LampsOn | None = None


def zone_levels(scene: Scene, content: Content) -> np.ndarray:
    """Level of the zones (192, C) [1]: black of the projector and even veil of its lens included. Source: `shown`."""
    return shown(scene, content, content.zones())


def shown(scene: Scene, content: Content, share: np.ndarray) -> np.ndarray:
    """Level that the projector makes of a share of white [1] in this picture. Source: `Levels.shown`."""
    return levels_of(scene).shown(share, content.level)


def set_the_stage(
    scene: Scene, content: Content, *, light: Light | None = None, seed: int = 1, threads: int = 1, cells: RoomCells | None = None
) -> PictureSetup:
    """Solve the room's light for a picture, once for all seats.

    light   a light state of the scene: its lamps and windows, and its lux as even illuminance on every surface [lx]; None: dark
    cells   `room_cells` of this room or of one that differs in finishes alone, same seed: half of the work; None: made here
    raises  FloatingPointError as `light_the_room`; SceneErrors for lamps and windows where light comes through the cloth
    Source: `light_the_room` at the levels of `zone_levels`.
    """
    if light is not None and light.traced and follows_light_through(scene.screen, scene.lamps, scene.windows):
        said = f'pictures do not show light that comes through the cloth, as that of light state "{light.name}" may'
        raise SceneErrors([SceneError(scene.path, 0, "screen.backed", NOTHING, said, "backed = true, or pictures in the dark")])
    arrays = flatten(scene, opaque=True)
    lamps = lamps_on_in(scene, arrays, light)
    room = light_the_room(arrays, zone_levels(scene, content), lamps=lamps, seed=seed, threads=threads, cells=cells)
    return PictureSetup(scene, arrays, content, light, room, seed, lamps)


def surface_key(arrays: SceneArrays, seen: Seen, lamps: LampsOn | None = None, rays: np.ndarray | None = None) -> np.ndarray:
    """A number for each smoothly lit surface: patch, window, head, or all of the cloth; parts behind the screen's plane are others.

    returns  (n,) int, negative where nothing reflects
    The screen lights nothing behind its own plane, so light jumps there; a hair of tolerance for the plane itself [1e-6 m].
    Source: the half-space rule of a one-sided emitter.
    """
    role, frame = arrays.geometry.role, arrays.projector.frame
    cloth = (seen.patch >= 0) & (role[np.maximum(seen.patch, 0)] == SCREEN)
    behind = (seen.place @ frame[3] < frame[0] @ frame[3] - 1e-6) & ~cloth
    solid = np.where(seen.patch <= HEAD, len(role) + 1 + HEAD - seen.patch, seen.patch)
    key = np.where((seen.patch < 0) & (seen.patch > HEAD), -1, 2 * np.where(cloth, len(role), solid) + behind)
    if lamps is None or rays is None:
        return key
    window = windows_seen(lamps, seen.place, rays)[0]
    return np.where((key >= 0) & (window >= 0), key + (window + 1) * (4 * len(role) + 1000), key)


def arriving(
    stages: Sequence[PictureSetup], seen: Seen, rays: np.ndarray, pixels: np.ndarray, table: np.ndarray, threads: int
) -> list[np.ndarray]:
    """Light / pi (n, C) of every stage that arrives at pixels' places, but for what `told` has exactly and the projector's own [cd/m2].

    On the cloth it is what the cloth sends to the eye, in [cd/m2] for a perfect diffuser.
    stages  that differ in picture, finishes and light alone: a ray meets the same surfaces, and only what they send differs
    Source: `zone_map`, and `gather` where cells do not tell of the rest.
    """
    one, rooms, role = stages[0], [stage.room for stage in stages], stages[0].arrays.geometry.role
    arrays, patch, place = one.arrays, seen.patch[pixels], np.ascontiguousarray(seen.place[pixels])
    out = [np.zeros((len(pixels), len(room.values.tint))) for room in rooms]
    asked = np.flatnonzero(~known_to_cells(one, patch))
    if len(asked):
        values = together([room.values for room in rooms])
        points = GatherPoints(place[asked], np.ascontiguousarray(seen.normal[pixels[asked]]), patch[asked], -rays[pixels[asked]])
        whole = gather(arrays.geometry, arrays.projector, arrays.fabric, values, points, table, threads=threads)
        ends = np.cumsum([len(room.values.tint) for room in rooms])[:-1]
        for light, part in zip(out, np.split(whole, ends, axis=1), strict=True):
            light[asked] = part
    off = np.flatnonzero((patch >= 0) & (role[np.maximum(patch, 0)] != SCREEN))  # heads: the gather met the screen
    for light, straight in zip(out, from_screen_of(rooms, place[off], patch[off], threads=threads), strict=True):
        light[off] += straight / np.pi
    return out


def known_to_cells(stage: PictureSetup, patch: np.ndarray) -> np.ndarray:
    """True (n,) for patches of which the cells tell the light that comes by way of the room: walls and things but for their smallest parts."""
    return np.asarray((patch >= 0) & (stage.room.told.first[np.maximum(patch, 0)] >= 0))


def told(stage: PictureSetup, seen: Seen, threads: int) -> tuple[np.ndarray, np.ndarray]:
    """What cells tell of the light / pi at what rays meet, (n, C) each [cd/m2]: by way of the room, exactly; straight from the screen, roughly.

    0 on cloth, on heads, on the smallest parts of things, and where nothing is met. Source: `RoomLight.told`.
    """
    both = read_at(stage.room.told, stage.arrays.geometry, seen.patch, seen.place, threads=threads)
    half = both.shape[1] // 2
    return both[:, :half], both[:, half:]


def colours(
    stage: PictureSetup,
    seen: Seen,
    rays: np.ndarray,
    light: np.ndarray,
    sampler: Sampler,
    footprint: tuple[np.ndarray, np.ndarray],
    threads: int = 1,
) -> np.ndarray:
    """Luminance (n, 3) [cd/m2] towards the eye: projector's own light, arriving light, ambient light.

    Source: L = gain E / pi, summed.
    """
    arrays = stage.arrays
    left, right, bottom, top = arrays.projector.picture
    patch = np.maximum(seen.patch, 0)
    cloth, head = (seen.patch >= 0) & (arrays.geometry.role[patch] == SCREEN), seen.patch <= HEAD
    rho = np.where(cloth[:, None], 1.0, arrays.reflectance[arrays.geometry.surface[patch]])
    rho[head] = HEAD_REFLECTANCE
    out = np.broadcast_to(light, (len(light), 3)) * rho
    lit = np.flatnonzero(seen.lux > 0.0)
    x, y = (seen.across[lit] - left) / (right - left), (top - seen.upward[lit]) / (top - bottom)
    level = shown(stage.scene, stage.content, sampler(x, y, footprint[0][lit], footprint[1][lit]))
    own = (seen.gain[lit] * seen.lux[lit] / np.pi)[:, None] * level
    out[lit] += own * np.where(cloth[lit][:, None], np.array(arrays.fabric.tint), rho[lit])
    if stage.light is not None and stage.light.screen_lx > 0.0:
        even = np.where(cloth[:, None], _ambient_factor(stage, seen, rays, cloth)[:, None] * np.array(arrays.fabric.tint), rho)
        out += stage.light.screen_lx / np.pi * even
    if stage.lamps is not None:
        solid = np.flatnonzero(((seen.patch >= 0) & ~cloth) | head)
        at = seen.place[solid], seen.normal[solid], np.maximum(seen.patch[solid], -1)
        own = on_surfaces(stage.lamps, arrays.geometry, *at, threads=threads)
        out[solid] += own / np.pi * rho[solid]
        hung = np.flatnonzero(cloth)
        at = seen.place[hung], seen.normal[hung], seen.patch[hung]
        out[hung] += on_cloth(stage.lamps, arrays, *at, rays[hung], threads=threads)
        out += windows_seen(stage.lamps, seen.place, rays)[1]
    out[(seen.patch < 0) & ~head] = 0.0
    return out


@kernel
def cloth_frames(normal, right, up):
    """Right and up [1] on the cloth for unit normals (n, 3), into right and up (n, 3). Source: `screen_tangents`."""
    for i in range(len(normal)):
        across, upward = screen_tangents(row(normal, i))
        for k in range(3):
            right[i, k] = across[k]
            up[i, k] = upward[k]


def _ambient_factor(stage: PictureSetup, seen: Seen, rays: np.ndarray, cloth: np.ndarray) -> np.ndarray:
    """Luminance factor (n,) of the cloth for even light from the half-space: its albedo in the view's direction.

    Source: reciprocity; the albedo is that of a wave towards the eye.
    """
    out = np.zeros(len(cloth))
    at = np.flatnonzero(cloth)
    if len(at):
        normal = np.ascontiguousarray(seen.normal[at])
        right, up = np.empty_like(normal), np.empty_like(normal)
        cloth_frames(normal, right, up)
        local = np.stack([-(rays[at] * axis).sum(axis=1) for axis in (right, up, normal)], axis=1)
        out[at] = albedo_towards(stage.arrays.fabric, local)
    return out


def albedo_towards(fabric: FabricArrays, directions: np.ndarray) -> np.ndarray:
    """Directional albedo (n,) [1] of unit directions (n, 3) in the cloth's frame, from a table for speed.

    The table is bilinear in cosine and turn; one turn serves where the albedo at 45 degrees is alike all round. Grooves have a
    table of their own, and edges that this one would blunt. Source: `directional_albedos`.
    """
    if (fabric.lobes[:, FAMILY] == Family.GROOVE).any():
        return np.asarray(directional_albedos(fabric, np.ascontiguousarray(directions)))
    cosine, turn = np.linspace(0.01, 1.0, _ANGLES), np.linspace(-np.pi, np.pi, _TURNS)
    z, p = np.meshgrid(cosine, turn, indexing="ij")
    side = np.sqrt(1.0 - z * z)
    ways = np.stack([side * np.cos(p), side * np.sin(p), z], axis=2)
    middle = int(np.argmin(np.abs(cosine - np.sqrt(0.5))))
    round_ = np.ptp(directional_albedos(fabric, np.ascontiguousarray(ways[middle]))) < 1e-9
    some = np.ascontiguousarray(ways[:, :1] if round_ else ways)
    table = np.broadcast_to(directional_albedos(fabric, some.reshape(-1, 3)).reshape(some.shape[:2]), z.shape)
    x = np.clip((directions[:, 2] - cosine[0]) / (cosine[1] - cosine[0]), 0.0, _ANGLES - 1.0)
    y = (np.arctan2(directions[:, 1], directions[:, 0]) + np.pi) / (turn[1] - turn[0])
    i, j = np.minimum(x.astype(int), _ANGLES - 2), np.clip(y.astype(int), 0, _TURNS - 2)
    a, b = x - i, y - j
    low, high = ((1.0 - b) * table[k, j] + b * table[k, j + 1] for k in (i, i + 1))
    return np.asarray((1.0 - a) * low + a * high)
