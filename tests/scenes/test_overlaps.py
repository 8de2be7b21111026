"""Meshes that run into each other, lie inside each other or go through walls are found and named; those that touch are not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.rooms.overlaps import first_crossing, reaches_into, share_inside
from halfgain.scenes.warning import WarningCode
from test_room_shapes import GLTF, PLAN, REST, SIDES, glb, l_mesh, refused


def solid(size: tuple[float, float, float], at: tuple[float, float, float]) -> trimesh.Trimesh:
    return trimesh.creation.box(size, transform=trimesh.transformations.translation_matrix(at))


ONE = solid((1.0, 1.0, 1.0), (0.0, 0.5, 0.0))
PAIRS = {
    "through an edge": (solid((1.0, 1.0, 1.0), (0.8, 1.1, 0.7)), True),
    "within": (solid((0.2, 0.2, 0.2), (0.1, 0.5, 0.1)), True),
    "faces coincide": (solid((1.0, 1.0, 1.0), (0.5, 0.5, 0.0)), True),
    "in one place": (solid((1.0, 1.0, 1.0), (0.0, 0.5, 0.0)), True),
    "a rod through": (solid((3.0, 0.1, 0.1), (0.0, 0.53, 0.07)), True),
    "a ball, finely": (trimesh.creation.icosphere(4, 0.5).apply_translation((0.6, 1.2, 0.0)), True),
    "side by side": (solid((1.0, 1.0, 1.0), (1.0, 0.5, 0.0)), False),
    "on top": (solid((0.6, 0.5, 0.6), (0.1, 1.25, 0.0)), False),
    "on top, half a millimetre in": (solid((0.6, 0.5, 0.6), (0.1, 1.2495, 0.0)), False),
    "boxes round them meet": (solid((0.4, 0.4, 0.4), (0.75, 1.3, 0.0)), False),
}


@pytest.mark.parametrize("name", PAIRS)
def test_meshes_that_share_space(name: str, tmp_path: Path) -> None:
    """In themselves, and as things of a scene, where a box for one of them says the same."""
    other, expected = PAIRS[name]
    assert share_inside(np.asarray(ONE.triangles), np.asarray(other.triangles)) == expected
    (tmp_path / "one.ply").write_bytes(ONE.export(file_type="ply"))
    (tmp_path / "other.ply").write_bytes(other.export(file_type="ply"))
    mesh = '[[room.object]]\nname = "{0}"\nmesh = "{0}.ply"\nunit = "m"\nat_m = [0, 5, 0]\nfinish = 0.3\n'
    box = '[[room.object]]\nname = "one"\nbox = { min_m = [-0.5, 4.5, 0], max_m = [0.5, 5.5, 1] }\nfinish = 0.3\n'
    for first in (mesh.format("one"), box):
        scene = scene_from_text(PLAN + first + mesh.format("other") + REST, "s", tmp_path)
        found = [each for each in scene.warnings if each.code == WarningCode.OVERLAP]
        deep = expected or (first == box and "millimetre" in name)  # a box is exact, a mesh may touch by the eye
        assert [each.things for each in found] == ([('"one"', '"other"')] if deep else [])


def test_a_ball_inside_a_shell_of_its_own_is_no_crossing() -> None:
    """Winding tells that a ball lies in a ball; no edge meets a triangle."""
    outer, inner = (np.asarray(trimesh.creation.icosphere(3, r).triangles) for r in (1.0, 0.4))
    assert first_crossing(outer, inner) is None
    assert reaches_into(inner, outer)
    assert not reaches_into(outer, inner)


def test_a_crossing_is_told_where_it_is() -> None:
    place = first_crossing(np.asarray(ONE.triangles), np.asarray(solid((0.1, 0.1, 2.0), (0.2, 0.7, 0.0)).triangles))
    assert place is not None
    assert abs(place[2]) == pytest.approx(0.5, abs=0.06)
    assert abs(place[0] - 0.2) < 0.06


def test_a_thing_of_few_corners_through_a_corner_of_the_room_is_refused(tmp_path: Path) -> None:
    """Both ends of a rod lie in the room, in either arm of the L; between them it goes through the wall."""
    rod = trimesh.creation.cylinder(0.02, segment=[[-0.6, 1.0, -1.6], [2.6, 1.0, 1.0]])
    (tmp_path / "rod.ply").write_bytes(rod.export(file_type="ply"))
    thing = '[[room.object]]\nname = "rod"\nmesh = "rod.ply"\nunit = "m"\nat_m = [1.3, 2.4, 0]\nfinish = 0.3\n'
    lines = refused(PLAN + thing + REST, tmp_path)
    assert 'room.object[1].mesh: "rod" reaches outside the room' in lines[0]


def test_bodies_of_a_rooms_own_mesh_are_named_where_they_meet(tmp_path: Path) -> None:
    """A column into the floor, a shelf through the column; a table on the floor touches and is left alone."""
    meshes = {
        "room": l_mesh(GLTF),
        "column": solid((0.3, 2.0, 0.3), (-1.5, 0.9, 4.0)),
        "shelf": solid((1.2, 0.05, 0.2), (-1.5, 1.2, 4.0)),
        "table": solid((0.5, 0.5, 0.5), (0.0, 0.25, 5.0)),
    }
    (tmp_path / "room.glb").write_bytes(glb(meshes))
    text = 'format = 1\n[room]\nmesh = "room.glb"\n[room.finish]\n' + "".join(f'"{name}" = 0.5\n' for name in meshes)
    scene = scene_from_text(text + REST, "s", tmp_path)
    found = {each.things: each.text for each in scene.warnings if each.code == WarningCode.OVERLAP}
    assert {tuple(sorted(each)) for each in found} == {('"column"', '"room"'), ('"column"', '"shelf"')}
    assert found['"column"', '"room"'].startswith('"column" reaches through "room" at [-1.')
    assert ", 0.00]: where faces coincide" in found['"column"', '"room"']
    whole = "format = 1\n" + SIDES.format(file="room.glb", names="sides", more="")
    assert len([each for each in scene_from_text(whole + REST, "s", tmp_path).warnings if each.code == WarningCode.OVERLAP]) == 2
