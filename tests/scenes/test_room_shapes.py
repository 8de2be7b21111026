"""Rooms by outline and by mesh, parts of surfaces, meshes as things: what they are, what is refused and in which words."""

from __future__ import annotations

import json
import math
import struct
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from halfgain.scenes.library import scene_path
from halfgain.scenes.load import SceneErrors, scene_from_text
from halfgain.scenes.model import Body, SurfacePart
from halfgain.scenes.rooms.inside import distances, is_inside, meets_box, winding
from halfgain.scenes.rooms.outline import RoomPlan, shell_of
from halfgain.scenes.rooms.polygon import area_m2, convex_parts, first_crossing, triangles
from halfgain.scenes.rooms.read_mesh import Placing, UnusableMesh, axes_matrix, read_parts
from halfgain.scenes.rooms.sound_mesh import in_order
from halfgain.scenes.rooms.spots import areas_m2
from halfgain.scenes.warning import WarningCode
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.lamps import window_rectangle
from halfgain.simulate.measuring.solver import measuring_points

PLAN = """format = 1
[room]
outline_m = [[-2.5, 0], [2.0, 0], [2.0, 3.0], [4.5, 3.0], [4.5, 6.5], [-2.5, 6.5]]
walls = ["front", "right", "bay front", "right", "back", "left"]
height_m = 2.5
[room.finish]
front = 0.5
back = 0.5
left = 0.5
right = 0.5
"bay front" = 0.7
ceiling = 0.7
floor = 0.2
"""
REST = """[projector]
light_output_lm = 1000
native_contrast = 3000
lens_m = [0.0, 4.5, 2.2]
[screen]
width_m = 2.4
aspect = "16:9"
bottom_m = 0.7
gap_to_wall_m = 0.10
fabric = "matt white"
[[seat]]
name = "middle"
eye_m = [0.0, 3.6, 1.1]
"""
SIX = "front = 0.5\nback = 0.5\nleft = 0.5\nright = 0.5\nceiling = 0.5\nfloor = 0.5\n"
SIDES = '[room]\nmesh = "{file}"\nnames = "{names}"\n{more}[room.finish]\n' + SIX


def refused(text: str, folder: Path | str = ".") -> list[str]:
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(text, "s.toml", folder)
    return str(caught.value).splitlines()


def test_an_outline_is_a_closed_room_with_its_own_areas() -> None:
    # Expected: rectangles by hand, 4.5 x 3 + 7 x 3.5 m on plan, 2.5 m high
    room = scene_from_text(PLAN + REST).room
    assert room.surfaces == ("front", "back", "left", "right", "ceiling", "floor", "bay front")
    assert room.shell is not None
    assert room.shell.volume_m3 == pytest.approx((4.5 * 3 + 7 * 3.5) * 2.5)
    assert areas_m2(room) == pytest.approx(
        {"front": 11.25, "back": 17.5, "left": 16.25, "right": 16.25, "ceiling": 38.0, "floor": 38.0, "bay front": 6.25}
    )
    assert np.ravel(room.limits) == pytest.approx([-2.5, 4.5, 0.0, 6.5, 0.0, 2.5])


@pytest.mark.parametrize("turned", [False, True])
def test_an_outline_may_run_either_way_round(turned: bool) -> None:
    corners = ((-2.5, 0.0), (2.0, 0.0), (2.0, 3.0), (4.5, 3.0), (4.5, 6.5), (-2.5, 6.5))
    walls = ("front", "right", "bay front", "right", "back", "left")
    if turned:
        corners, walls = corners[::-1], (*walls[::-1][1:], walls[-1])
    mesh = shell_of(RoomPlan(corners, walls, (2.5,) * 6))
    assert mesh.volume_m3 == pytest.approx(95.0)  # positive: it faces inwards
    left = mesh.triangles[mesh.surface == mesh.names.index("left")]
    assert left[..., 0] == pytest.approx(-2.5)


def test_a_sloped_ceiling_has_the_volume_and_area_of_its_prism() -> None:
    # Expected: trapezium 4.4 and 1.8 m wide over a box 1.2 m high; slopes of 1.3 sqrt 2 m
    corners = ((-2.2, 0.0), (-0.9, 0.0), (0.9, 0.0), (2.2, 0.0), (2.2, 5.4), (0.9, 5.4), (-0.9, 5.4), (-2.2, 5.4))
    walls = ("front",) * 3 + ("right",) + ("back",) * 3 + ("left",)
    mesh = shell_of(RoomPlan(corners, walls, (1.2, 2.5, 2.5, 1.2) * 2, ((1, 6), (2, 5))))
    assert mesh.volume_m3 == pytest.approx(5.4 * (4.4 * 1.2 + 0.5 * (4.4 + 1.8) * 1.3))
    assert mesh.areas_m2()["ceiling"] == pytest.approx(5.4 * (1.8 + 2.0 * 1.3 * math.sqrt(2.0)))
    edges = np.sort(np.stack([mesh.faces, np.roll(mesh.faces, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    assert set(np.unique(edges, axis=0, return_counts=True)[1]) == {2}  # closed


def test_polygons_are_cut_into_convex_parts_of_the_same_area() -> None:
    random = np.random.default_rng(3)
    for _ in range(40):
        turn = np.sort(random.uniform(0.0, 2.0 * np.pi, random.integers(4, 12)))
        ring = np.column_stack([np.cos(turn), np.sin(turn)]) * random.uniform(0.3, 1.0, len(turn))[:, None]
        if area_m2(ring) < 1e-3 or first_crossing(ring) is not None:
            continue
        parts = convex_parts(ring)
        assert sum(area_m2(ring[part]) for part in parts) == pytest.approx(area_m2(ring))
        assert sum(area_m2(ring[list(each)]) for each in triangles(ring)) == pytest.approx(area_m2(ring))
        for part in parts:
            p = ring[part]
            a, b = np.roll(p, -1, axis=0) - p, np.roll(p, -2, axis=0) - np.roll(p, -1, axis=0)
            assert (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0] >= -1e-9).all()


BROKEN = [
    ("height_m = 2.5\n", "", ["2: room.height_m: is missing: give height_m or heights_m"]),
    ("height_m = 2.5\n", "height_m = 2.5\nheights_m = [2, 2, 2, 2, 2, 2]\n", ["6: room.heights_m: stands beside height_m: give one of them"]),
    ('"back", "left"]', '"back"]', ["4: room.walls: has 5 entries for 6 corners (allowed 6, one for each corner)"]),
    ("[2.0, 3.0], ", "[2.0, -0.5], ", ["3: room.outline_m[3]: lies behind the screen wall"]),
    ("[4.5, 3.0], ", "[-4.5, 3.0], ", ["3: room.outline_m[6]: the wall that begins here meets the one from corner 3"]),
    ("[4.5, 6.5], ", "[4.5, 1e308], ", ["3: room.outline_m[5][2]: is out of range (got 1e+308; allowed -100 to 100 m)"]),
    ("gap_to_wall_m = 0.10\n", "gap_to_wall_m = 0.10\nborder_m = 5e-324\n", ["screen.border_m: is a border without width (got 5e-324; allowed 0"]),
    ('"front", "right", "bay', '"side", "right", "bay', ["4: room.walls[1]: is on the screen wall, at out = 0 (got \"side\"; allowed front)"]),
    ("height_m = 2.5\n", "heights_m = [2.5, 2.5, 2.5, 2.5, 2.5, 1.5]\n", ["room.ceiling_bends: the ceiling over corners 1, 2, 3, 4, 5, 6 is"]),
    ("height_m = 2.5\n", "height_m = 2.5\nceiling_bends = [[1, 2]]\n", ["room.ceiling_bends: corners 1 and 2 are neighbours"]),
    ("height_m = 2.5\n", "height_m = 2.5\nceiling_bends = [[1, 9]]\n", ["room.ceiling_bends[1]: should be two corners of the outline"]),
    ('"bay front" = 0.7\n', "", ["room.finish.bay front: is missing"]),
    ('"bay front" = 0.7\n', '"bay frnt" = 0.7\n', ['is no surface of the room: did you mean "bay front"?', "room.finish.bay front: is missing"]),
    ("front = 0.5\n", "front = 1.5\n", ["room.finish.front: is out of range (got 1.5; allowed a finish"]),
    ("lens_m = [0.0, 4.5, 2.2]", "lens_m = [3.0, 1.5, 2.2]", ["projector.lens_m: the lens is outside the room, or within 1 mm of a wall"]),
    ("eye_m = [0.0, 3.6, 1.1]", "eye_m = [3.0, 2.0, 1.1]", ['seat[1].eye_m: the eye of "middle" is outside the room']),
    ("width_m = 2.4", "width_m = 4.4", ["do not fit their wall"]),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "says"), BROKEN, ids=[f"{new[:40]!r}" for _, new, _ in BROKEN])
def test_what_makes_no_room_is_refused_by_name(old: str, new: str, says: list[str]) -> None:
    text = PLAN + REST
    assert text.count(old) >= 1
    lines = refused(text.replace(old, new, 1))
    assert len(lines) == len(says), lines
    for line, words in (
        zip(sorted(lines), sorted(says), strict=True) if len(says) == 1 else ((" ".join(lines), word) for word in says)
    ):
        assert words in line


def test_a_thing_through_a_wall_is_refused_and_one_in_the_bay_is_not() -> None:
    thing = '[[room.object]]\nname = "shelf"\nbox = {{ min_m = [{}, 0], max_m = [{}, 2] }}\nfinish = 0.5\n'
    assert scene_from_text(PLAN + thing.format("3.0, 3.0", "4.5, 3.4") + REST).room.objects
    lines = refused(PLAN + thing.format("1.5, 1.0", "2.5, 1.4") + REST)
    assert 'room.object[1].box.max_m: "shelf" reaches through a wall or the ceiling' in lines[0]


def test_a_wall_in_the_beam_and_in_sight_is_warned_of() -> None:
    scene = scene_from_text(
        PLAN + REST.replace("lens_m = [0.0, 4.5", "lens_m = [3.5, 4.5").replace("eye_m = [0.0, 3.6", "eye_m = [3.5, 4.0")
    )
    found = {warning.code: warning.text for warning in scene.warnings}
    assert "reaches into the projector's beam" in found[WarningCode.WALL_IN_BEAM]
    assert '"right"' in found[WarningCode.IN_SIGHT]


def test_parts_take_their_area_from_their_surface_later_ones_from_earlier_ones() -> None:
    parts = (
        '[[room.part]]\nname = "rug"\non = "floor"\nright_m = [-1, 1]\nout_m = [2, 4]\nfinish = 0.1\n'
        '[[room.part]]\nname = "mat"\non = "floor"\nright_m = [0, 1]\nout_m = [2, 3]\nfinish = 0.1\n'
        '[[room.part]]\nname = "curtain"\non = "left"\nout_cm = [0, 300]\nfinish = 0.1\n'
    )
    room = scene_from_text(PLAN + parts + REST).room
    assert room.parts[2] == SurfacePart(
        "curtain", "left", ((-math.inf, math.inf), (0.0, 3.0), (-math.inf, math.inf)), room.parts[2].finish
    )
    found = areas_m2(room)
    assert found["rug"] == pytest.approx(3.0, abs=0.02)
    assert found["mat"] == pytest.approx(1.0, abs=0.02)
    assert found["floor"] == pytest.approx(34.0, abs=0.02)
    assert found["curtain"] == pytest.approx(7.5)


def test_parts_that_lie_nowhere_are_refused() -> None:
    part = '[[room.part]]\nname = "{}"\non = "{}"\n{}\nfinish = 0.1\n'
    for name, on, span, says in (
        ("rug", "flor", "", 'room.part[1].on: is no surface of the room: did you mean "floor"?'),
        ("rug", "floor", "out_m = [7, 8]", 'room.part[1].on: no part of "floor" lies there'),
        ("rug", "floor", "right_m = [3, 4]\nout_m = [0, 2]", 'room.part[1].on: no part of "floor" lies there'),
        ("rug", "floor", "out_m = [3, 2]", "room.part[1].out_m: should be [from, to]"),
        ("left", "floor", "", "room.part[1].name: is the name of a surface: take another"),
    ):
        assert says in refused(PLAN + part.format(name, on, span) + REST)[0]


def test_a_part_follows_repaints_and_changes() -> None:
    part = '[[room.part]]\nname = "rug"\non = "floor"\nout_m = [1, 2]\nfinish = 0.1\n'
    scene = scene_from_text(PLAN + part + REST)
    assert scene.with_finish("rug", 0.4).room.finishes["rug"].luminous == pytest.approx(0.4)
    assert scene.with_finish("bay front", 0.2).room.finish["bay front"].luminous == pytest.approx(0.2)
    assert scene.change("room.part.rug.out_m", [1, 3]).room.parts[0].span_m[1] == (1.0, 3.0)


def glb(meshes: dict[str, trimesh.Trimesh]) -> bytes:
    scene = trimesh.Scene()
    for name, mesh in meshes.items():
        material = trimesh.visual.material.PBRMaterial(name=f"of {name}")
        mesh.visual = trimesh.visual.TextureVisuals(material=material)
        scene.add_geometry(mesh, node_name=name, geom_name=f"{name} mesh")
    return bytes(scene.export(file_type="glb"))


def l_mesh(axes: np.ndarray) -> trimesh.Trimesh:
    """The L of PLAN as one mesh in glTF axes (right, up, out), turned outwards as modellers do, then mapped."""
    shell = scene_from_text(PLAN + REST).room.shell
    assert shell is not None
    gltf = np.column_stack([shell.corners[:, 0], shell.corners[:, 2], -shell.corners[:, 1]])
    return trimesh.Trimesh(gltf @ axes.T, shell.faces[:, ::-1], process=False)


GLTF = np.eye(3)
Z_UP = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])  # x right, y in, z up
LEFT_HANDED = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]])  # x right, y out, z up


@pytest.mark.parametrize(
    ("axes", "words"),
    [(GLTF, ["right", "up", "out"]), (Z_UP, ["right", "in", "up"]), (LEFT_HANDED, ["right", "out", "up"])],
    ids=["y up", "z up", "left-handed"],
)
@pytest.mark.parametrize("ending", ["glb", "obj", "ply"])
def test_an_l_keeps_its_left_on_left_whatever_the_axes(tmp_path: Path, axes: np.ndarray, words: list[str], ending: str) -> None:
    mesh = l_mesh(axes)
    written = glb({"room": mesh}) if ending == "glb" else mesh.export(file_type=ending)
    (tmp_path / f"l.{ending}").write_bytes(written if isinstance(written, bytes) else written.encode())
    more = f'axes = {words}\nunit = "m"\n'.replace("'", '"')
    room = scene_from_text("format = 1\n" + SIDES.format(file=f"l.{ending}", names="sides", more=more) + REST, "s", tmp_path).room
    assert room.shell is not None
    assert room.shell.volume_m3 == pytest.approx(95.0, rel=1e-5)  # inwards
    left = room.shell.triangles[room.shell.surface == room.shell.names.index("left")]
    assert left[..., 0] == pytest.approx(-2.5, abs=1e-6)
    assert float(room.shell.areas_m2()["right"]) == pytest.approx(16.25, rel=1e-5)
    assert np.ravel(room.limits) == pytest.approx([-2.5, 4.5, 0.0, 6.5, 0.0, 2.5], abs=1e-6)


def test_a_room_by_parts_and_by_materials(tmp_path: Path) -> None:
    shell = scene_from_text(PLAN + REST).room.shell
    assert shell is not None
    gltf = np.column_stack([shell.corners[:, 0], shell.corners[:, 2], -shell.corners[:, 1]])
    parts = {name: trimesh.Trimesh(gltf, shell.faces[shell.surface == i], process=False) for i, name in enumerate(shell.names)}
    (tmp_path / "room.glb").write_bytes(glb(parts))
    finish = "".join(f'"{name}" = 0.5\n' for name in shell.names)
    room = scene_from_text(f'format = 1\n[room]\nmesh = "room.glb"\n[room.finish]\n{finish}' + REST, "s", tmp_path).room
    assert room.shell is not None
    assert room.shell.areas_m2() == pytest.approx(shell.areas_m2(), rel=1e-5)
    finish = "".join(f'"of {name}" = 0.5\n' for name in shell.names)
    text = f'format = 1\n[room]\nmesh = "room.glb"\nnames = "materials"\n[room.finish]\n{finish}'
    assert scene_from_text(text + REST, "s", tmp_path).room.surfaces[0].startswith("of ")
    lines = refused('format = 1\n[room]\nmesh = "room.glb"\n[room.finish]\nfront = 0.5\n' + REST, tmp_path)
    assert "room.finish.bay front: is missing" in "".join(lines)


def test_leaks_turned_and_doubled_triangles_are_found_and_named(tmp_path: Path) -> None:
    mesh = l_mesh(GLTF)
    faces = np.array(mesh.faces)
    faces[3] = faces[3][::-1]  # turned
    faces = np.concatenate([faces[1:], faces[5:6]])  # one away, one double
    (tmp_path / "l.ply").write_bytes(trimesh.Trimesh(mesh.vertices, faces, process=False).export(file_type="ply"))
    scene = scene_from_text("format = 1\n" + SIDES.format(file="l.ply", names="sides", more='unit = "m"\n') + REST, "s", tmp_path)
    found = {warning.code: warning.text for warning in scene.warnings}
    assert "3 open edges" in found[WarningCode.ROOM_LEAKS]
    assert "of all directions lead out" in found[WarningCode.ROOM_LEAKS]
    assert "1 of the room's" in found[WarningCode.MESH_TURNED]
    assert "1 triangles of the room's mesh lay twice" in found[WarningCode.MESH_DOUBLED]


def test_a_mesh_that_shuts_nothing_in_is_no_room(tmp_path: Path) -> None:
    (tmp_path / "l.ply").write_bytes(trimesh.creation.box((4, 0.001, 6)).export(file_type="ply"))
    half = trimesh.Trimesh(*[(m := l_mesh(GLTF)).vertices, m.faces[:4]], process=False)
    (tmp_path / "half.ply").write_bytes(half.export(file_type="ply"))
    lines = refused("format = 1\n" + SIDES.format(file="half.ply", names="sides", more='unit = "m"\n') + REST, tmp_path)
    assert "room.mesh: is no room: from its middle" in lines[0]


def test_a_thing_by_its_mesh_is_placed_turned_and_faces_outwards(tmp_path: Path) -> None:
    box = trimesh.creation.box((2.0, 0.8, 0.9))  # right, up, out
    box.faces = box.faces[:, ::-1]  # inside out
    (tmp_path / "sofa.obj").write_text(box.export(file_type="obj"), encoding="utf-8")
    thing = '[[room.object]]\nname = "sofa"\nmesh = "sofa.obj"\nunit = "m"\nat_m = [0.5, 5.0, 0.4]\nturn_deg = 90\nfinish = 0.3\n'
    body = scene_from_text(PLAN + thing + REST, "s", tmp_path).room.objects[0]
    assert isinstance(body, Body)
    assert body.min_m == pytest.approx((0.05, 4.0, 0.0))
    assert body.max_m == pytest.approx((0.95, 6.0, 0.8))
    assert body.mesh.volume_m3 == pytest.approx(-2.0 * 0.8 * 0.9)  # seen from outside
    assert not body.mesh.sheet.any()


def test_a_sheet_of_one_side_reflects_on_both(tmp_path: Path) -> None:
    (tmp_path / "c.obj").write_text("o cloth\nv 0 0 0\nv 1 0 0\nv 1 2 0\nv 0 2 0\nf 1 2 3 4\n", encoding="utf-8")
    thing = '[[room.object]]\nname = "cloth"\nmesh = "c.obj"\nunit = "m"\nat_m = [0, 5, 0]\nfinish = 0.3\n'
    body = scene_from_text(PLAN + thing + REST, "s", tmp_path).room.objects[0]
    assert isinstance(body, Body)
    assert body.mesh.sheet.all()


@pytest.mark.parametrize(
    ("more", "text", "says"),
    [
        ("", "v 0 0 0\n", "room.object[1].unit: is missing: OBJ files do not say their unit (allowed m, cm, mm, in, ft)"),
        ('unit = "m"\n', "v 0 0 0\n", "room.object[1].mesh: holds no triangles"),
        ('unit = "m"\n', "v 0 0 0\nf 1 2 3\n", 'room.object[1].mesh: line 2: "2" is no corner of the file'),
        ('unit = "m"\n', "v 0 0\n", "room.object[1].mesh: line 1: a corner should have three numbers"),
        ('unit = "m"\n', "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2\n", "room.object[1].mesh: line 4: a face of 2 corners"),
        ('unit = "m"\nbox = { min_m = [0, 5, 0], max_m = [1, 6, 1] }\n', "v 0 0 0\n", "room.object[1].mesh: stands beside box"),
        ('unit = "m"\naxes = ["up", "up", "out"]\n', "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "room.object[1].axes: name one line twice"),
        ('unit = "m"\nmesh_part = "legz"\n', "o legs\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", 'is no part of the mesh: did you mean "legs"?'),
        ('unit = "m"\nat_m = [9, 5, 0]\n', "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", '"thing" reaches outside the room: right 9 to 10 m'),
    ],
)  # fmt: skip
def test_meshes_that_cannot_be_used_are_refused_by_key(tmp_path: Path, more: str, text: str, says: str) -> None:
    (tmp_path / "t.obj").write_text(text, encoding="utf-8")
    thing = f'[[room.object]]\nname = "thing"\nmesh = "t.obj"\n{more}finish = 0.3\n'
    assert says in "\n".join(refused(PLAN + thing + REST, tmp_path))


def test_a_missing_or_unknown_mesh_is_refused(tmp_path: Path) -> None:
    for name, says in (("none.glb", "room.mesh: no such file"), ("x.step", 'room.mesh: is of an unknown kind: ".step"')):
        assert says in refused("format = 1\n" + SIDES.format(file=name, names="sides", more="") + REST, tmp_path)[0]


def test_the_axes_of_gltf_are_the_rooms_own() -> None:
    matrix = axes_matrix(("right", "up", "out"))
    assert np.linalg.det(matrix) == pytest.approx(1.0)
    assert matrix @ [1.0, 2.0, 3.0] == pytest.approx([1.0, -3.0, 2.0])
    with pytest.raises(UnusableMesh):
        axes_matrix(("left", "right", "up"))


def test_what_is_inside_a_mesh() -> None:
    # Expected: of a unit cube by sight; the winding number is 1 however near a wall
    cube = trimesh.creation.box((1, 1, 1))
    places = np.array([[0.0, 0, 0], [0.499, 0.499, 0.499], [0.501, 0, 0], [3.0, 0, 0]])
    assert is_inside(cube.triangles, places).tolist() == [True, True, False, False]
    assert winding(cube.triangles, places[:2]) == pytest.approx(1.0)
    assert distances(cube.triangles, np.array([0.7, 0.7, 0.0])).min() == pytest.approx(0.2 * math.sqrt(2.0))
    assert meets_box(cube.triangles, np.array([-2.0, -0.1, -0.1]), np.array([2.0, 0.1, 0.1])).any()
    assert not meets_box(cube.triangles, np.array([0.5, -0.1, -0.1]), np.array([2.0, 0.1, 0.1])).any()
    assert not meets_box(cube.triangles, np.array([-0.4, -0.4, -0.4]), np.array([0.4, 0.4, 0.4])).any()


def test_triangles_back_to_back_become_one_sheet() -> None:
    corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0.0, 0, 0], [0, 1, 0], [1, 0, 0]])
    found = in_order(corners, np.array([[0, 1, 2], [3, 4, 5]]))
    assert len(found.faces) == 1
    assert found.sheet.tolist() == [True]


def test_pictures_in_a_glb_are_never_looked_at(tmp_path: Path) -> None:
    data = glb({"a": trimesh.creation.box()})
    assert read_parts(_written(tmp_path, data), Placing(None, ("right", "up", "out"), (0, 0, 0), 0.0))[0].material == "of a"
    spoilt = data.replace(b'"materials":[{', b'"images":[{"uri":"/dev/zero"}],"materials":[{')
    assert spoilt != data


def _written(folder: Path, data: bytes) -> Path:
    path = folder / "m.glb"
    path.write_bytes(data)
    return path


WINDOW = '[[window]]\nname = "w"\nsurface = "{0}"\n{1}luminance_cd_m2 = 200\n[[light]]\nname = "day"\nwindows = {{ w = 1.0 }}\n'


def test_a_window_may_be_in_any_named_wall_and_in_a_slope() -> None:
    """In the bay of an L and in a slope of the attic: its rectangle, what it lights, and the names that are no surface."""
    bay = scene_from_text(PLAN + REST + WINDOW.format("bay front", "right_m = [2.4, 3.6]\nup_m = [0.8, 2.0]\n"))
    corner, u, v, normal = window_rectangle(bay.windows[0], bay.room)
    assert normal == pytest.approx([0.0, -1.0, 0.0])  # into the bay
    assert np.linalg.norm(np.cross(u, v)) == pytest.approx(1.44)
    assert corner[1] == pytest.approx(-3.0, abs=1e-5)
    attic = scene_path("attic").read_text(encoding="utf-8")
    roof = scene_from_text(attic + WINDOW.format("ceiling 3", "out_m = [2.0, 2.8]\nup_m = [1.4, 2.1]\n"))
    corner, u, v, normal = window_rectangle(roof.windows[0], roof.room)
    assert normal == pytest.approx([-math.sqrt(0.5), 0.0, -math.sqrt(0.5)])
    assert np.linalg.norm(np.cross(u, v)) == pytest.approx(0.8 * 0.7 * math.sqrt(2.0))
    points = measuring_points(flatten(roof))
    assert points.lamps is not None
    assert (points.lamps.lux > 0.0).all()
    (line,) = refused(PLAN + REST + WINDOW.format("bay frond", "right_m = [2.4, 3.6]\nup_m = [0.8, 2.0]\n"))
    assert 'window[1].surface: is no surface of the room: did you mean "bay front"?' in line
    (line,) = refused(PLAN + REST + WINDOW.format("bay front", "right_m = [2.4, 3.6]\n"))
    assert "window[1]: a window in bay front has two spans (allowed two of right_m, out_m, up_m)" in line


def glb_of(tree: dict[str, Any], binary: bytes) -> bytes:
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    body = struct.pack("<II", len(text), 0x4E4F534A) + text + struct.pack("<II", len(binary), 0x004E4942) + binary
    return struct.pack("<III", 0x46546C67, 2, 12 + len(body)) + body


@pytest.mark.parametrize(
    ("where", "key", "value", "says"),
    [
        (
            (),
            "extensionsRequired",
            ["KHR_draco_mesh_compression"],
            "holds the extension KHR_draco_mesh_compression, which is not read",
        ),
        (("meshes", 0, "primitives", 0), "mode", 6, "holds fans of triangles, which is not read"),
        (("accessors", 0), "sparse", {"count": 1}, "holds a sparse accessor, which is not read"),
        (("accessors", 1), "normalized", True, "holds corners as normalised integers, which is not read"),
        (("nodes", 0), "scale", [0, 0, 0], "holds no triangles"),
        (("nodes", 0), "scale", [1e-30, 1e-30, 1e-30], "holds no triangles"),
        (
            ("nodes", 0),
            "scale",
            [1000, 1000, 1000],
            'is 4500 x 6500 x 2500 m large (got "r.glb"; allowed at most 100 x 100 x 50 m',
        ),
        ((), "extensionsRequired", ["KHR_materials_unlit"], ""),
    ],
    ids=lambda value: value.replace(" ", "-")[:40] if isinstance(value, str) else "",
)
def test_what_a_glb_holds_and_is_not_read_is_refused_not_passed_over(
    tmp_path: Path, where: tuple[str | int, ...], key: str, value: object, says: str
) -> None:
    box = trimesh.creation.box((4.5, 2.5, 6.5))
    box.apply_translation((0.0, 1.25, 3.25))
    data = trimesh.Scene([box]).export(file_type="glb")
    size = struct.unpack_from("<I", data, 12)[0]
    tree = json.loads(data[20 : 20 + size])
    used = [tree["meshes"][0]["primitives"][0][name] for name in ("indices",)]
    assert used == [0]
    assert tree["meshes"][0]["primitives"][0]["attributes"]["POSITION"] == 1
    if where[:1] == ("nodes",):
        where = ("nodes", next(i for i, node in enumerate(tree["nodes"]) if "mesh" in node))
    place: Any = tree
    for part in where:
        place = place[part]
    place[key] = value
    (tmp_path / "r.glb").write_bytes(glb_of(tree, data[28 + size :]))
    text = "format = 1\n" + SIDES.format(file="r.glb", names="sides", more="") + REST
    if says:
        assert says in "\n".join(refused(text, tmp_path))
    else:
        assert scene_from_text(text, "s.toml", tmp_path).room.shell is not None
