"""Rooms and things from IFC files of our own making: places, units, names of what stands behind a face, and what is refused."""

from __future__ import annotations

import codecs
import importlib.util
import os
from pathlib import Path

import numpy as np
import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Body
from halfgain.scenes.rooms import read_ifc
from ifc_files import Block, ifc_text
from test_room_shapes import PLAN, REST, refused

if importlib.util.find_spec("ifcopenshell") is None:
    if os.environ.get("HALFGAIN_ALL_CHECKS") == "1":
        pytest.fail("ifcopenshell is not installed, and HALFGAIN_ALL_CHECKS asks for every check", pytrace=False)
    pytest.skip("ifcopenshell is not installed", allow_module_level=True)

# a room of 4 x 6 x 2.5 m whose low corner is the file's origin; the screen wall is the one at y = 6 m; the right wall stands 5 cm off
HOUSE = [
    Block("IfcSpace", "001", (0, 0, 0), (4000, 6000, 2500), "Cinema"),
    Block("IfcWall", "party wall", (-200, 6000, 0), (4400, 200, 2500)),
    Block("IfcWall", "garden wall", (-200, -200, 0), (4400, 200, 2500)),
    Block("IfcWall", "left wall", (-200, 0, 0), (200, 6000, 2500)),
    Block("IfcWall", "stairs", (4050, 0, 0), (200, 6000, 2500)),
    Block("IfcSlab", "boards", (-200, -200, -100), (4400, 6400, 100)),
    Block("IfcFurnishingElement", "Sofa", (1000, 1000, 0), (2000, 900, 800)),
    Block("IfcSpace", "002", (8000, 0, 0), (3000, 3000, 2500), "Kitchen"),
]
NAMES = ("garden wall", "party wall", "left wall", "stairs", "boards", "ceiling")
ROOM = 'format = 1\n[room]\nmesh = "house.ifc"\nat_m = [-2.0, 6.0, 0.0]\n{more}[room.finish]\n{finish}'


def text(more: str = 'mesh_part = "Cinema"\n', names: tuple[str, ...] = NAMES) -> str:
    return ROOM.format(more=more, finish="".join(f'"{name}" = 0.5\n' for name in names)) + REST


@pytest.fixture
def house(tmp_path: Path) -> Path:
    (tmp_path / "house.ifc").write_text(ifc_text(HOUSE))
    return tmp_path


def test_a_space_is_a_room_whose_faces_are_called_by_what_stands_behind_them(house: Path) -> None:
    """Nothing stands over it, so the ceiling is called by its side; y runs towards the screen wall."""
    for part in ("Cinema", "001"):
        room = scene_from_text(text(f'mesh_part = "{part}"\n'), "s", house).room
        assert set(room.surfaces) == set(NAMES)
        assert np.ravel(room.limits) == pytest.approx([-2.0, 2.0, 0.0, 6.0, 0.0, 2.5])
        assert room.shell is not None
        assert room.shell.volume_m3 == pytest.approx(60.0)
        areas = room.shell.areas_m2()
        assert areas == pytest.approx(
            {"garden wall": 10.0, "party wall": 10.0, "left wall": 15.0, "stairs": 15.0, "boards": 24.0, "ceiling": 24.0}
        )
        front = room.shell.triangles[room.shell.surface == room.surfaces.index("party wall")]
        assert front[..., 1] == pytest.approx(0.0, abs=1e-6)


def test_sides_and_turned_files(tmp_path: Path) -> None:
    """In metres; turned by a half, what was the garden wall holds the screen."""
    metres = [each._replace(at=tuple(np.divide(each.at, 1e3)), size=tuple(np.divide(each.size, 1e3))) for each in HOUSE]
    (tmp_path / "house.ifc").write_text(ifc_text(metres, prefix=None))
    six = ("front", "back", "left", "right", "ceiling", "floor")
    room = scene_from_text(text('mesh_part = "Cinema"\nnames = "sides"\n', six), "s", tmp_path).room
    assert room.surfaces == six
    more = 'mesh_part = "Cinema"\nturn_deg = 180\n'
    turned = scene_from_text(text(more).replace("at_m = [-2.0, 6.0, 0.0]", "at_m = [2.0, 0.0, 0.0]"), "s", tmp_path).room
    assert turned.shell is not None
    front = turned.shell.triangles[turned.shell.surface == turned.surfaces.index("garden wall")]
    assert front[..., 1] == pytest.approx(0.0, abs=1e-6)


def test_a_thing_from_an_ifc_file_by_its_name(house: Path) -> None:
    sofa = '[[room.object]]\nname = "sofa"\nmesh = "house.ifc"\nmesh_part = "Sofa"\nat_m = [-2.0, 6.0, 0.0]\nfinish = 0.2\n'
    (body,) = scene_from_text(PLAN + sofa + REST, "s", house).room.objects
    assert isinstance(body, Body)
    assert body.min_m == pytest.approx((-1.0, 4.1, 0.0))
    assert body.max_m == pytest.approx((1.0, 5.0, 0.8))


def test_a_byte_order_mark_and_windows_lines_are_read(tmp_path: Path) -> None:
    (tmp_path / "house.ifc").write_bytes(codecs.BOM_UTF8 + ifc_text(HOUSE).replace("\n", "\r\n").encode())
    assert set(scene_from_text(text(), "s", tmp_path).room.surfaces) == set(NAMES)


def test_a_name_of_two_spaces_is_refused_with_those_that_tell_them_apart(tmp_path: Path) -> None:
    alike = [each._replace(long_name="Bedroom") if each.kind == "IfcSpace" else each for each in HOUSE]
    (tmp_path / "house.ifc").write_text(ifc_text(alike))
    (line,) = refused(text('mesh_part = "Bedroom"\n'), tmp_path)[:1]
    assert 'room.mesh_part: is the name of several spaces (got "Bedroom"; allowed "001", "002")' in line
    assert scene_from_text(text('mesh_part = "001"\n'), "s", tmp_path).room.shell is not None


WRONG = (
    ("", 'room.mesh_part: has several spaces: say which (allowed "001", "002")'),
    ('mesh_part = "Cellar"\n', 'room.mesh_part: is no space of the file (got "Cellar"; allowed "001", "002")'),
    ('mesh_part = "Cinema"\nunit = "m"\n', "room.unit: stands beside the unit that the IFC file states itself"),
)


@pytest.mark.parametrize(("more", "says"), WRONG)
def test_what_an_ifc_room_cannot_be_is_said_by_key(house: Path, more: str, says: str) -> None:
    assert says in refused(text(more), house)[0]


def test_files_that_are_no_ifc_are_refused_by_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def says(data: str) -> str:
        (tmp_path / "house.ifc").write_text(data)
        return refused(text(), tmp_path)[0]

    assert "room.mesh: is no IFC file of plain text" in says("solid")
    whole = ifc_text(HOUSE)
    assert "room.mesh: states no unit of length" in says(ifc_text(HOUSE, units=False))
    assert "room.mesh: has no IfcSpace with a body" in says(ifc_text(HOUSE[1:3]))
    assert "room.mesh: breaks off: its last line, END-ISO-10303-21, is missing" in says(whole[: len(whole) // 2])
    assert says(whole.replace("IFCSPACE(", "IFCSPACE((((")).startswith("s.toml:3: room.mesh: ")
    with monkeypatch.context() as patch:
        patch.setattr(read_ifc, "EXTRA", "no_such_reader")
        read_ifc.products_of.cache_clear()
        assert 'needs no_such_reader, which is not installed (got "house.ifc"; allowed pip install "halfgain[ifc]"' in says(whole)
