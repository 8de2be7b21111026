"""The page's light against that of pictures, which are held against path tracing and the reference renderer in tests/views."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
import pytest
from halfgain.materials.library import find_fabric
from halfgain.materials.lobes.albedo import directional_albedos
from halfgain.scenes.head import HEAD_RADIUS_M
from halfgain.scenes.library import scene_path
from halfgain.scenes.load import load_scene, scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.light.direct import cloth_points, directions_to
from halfgain.simulate.live import shape as shape_module
from halfgain.simulate.live.edits import Edit, edited
from halfgain.simulate.live.even_light_map import even_light_map
from halfgain.simulate.live.lightmap import LightMap, Lit, flat_arrays, light_map
from halfgain.simulate.live.screen_sight import on_heads, screen_sight, sent_back
from halfgain.simulate.live.shape import Shape, shape_of
from halfgain.simulate.live.sights import BACK, HEAD_RAYS, RAYS, head_corners, places_on
from halfgain.simulate.measuring.flatten import SceneArrays
from halfgain.simulate.views.content import Content, content_of
from halfgain.simulate.views.gather import GatherPoints, gather, ray_table
from halfgain.simulate.views.primary_rays import HEAD
from halfgain.simulate.views.roomlight import RoomCells, in_fabric, light_the_room, room_before_light, room_cells, zones_of_places
from halfgain.simulate.views.shade import HEAD_REFLECTANCE, zone_levels
from halfgain.simulate.views.texture import cell_places, empty_texture, read_texture

NAME = "wide-row"
OTHER = 77  # seed of the solutions that the kept light is held against
MORE: dict[int, Any] = {}  # the rest of the rays of each map


@pytest.fixture(scope="module")
def scene() -> Scene:
    return load_scene(NAME)


@pytest.fixture(scope="module")
def content(scene: Scene) -> Content:
    return content_of(scene, "steps")


@pytest.fixture(scope="module")
def kept(scene: Scene) -> LightMap:
    return light_map(flat_arrays(scene))


@pytest.fixture(scope="module")
def others(kept: LightMap) -> RoomCells:
    """Other rays from the same cells: what solutions of the room in any paint begin from, the same bits as without them (tests/views)."""
    return room_cells(kept.arrays, seed=OTHER)


def _lit(kept: LightMap, arrays: SceneArrays, levels: np.ndarray, before: Lit | None = None) -> Lit:
    under = kept.under(arrays)
    if id(kept) not in MORE:
        *_, MORE[id(kept)] = kept.more_steps()
    return under.finer(under.lit(arrays, levels, before), MORE[id(kept)])


def _changed(*edits: Edit) -> tuple[Scene, SceneArrays]:
    new = scene_from_text(edited(scene_path(NAME).read_text(encoding="utf-8"), edits))
    return new, flat_arrays(new)


def _read(atlas: np.ndarray, at: np.ndarray) -> np.ndarray:
    """What graphics read of an atlas (rows, columns) at columns and rows (n, 2), linear between the middles of texels, at least 0."""
    low = np.floor(at).astype(int)
    (s, t), (x, y) = (at - low).T, low.T
    last = np.array(atlas.shape)[::-1] - 1
    right, down = np.minimum(x + 1, last[0]), np.minimum(y + 1, last[1])
    upper, lower = ((1 - s) * atlas[row, x] + s * atlas[row, right] for row in (y, down))
    return np.asarray(np.maximum((1 - t) * upper + t * lower, 0.0))


def _read_at(shape: Shape, k: int | np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Columns and rows (..., 2) at which triangles k read, at places by the weights (..., 3) of their corners: ratios of two straight runs."""
    pull = weight[..., None] * shape.pull[shape.corners[k]]
    return np.asarray((pull * shape.at[shape.corners[k]]).sum(axis=-2) / pull.sum(axis=-2))


def test_a_triangle_reads_what_pictures_read_there(scene: Scene, content: Content, kept: LightMap) -> None:
    """Held against `read_texture` at places inside triangles: corners stand where a ratio says where texels lie, but for a little."""
    lit = _lit(kept, kept.arrays, zone_levels(scene, content))
    shape, atlas = kept.shape, lit.atlas()[..., 0]
    geometry, texture = kept.arrays.geometry, lit.room.values.radiance
    rng, mean = np.random.default_rng(5), lit.cells.mean()
    worst = []
    for k in rng.choice(len(shape.corners), 300, replace=False):
        weight = rng.dirichlet([1.0, 1.0, 1.0])
        place = weight @ shape.place[shape.corners[k]]
        inside = np.array([place[0], -place[2], place[1]])
        patches = [p for p in np.flatnonzero(geometry.surface == shape.surface[shape.corners[k, 0]]) if texture.first[p] >= 0]
        off = [abs((inside - geometry.corner[p]) @ geometry.normal[p]) for p in patches]
        out = np.zeros(texture.value.shape[1])
        best = []
        for p in np.array(patches)[np.array(off) < 1e-5]:
            rest = inside - geometry.corner[p]
            u, v = (rest @ e / (e @ e) for e in (geometry.edge_u[p], geometry.edge_v[p]))
            beyond = [shape_module.OVERLAP_M / np.linalg.norm(e) + 1e-6 for e in (geometry.edge_u[p], geometry.edge_v[p])]
            if all(-most <= x <= 1.0 + most for x, most in zip((u, v), beyond, strict=True)):
                read_texture(texture, p, np.clip(u, 0, 1 - 1e-9), np.clip(v, 0, 1 - 1e-9), out)
                ours = _read(atlas, _read_at(shape, k, weight)[None])[0]
                best.append(abs(out[0] - ours) / max(mean, out[0]))
        worst.append(min(best))
    assert max(worst) < 0.02
    assert float(np.mean(worst)) < 0.001


@pytest.mark.parametrize("name", ["attic", "l-living-room"])
def test_rooms_that_are_no_boxes_are_covered_by_their_triangles(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Areas by surface are the mesh's own; a corner's light is a mean of its cells' where these are even."""
    monkeypatch.setattr(shape_module, "OVERLAP_M", 0.0)
    scene = load_scene(name)
    arrays = flat_arrays(scene)
    texture = empty_texture(arrays.geometry, arrays.projector, 1)
    shape = shape_of(arrays, texture)
    assert scene.room.shell is not None
    own = scene.room.shell.areas_m2()
    a, b, c = (shape.place[shape.corners[:, k]].astype(float) for k in range(3))
    area = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    for k in np.unique(shape.surface):
        surface = arrays.surfaces[k]
        if surface in own:
            assert area[shape.surface[shape.corners[:, 0]] == k].sum() == pytest.approx(own[surface], rel=1e-5), surface
    even = shape.light(np.full((len(texture.value), 1), 7.0))[..., 0]
    assert _read(even, shape.at.astype(float)) == pytest.approx(7.0, rel=1e-5)
    places = cell_places(arrays.geometry, texture)[0]  # a light that is linear in the place is read exactly, cell to cell
    linear = 5.0 + places @ np.array([0.3, 0.2, 0.4])
    weight = np.random.default_rng(3).dirichlet([1.0, 1.0, 1.0], len(shape.corners))
    place = np.einsum("fk,fkc->fc", weight, shape.place[shape.corners])
    here = np.stack([place[:, 0], -place[:, 2], place[:, 1]], axis=1)
    off = _read(shape.light(linear[:, None])[..., 0], _read_at(shape, np.arange(len(weight)), weight)) - (
        5.0 + here @ np.array([0.3, 0.2, 0.4])
    )
    assert np.abs(off).max() < 0.004


def test_triangles_face_into_the_room_and_cover_it(kept: LightMap, monkeypatch: pytest.MonkeyPatch) -> None:
    """Areas by surface are those of the patches (geometry), normals those of glTF's anticlockwise fronts."""
    monkeypatch.setattr(shape_module, "OVERLAP_M", 0.0)
    shape, geometry = shape_of(kept.arrays, kept.room.values.radiance), kept.arrays.geometry
    a, b, c = (shape.place[shape.corners[:, k]].astype(float) for k in range(3))
    cross = np.cross(b - a, c - a)
    area = 0.5 * np.linalg.norm(cross, axis=1)
    whole = np.linalg.norm(np.cross(geometry.edge_u, geometry.edge_v), axis=1)
    for surface in np.unique(shape.surface):
        own = shape.surface[shape.corners[:, 0]] == surface
        assert area[own].sum() == pytest.approx(whole[geometry.surface == surface].sum(), rel=1e-4)
    middle = np.array([0.0, 1.2, 2.0])
    walls = shape.surface[shape.corners[:, 0]] < 6
    assert ((((middle - a) * cross).sum(axis=1) > 0) | (area < 1e-9))[walls].all()


@pytest.mark.parametrize(
    "edits",
    [
        (), (Edit("set", "room.finish.ceiling", 0.2),), (Edit("set", "room.finish.back", {"reflectance": [0.7, 0.3, 0.1]}),),
        (Edit("set", "projector.light_output_lm", 400), Edit("set", "room.finish.left", 0.9)),
    ],
)  # fmt: skip
def test_repainted_light_is_that_of_a_fresh_solution(
    content: Content, kept: LightMap, others: RoomCells, edits: tuple[Edit, ...]
) -> None:
    """Two independent sets of rays (other seeds): the mean by surface within 1 %, single cells within their noise."""
    scene, arrays = _changed(*edits)
    levels = zone_levels(scene, content)
    warm = _lit(kept, kept.arrays, zone_levels(load_scene(NAME), content))
    found = _lit(kept, arrays, levels, warm)
    alike = np.array_equal(arrays.projector.light, kept.arrays.projector.light)
    fresh = light_the_room(arrays, levels, seed=OTHER, cells=others if alike else None)
    ours, other = found.cells.mean(axis=1), fresh.values.radiance.value.mean(axis=1)
    surface = arrays.geometry.surface[kept.owner]
    for k in np.unique(surface):
        own = surface == k
        assert ours[own].mean() == pytest.approx(other[own].mean(), rel=0.01), arrays.surfaces[k]
    assert np.sqrt(np.mean((ours - other) ** 2)) < 0.02 * other.mean()


@pytest.mark.parametrize("fabric", ["pearl", "beaded", "silver"])
def test_another_fabric_lights_the_cells_as_if_the_screen_were_sampled_for_it(kept: LightMap, fabric: str) -> None:
    """A lobe from a table, one with entrance fall-off, one that is worked out: first light against `zone_map`'s own sums.

    Lobes' means over zones do not heed what part of a zone is hidden: 0.3 % rms of the light, 0.2 % by surface.
    """
    _, arrays = _changed(Edit("set", "screen.fabric", fabric))
    room = room_before_light(arrays, np.ones((192, 3)))
    ours, other = kept.under(arrays).lux.sum(axis=1), zones_of_places(room, kept.place, kept.owner).sum(axis=1)
    surface = arrays.geometry.surface[kept.owner]
    for k in np.unique(surface):
        assert ours[surface == k].mean() == pytest.approx(other[surface == k].mean(), rel=0.002, abs=1e-9), arrays.surfaces[k]
    assert np.sqrt(np.mean((ours - other) ** 2)) < 0.003 * other.mean()


@pytest.mark.usefixtures("coarse")
def test_a_black_room_that_is_painted_has_the_light_of_the_painted_room() -> None:
    # Expected: what is solved without the black room's answer to begin from
    black = scene_path("black-box").read_text(encoding="utf-8")
    bare, painted = (
        scene_from_text(text) for text in (black, edited(black, (Edit("set", "room.finish.ceiling", {"reflectance": 0.4}),)))
    )
    kept, levels = light_map(flat_arrays(bare)), zone_levels(bare, content_of(bare, "grid"))
    dark = _lit(kept, kept.arrays, levels)
    assert not dark.cells.any()
    arrays = flat_arrays(painted)
    assert _lit(kept, arrays, levels, dark).cells == pytest.approx(_lit(kept, arrays, levels).cells, rel=1e-6)


def test_another_fabric_on_kept_rays_is_the_solution_traced_for_it(content: Content, kept: LightMap, others: RoomCells) -> None:
    """Other rays, so within their noise: the mean by surface within 1 %."""
    scene, arrays = _changed(Edit("set", "screen.fabric", "beaded"), Edit("set", "room.finish.back", 0.6))
    levels = zone_levels(scene, content)
    traced = light_the_room(arrays, levels, seed=OTHER, cells=in_fabric(others, arrays, seed=OTHER))
    ours, other = _lit(kept, arrays, levels).cells[:, 0], traced.values.radiance.value[:, 0]
    surface = arrays.geometry.surface[kept.owner]
    for k in np.unique(surface):
        assert ours[surface == k].mean() == pytest.approx(other[surface == k].mean(), rel=0.01), arrays.surfaces[k]


def test_another_picture_needs_no_new_rays(scene: Scene, kept: LightMap) -> None:
    """Half the level everywhere, half the light: linearity."""
    full, half = (_lit(kept, kept.arrays, np.full((192, 1), level)) for level in (1.0, 0.5))
    assert half.cells == pytest.approx(0.5 * full.cells, rel=2e-3, abs=1e-9)


def test_what_the_seat_sees_of_the_cloth_is_what_measure_reads(scene: Scene, kept: LightMap) -> None:
    """White at the picture's middle: the projector's own part exactly, what the room sends back within 3 % of a measurement's."""
    from halfgain.simulate.measuring.measure import measure

    reading = measure(scene, error=0.003)
    lit = _lit(kept, kept.arrays, np.ones((192, 1)))
    for seat, read in enumerate(reading.seats):
        sight = screen_sight(kept.arrays, seat)
        direct = sight.direct[13:15, 24].mean()
        assert direct == pytest.approx(read.direct["centre"].value, rel=2e-3)
        back = sent_back(lit, seat)[4:6, 8, 0].mean()
        assert back == pytest.approx(read.white["centre"].value - read.direct["centre"].value, rel=0.03)


@pytest.mark.parametrize("fabric", ["silver", "beaded", "rough matt cloth", "louvred short-throw"])
def test_even_light_between_few_places_is_what_every_place_gives_back(kept: LightMap, fabric: str) -> None:
    """Smooth lobes, and two fabrics with an edge in what they give back, to what a half float of the map holds."""
    arrays = kept.arrays._replace(fabric=find_fabric(fabric).arrays())
    for seat in (0, 2):
        across, upward = (part.reshape(28, 49)[::9, 2::6].ravel() for part in places_on(arrays, 49, 28))
        cloth = cloth_points(arrays.geometry, arrays.projector, across, upward)
        each = directional_albedos(arrays.fabric, np.ascontiguousarray(directions_to(cloth, arrays.eyes[[seat]])[:, 0]))
        assert even_light_map(arrays, seat, 49, 28)[::9, 2::6].ravel() == pytest.approx(each, rel=2.4e-4)


@pytest.mark.parametrize("fabric", ["matt white", "silver"])
def test_kept_rays_from_cloth_and_heads_bring_what_a_gather_brings(content: Content, kept: LightMap, fabric: str) -> None:
    """The same rays traced anew by `gather`, at other finishes, fabric and lumens than they were kept for."""
    scene, arrays = _changed(
        Edit("set", "screen.fabric", fabric), Edit("set", "room.finish.left", 0.7), Edit("set", "projector.light_output_lm", 700)
    )
    lit = _lit(kept, arrays, zone_levels(scene, content))
    traced = partial(gather, arrays.geometry, arrays.projector, arrays.fabric, lit.room.values)
    cloth = cloth_points(arrays.geometry, arrays.projector, *places_on(arrays, *BACK))
    away = arrays.eyes[1] - cloth.place
    away /= np.linalg.norm(away, axis=1, keepdims=True)
    points = GatherPoints(cloth.place, cloth.normal, cloth.patch, away)
    back = traced(points, ray_table(RAYS, 1))
    assert sent_back(lit, 1)[..., 0].ravel() == pytest.approx(back[:, 0], rel=2e-4, abs=1e-6)
    way, eye = head_corners(), arrays.eyes[2]
    points = GatherPoints(eye + HEAD_RADIUS_M * way, way, np.full(len(way), HEAD, np.int32), way)
    heads = HEAD_REFLECTANCE * traced(points, ray_table(HEAD_RAYS, 1))
    assert on_heads(lit)[2, :, 0] == pytest.approx(heads[:, 0], rel=2e-4, abs=1e-6)
