"""Faces of many corners: cut so that no triangle lies outside its face, in files as programs write them."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh
from halfgain.scenes.load import SceneErrors, scene_from_text
from halfgain.scenes.rooms.many_corners import MOST_CORNERS, FaceError, cut
from halfgain.scenes.rooms.read_ply import corners_and_rings

from tests.scenes.test_room_shapes import REST, SIX

PLAN = [(-2.5, 0.0), (2.0, 0.0), (2.0, 3.0), (4.5, 3.0), (4.5, 6.5), (-2.5, 6.5)]  # an L, right and out
WALLS = ("front", "right", "front", "right", "back", "left")
AREAS = {"floor": 38.0, "ceiling": 38.0, "front": 17.5, "right": 16.25, "back": 17.5, "left": 16.25}  # by hand


def obj(start: int = 0) -> str:
    """The L with floor and ceiling as one face each, written from corner `start` on."""
    n = len(PLAN)
    lines = [f"v {right} {up} {out}" for up in (0.0, 2.5) for right, out in PLAN]
    ring = [1 + (i + start) % n for i in range(n)]
    faces = [("floor", ring), ("ceiling", [n + i for i in reversed(ring)])]
    faces += [(name, [i + 1, (i + 1) % n + 1, (i + 1) % n + 1 + n, i + 1 + n]) for i, name in enumerate(WALLS)]
    return "\n".join([*lines, *(f"o {name}\nf {' '.join(map(str, face))}" for name, face in faces)]) + "\n"


def areas(folder: Path, text: str, coding: str = "utf-8") -> dict[str, float]:
    (folder / "l.obj").write_bytes(text.encode(coding))
    scene = scene_from_text(f'format = 1\n[room]\nmesh = "l.obj"\nunit = "m"\n[room.finish]\n{SIX}{REST}', "s.toml", folder)
    assert scene.room.shell is not None
    assert scene.room.shell.volume_m3 == pytest.approx(95.0)
    return scene.room.shell.areas_m2()


@pytest.mark.parametrize("start", range(6))
def test_an_l_shaped_floor_of_one_face_has_its_own_area(tmp_path: Path, start: int) -> None:
    assert areas(tmp_path, obj(start)) == pytest.approx(AREAS)


@pytest.mark.parametrize(
    ("old", "new", "coding"),
    [
        (" ", "\t", "utf-8"),
        (" ", "   ", "utf-8"),
        ("\n", "\r\n", "utf-8"),
        ("f 1 2 3 4", "f 1 2 \\\n3 4", "utf-8"),
        ("f 1 2 3 4 5 6", "f 1//1 2/4/1 3 4 -8 -7  # the floor", "utf-8"),
        ("", "", "utf-8-sig"),
        ("-2.5", "-2.5e0", "utf-8"),
        ("o floor", "o nothing\no floor", "utf-8"),
    ],
    ids=[
        "tabs",
        "blanks",
        "windows",
        "a line that goes on",
        "a comment and numbers from the end",
        "byte order mark",
        "exponents",
        "an empty part",
    ],
)
def test_obj_files_as_programs_write_them(tmp_path: Path, old: str, new: str, coding: str) -> None:
    text = obj()
    written = text.replace(old, new) if old else text
    assert written != text or coding != "utf-8"
    assert areas(tmp_path, written, coding) == pytest.approx(AREAS)


def test_a_face_that_crosses_itself_is_refused_with_its_line(tmp_path: Path) -> None:
    crossed = obj().replace("f 1 2 3 4 5 6", "f 1 4 3 2 5 6")
    line = crossed.splitlines().index("f 1 4 3 2 5 6") + 1
    with pytest.raises(SceneErrors, match=rf"line {line}: a face whose outline crosses itself .*faces cut into triangles"):
        areas(tmp_path, crossed)


def area(ring: np.ndarray, triangles: list[tuple[int, int, int]]) -> float:
    a, b, c = (ring[[each[k] for each in triangles]] for k in range(3))
    return float(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1).sum())


def test_stars_of_any_size_in_any_plane_keep_their_area() -> None:
    """Expected: the shoelace formula. The sum of the triangles' areas exceeds it where any lies outside."""
    random = np.random.default_rng(5)
    for count in (4, 5, 8, 20, 60, MOST_CORNERS):
        turn = np.sort(random.uniform(0.0, 2.0 * np.pi, count))
        x, y = np.array([np.cos(turn), np.sin(turn)]) * random.uniform(0.3, 1.0, count)
        expected = 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))
        frame, _ = np.linalg.qr(random.normal(size=(3, 3)))
        size = 10.0 ** random.uniform(-3, 4)
        ring = size * (np.outer(x, frame[0]) + np.outer(y, frame[1])) + random.normal(size=3) * size
        (triangles,) = cut(ring, [range(count)])
        assert area(ring, triangles) == pytest.approx(expected * size**2, rel=1e-6)
        assert len(triangles) <= count - 2


def test_corners_beyond_all_measure_are_left_to_others_to_refuse() -> None:
    ring = np.array([(0.0, 0.0, 0.0), (1e300, 0.0, 0.0), (1e300, 1e300, 1e308), (0.0, -1e308, 0.0)])
    assert len(cut(ring, [range(4)])[0]) == 2


def test_a_hole_cut_out_by_a_seam_stays_open() -> None:
    outer, hole = [(0, 0), (4, 0), (4, 4), (0, 4), (0, 0)], [(1, 1), (1, 3), (3, 3), (3, 1), (1, 1)]
    ring = np.array([(x, y, 0.0) for x, y in outer + hole])
    (triangles,) = cut(ring, [range(len(ring))])
    assert area(ring, triangles) == pytest.approx(16.0 - 4.0)
    middles = np.array([ring[list(each)].mean(axis=0) for each in triangles])
    assert not (np.abs(middles[:, :2] - 2.0) < 1.0).all(axis=1).any()


def test_convex_faces_stay_fans_and_too_many_corners_are_refused() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, MOST_CORNERS + 2)[1:]
    circle = np.column_stack([np.cos(turn), np.sin(turn), 0.0 * turn])
    (triangles,) = cut(circle, [range(len(circle))])
    assert triangles == [(0, k, k + 1) for k in range(1, len(circle) - 1)]
    dented = circle.copy()
    dented[7] *= 0.5
    with pytest.raises(FaceError, match=f"a face of {MOST_CORNERS + 1} corners that is not convex") as caught:
        cut(dented, [range(3), range(len(dented))])
    assert caught.value.place == 1


def ply(order: str) -> bytes:
    """The L as PLY, faces of six and of four corners in one list, a list and a number more than is asked for in each row."""
    n = len(PLAN)
    corners = [(right, up, out, 0.5) for up in (0.0, 2.5) for right, out in PLAN]
    faces = [list(range(n)), list(range(2 * n - 1, n - 1, -1)), *([i, (i + 1) % n, (i + 1) % n + n, i + n] for i in range(n))]
    kind = {"": "ascii", "<": "binary_little_endian", ">": "binary_big_endian"}[order]
    head = f"ply\nformat {kind} 1.0\nelement vertex {len(corners)}\n"
    head += "".join(f"property {'double' if axis == 'q' else 'float'} {axis}\n" for axis in "xyzq")
    head += f"element face {len(faces)}\nproperty list uchar int vertex_indices\nproperty uchar red\nend_header\n"
    if not order:
        rows = [*corners, *([len(face), *face, 7] for face in faces)]
        return (head + "".join(" ".join(map(str, row)) + "\n" for row in rows)).encode()
    packed = b"".join(struct.pack(f"{order}3fd", *each) for each in corners)
    return head.encode() + packed + b"".join(struct.pack(f"{order}B{len(face)}iB", len(face), *face, 7) for face in faces)


@pytest.mark.parametrize("order", ["", "<", ">"], ids=["text", "little", "big"])
def test_a_ply_of_faces_of_any_number_of_corners(tmp_path: Path, order: str) -> None:
    (tmp_path / "l.ply").write_bytes(ply(order))
    text = f'format = 1\n[room]\nmesh = "l.ply"\nunit = "m"\nnames = "sides"\n[room.finish]\n{SIX}{REST}'
    shell = scene_from_text(text, "s.toml", tmp_path).room.shell
    assert shell is not None
    assert shell.volume_m3 == pytest.approx(95.0)
    assert sum(shell.areas_m2().values()) == pytest.approx(sum(AREAS.values()))
    for cut_off in (1, 5, 40):
        (tmp_path / "l.ply").write_bytes(ply(order)[:-cut_off] if order else ply(order).rsplit(maxsplit=cut_off)[0])
        with pytest.raises(SceneErrors, match=r"it is damaged, or names corners that it lacks|holds no|cut off"):
            scene_from_text(text, "s.toml", tmp_path)


def test_a_ply_is_read_as_another_reader_does() -> None:
    mesh = trimesh.creation.icosphere(3)
    for encoding in ("binary", "ascii"):
        corners, rings = corners_and_rings(mesh.export(file_type="ply", encoding=encoding))
        assert corners == pytest.approx(mesh.vertices, abs=1e-7)
        assert np.array_equal(rings, mesh.faces)


@pytest.mark.parametrize("order", ["", "<"], ids=["text", "little"])
def test_a_ply_that_counts_rows_of_nothing_is_read_at_once(order: str) -> None:
    """Each such row takes no bytes, so that the file's size bounds none of them."""
    data = ply(order).replace(b"end_header", b"element odd 999999999999\nend_header")
    corners, rings = corners_and_rings(data)
    expected = corners_and_rings(ply(order))
    np.testing.assert_array_equal(corners, expected[0])
    assert [tuple(ring) for ring in rings] == [tuple(ring) for ring in expected[1]]
