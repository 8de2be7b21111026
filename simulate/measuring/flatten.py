"""A checked scene, lowered once into read-only arrays: the only place where the kernels' numbers are made."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from ...materials.coat import finest_deg
from ...materials.fabric import Fabric, FabricArrays
from ...materials.lobes.family import LobeRow
from ...materials.translucent import usual_back
from ...scenes.cloth.cloth import Cloth
from ...scenes.cloth.edges import Outline
from ...scenes.cloth.surface import cloth_of
from ...scenes.geometry import Raster, film_area, open_area, picture, raster, screen_frame, to_inside
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.lamps.behind import follows_light_through
from ...scenes.model import Body, Box, Scene
from ...scenes.recheck import check_scene
from ...scenes.rooms.inside import meets_pyramids
from ...scenes.rooms.spots import groups_of, spots, triangles_of
from ..light.geometry import DIFFUSE, SCREEN, Geometry
from ..light.mesh import make_relief
from ..light.patches import LaidPart, box_faces, frozen, make_geometry, make_pieced_geometry, rectangle, room_shell
from ..light.projector import ProjectorArrays, beam_meets
from .lamps import NONE, LampSet, lamp_set

BORDER, SCREEN_NAME, BACK_NAME = "border", "screen", "back of the screen"
SCREEN_FROM_END, BACK_FROM_END = 1, 3  # places of the screen and of its back among the surfaces, from their end
BACK_M = 1e-5  # so far behind the cloth's front its back stands, where light comes through


class SceneArrays(NamedTuple):
    """What the light code needs of a scene, in the inside frame, metres.

    surfaces     names of the surfaces, in the order of `reflectance`: walls, ceiling and floor, objects, parts, the screen's back
                 where light comes through the cloth, border, screen
    reflectance  (surfaces, 3) linear RGB [1]; the screen's row is not used
    eyes         (seats, 3) [m]
    objects      True when anything may stand before the screen: an object, or a wall of a room that is no box
    lamps        the lamps and windows that light states use
    half_gain_deg  half-gain angle of the fabric [deg], 90 for a diffuse one: how fine its light must be sampled
    behind       the cloth's back, where light comes through it; None: none is followed
    """

    geometry: Geometry
    projector: ProjectorArrays
    fabric: FabricArrays
    surfaces: tuple[str, ...]
    reflectance: np.ndarray
    eyes: np.ndarray
    objects: bool
    half_gain_deg: float = 90.0
    lamps: LampSet = NONE
    behind: Behind | None = None


class Behind(NamedTuple):
    """A cloth that lets light through, from behind.

    geometry       the scene's patches, of which the cloth's back is the screen, flat, and its front a diffuse one
    reflectance    (surfaces, 3) of them: the screen's row is that of the cloth's front [1]
    fabric         of its back: diffuse
    transmittance  diffuse [1];  open_area [1], through which light goes straight, with holes (3,) as Perforation.kernel_numbers has them
    picture        whether the projector's light through the cloth is followed too
    """

    geometry: Geometry
    reflectance: np.ndarray
    fabric: FabricArrays
    transmittance: float
    open_area: float
    holes: tuple[float, float, float]
    picture: bool


def flatten(scene: Scene, cloth: Cloth | None = None, *, geometry: Geometry | None = None, opaque: bool = False) -> SceneArrays:
    """Arrays of a scene.

    scene    as the loader made it, in [m], [lm] and [deg]; one put together in code is checked here, once
    cloth    the cloth as it lies [m]; None: as the scene states it, or the typical one of its hang
    geometry  patches of a scene whose walls, things and cloth stand alike, where they are at hand [m]; None: made here
    opaque   as if black cloth hung behind the screen: pictures know no light through it
    returns  SceneArrays, its arrays read-only
    raises   SceneErrors for a scene that no file could have made
    Source: the project's frame, see scenes/geometry.py; ISO/IEC 21118 for light output to illuminance.
    """
    check_scene(scene)
    room = scene.room
    through = not opaque and follows_light_through(scene.screen, scene.lamps, scene.windows)
    own = (*room.surfaces, *(each.name for each in (*room.objects, *room.parts)))
    names = (*own, *((BACK_NAME,) if through else ()), BORDER, SCREEN_NAME)
    finishes = room.finishes
    back = [(_back_reflectance(scene.screen.fabric),) * 3] if through else []
    reflectance = [finishes[name].reflectance for name in own] + back + [scene.screen.border_finish.reflectance, (0.0, 0.0, 0.0)]
    cloth = cloth_of(scene.screen) if cloth is None else cloth
    eyes = np.array([to_inside(seat.eye_m) for seat in scene.seats], float).reshape(-1, 3)
    return SceneArrays(
        geometry=_geometry(scene, names, cloth) if geometry is None else geometry,
        projector=_projector(scene, eyes, cloth),
        fabric=scene.screen.fabric.arrays(),
        surfaces=names,
        reflectance=frozen(np.array(reflectance, float)),
        eyes=frozen(eyes),
        objects=bool(room.objects) or room.shell is not None,
        half_gain_deg=finest_deg(scene.screen.fabric),
        lamps=lamp_set(scene),
        behind=_behind(scene, names, cloth, reflectance) if through else None,
    )


def _back_reflectance(fabric: Fabric) -> float:
    """Of the cloth's back [1]: as stated, or as usual."""
    if fabric.back_reflectance is not None:
        return fabric.back_reflectance
    return usual_back((fabric.transmittance or 0.0) + fabric.open_area)


def _behind(scene: Scene, names: tuple[str, ...], cloth: Cloth, reflectance: list[tuple[float, float, float]]) -> Behind:
    """The cloth from behind."""
    fabric = scene.screen.fabric
    front = np.minimum(fabric.albedo * np.array(fabric.tint), 1.0)
    back = (np.array([_back_reflectance(fabric)]), np.zeros((0, len(LobeRow._fields))), np.ones(3), np.zeros(0))
    return Behind(
        geometry=_geometry(scene, names, cloth, turned=True),
        reflectance=frozen(np.array([*reflectance[:-1], front], float)),
        fabric=FabricArrays(*map(frozen, back)),
        transmittance=fabric.transmittance or 0.0,
        open_area=fabric.open_area,
        holes=(0.0, 0.0, 0.0) if fabric.perforation is None else fabric.perforation.kernel_numbers,
        picture=bool(fabric.transmittance),
    )


def _geometry(scene: Scene, names: tuple[str, ...], cloth: Cloth, *, turned: bool = False) -> Geometry:
    """Patches of walls, boxes, border and flat cloth, in the order of the surface names; folded cloth is a mesh over the last.

    Where there are triangles or parts of surfaces, rays meet pieces.
    Where light comes through the cloth, its back is one more patch.
    turned  that back is the screen, last and flat, and the front the other
    """
    room, half_width = scene.room, scene.room.width_m / 2.0
    boxes = [each for each in room.objects if isinstance(each, Box)]
    bodies = [each for each in room.objects if isinstance(each, Body)]
    parts, surface, role = [], [], []
    if room.shell is None:
        parts, surface, role = [room_shell(room.width_m, room.depth_m, room.height_m)], list(range(6)), [DIFFUSE] * 6
    for box in boxes:
        a, b = np.array(to_inside(box.min_m)), np.array(to_inside(box.max_m))
        parts.append(box_faces(tuple(np.minimum(a, b)), tuple(np.maximum(a, b))))
        surface += [names.index(box.name)] * 6
        role += [DIFFUSE] * 6
    for strip in _border(scene):
        parts.append(strip)
        surface.append(len(names) - 2)
        role.append(DIFFUSE)
    if BACK_NAME in names:
        parts.append(_cloth(scene) if turned else _back(scene, min(max(0.0, -cloth.lowest_m), 0.9 * scene.screen.gap_to_wall_m)))
        surface.append(len(names) - (SCREEN_FROM_END if turned else BACK_FROM_END))
        role.append(DIFFUSE)
    laid = [(part, spot) for part in room.parts for spot in spots(room, part)]
    for part, spot in laid:
        parts.append((spot.corner[None], spot.edge_u[None], spot.edge_v[None]))
        surface.append(names.index(part.name))
        role.append(DIFFUSE)
    parts.append(_back(scene, 0.0) if turned else _cloth(scene))
    surface.append(len(names) - (BACK_FROM_END if turned else SCREEN_FROM_END))
    role.append(SCREEN)
    corner, edge_u, edge_v = (np.concatenate(pieces) for pieces in zip(*parts, strict=True))
    box_room = np.array([[-half_width, -room.depth_m, 0.0], [half_width, 0.0, room.height_m]])
    whole: dict[str, Any] = {
        "corner": corner,
        "edge_u": edge_u,
        "edge_v": edge_v,
        "surface": np.array(surface),
        "role": np.array(role),
    }
    relief = () if cloth.flat or turned else make_relief(_open_cloth(scene, cloth), screen_frame(scene), len(corner) - 1)
    if room.shell is None and not bodies and not laid:
        return make_geometry(**whole, triangle=np.zeros(len(corner)), box=box_room, relief=relief)
    meshes = [] if room.shell is None else [(triangles_of(room.shell), groups_of(room.shell))]
    for body in bodies:
        number, groups = names.index(body.name), groups_of(body.mesh)
        meshes.append((triangles_of(body.mesh, number), groups._replace(surface=groups.surface + number)))
    walls = 0 if room.shell is None else len(corner)  # the shell's faces are the first patches after the whole ones
    first = len(corner) - 1 - len(laid)
    over = [LaidPart(first + i, walls + spot.face) for i, (_, spot) in enumerate(laid)]
    return make_pieced_geometry(**whole, meshes=meshes, parts=over, box=box_room if room.shell is None else None, relief=relief)


def _open_cloth(scene: Scene, cloth: Cloth) -> Cloth:
    """What is open of a folded cloth: masking cuts it straight, so its own edges are gone where it covers them."""
    area = open_area(scene)
    if (area.width_m, area.height_m) == (cloth.width_m, cloth.height_m):
        return cloth
    return Cloth(area.width_m, area.height_m, tuple(fold for fold in cloth.folds if not isinstance(fold, Outline)))


def _cloth(scene: Scene) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What is open of the white area as one flat patch facing the seats: right x up = normal."""
    frame, area = screen_frame(scene), open_area(scene)
    right, up = np.array(frame.right) * area.width_m, np.array(frame.up) * area.height_m
    return rectangle(tuple(np.array(frame.centre) - 0.5 * right - 0.5 * up), tuple(right), tuple(up))


def _back(scene: Scene, deepest_m: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The same patch turned to the wall, up x right, behind the front so that a ray meets the side it comes from.

    deepest_m  how far folds reach behind the plane [m]
    """
    corner, right, up = _cloth(scene)
    return corner - (BACK_M + deepest_m) * np.array([screen_frame(scene).normal]), up, right


def _border(scene: Scene) -> list[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Strips round what is open of the white area in the screen's plane, masking and border in one; none of no width."""
    frame, screen, area = screen_frame(scene), scene.screen, open_area(scene)
    w, h = area.width_m, area.height_m
    side, end = 0.5 * (screen.width_m - w) + screen.border_m, 0.5 * (screen.height_m - h) + screen.border_m
    if side <= 0.0 and end <= 0.0:
        return []
    right, up, centre = np.array(frame.right), np.array(frame.up), np.array(frame.centre)

    def strip(left: float, bottom: float, width: float, height: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return rectangle(tuple(centre + left * right + bottom * up), tuple(width * right), tuple(height * up))

    across = [strip(-w / 2 - side, -h / 2 - end, w + 2 * side, end), strip(-w / 2 - side, h / 2, w + 2 * side, end)]
    upright = [strip(-w / 2 - side, -h / 2, side, h), strip(w / 2, -h / 2, side, h)]
    return [*(across if end > 0.0 else []), *(upright if side > 0.0 else [])]


def _projector(scene: Scene, eyes: np.ndarray, cloth: Cloth) -> ProjectorArrays:
    """Illuminance at the raster's centre from the nine-point light output, and the beam's frame."""
    projector, frame = scene.projector, screen_frame(scene)
    area, film, seen = raster(scene), film_area(scene), picture(scene)
    fall = 1.0 - projector.corner_to_centre
    half_width, half_height = 0.5 * area.width_m, 0.5 * area.height_m
    # ISO 21118: lumens = mean illuminance of the middles of a 3 x 3 grid x area; E(r) = Ec (1 - fall r^2), r = 1 at the corner
    nine = [(x, y) for x in (-2 / 3, 0.0, 2 / 3) for y in (-2 / 3, 0.0, 2 / 3)]
    corner = half_width**2 + half_height**2
    mean = float(np.mean([1.0 - fall * ((x * half_width) ** 2 + (y * half_height) ** 2) / corner for x, y in nine]))
    lumens = projector.light_output_lm * (1.0 if projector.in_use is None else projector.in_use)
    if projector.film is not None:
        lumens *= projector.film.transmission
    spills = (
        not cloth.flat  # rays may pass the edges of a cloth that stands out
        or film.left_m < seen.left_m - 1e-9
        or film.right_m > seen.right_m + 1e-9
        or film.bottom_m < seen.bottom_m - 1e-9
        or film.top_m > seen.top_m + 1e-9
    )
    return ProjectorArrays(
        lens=frozen(np.array(to_inside(projector.lens_m), float)),
        frame=frozen(np.array([frame.centre, frame.right, frame.up, frame.normal], float)),
        raster=frozen(np.array(film)),  # bars are black: their light is told apart, see film.py
        picture=frozen(np.array([seen.left_m, seen.right_m, seen.bottom_m, seen.top_m])),
        light=frozen(np.array([lumens / area.area_m2 / mean, fall, corner])),
        heads=frozen(eyes),
        flags=frozen(np.array(_beam_flags(scene, eyes, film, spills), np.uint8)),
    )


def _beam_flags(scene: Scene, eyes: np.ndarray, area: Raster, spills: bool) -> tuple[bool, bool]:
    """Whether light can fall outside the white area, and whether an object or a head may stand in the beam."""
    frame = screen_frame(scene)
    centre, right, up = (np.array(v, float) for v in (frame.centre, frame.right, frame.up))
    sides = [(area.left_m, area.bottom_m), (area.right_m, area.bottom_m), (area.right_m, area.top_m), (area.left_m, area.top_m)]
    corners = np.array([centre + a * right + b * up for a, b in sides])
    ends = np.array([[to_inside(box.min_m), to_inside(box.max_m)] for box in scene.room.objects], float).reshape(-1, 2, 3)
    low = np.concatenate([ends.min(axis=1), eyes - HEAD_RADIUS_M])
    high = np.concatenate([ends.max(axis=1), eyes + HEAD_RADIUS_M])
    met = beam_meets(np.array(to_inside(scene.projector.lens_m), float), corners, low, high, past_screen=spills)
    lens, shell = np.array(to_inside(scene.projector.lens_m), float), scene.room.shell
    walls = shell is not None and bool(meets_pyramids(shell.triangles, np.vstack([lens, corners])[None]).any())
    return bool(spills or walls or met[: len(ends)].any()), bool(walls or met.any())
