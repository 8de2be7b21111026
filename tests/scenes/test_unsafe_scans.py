"""Scans and maps that would make a kernel read beyond its arrays, or the machine run out of memory: each one clear line.

The messages are the specification, word for word.
"""

import io
import json
import os
import struct
import zlib

import numpy as np
import pytest
import trimesh
from halfgain.scenes.load import SceneErrors, load_scene
from PIL import Image
from scene_texts import edit

CORNERS = [(-1.3, -0.7, 0.0), (1.3, -0.7, 0.0), (1.3, 0.7, 0.0), (-1.3, 0.7, 0.0)]


def refusal(folder, name, data=None, keys='unit = "m"\nlay = false'):
    """Message and what is allowed of the one error that a scene with this file gives."""
    if data is not None:
        (folder / name).write_bytes(data)
    fold = f'hang = "fixed frame"\n[[screen.fold]]\nkind = "measured"\nfile = "{name}"\n{keys}\n'
    (folder / "scene.toml").write_text(edit(('hang = "fixed frame"\n', fold)), encoding="utf-8")
    with pytest.raises(SceneErrors) as caught:
        load_scene(folder / "scene.toml")
    (error,) = caught.value.errors
    assert (error.line, error.key) == (41, "screen.fold[1].file")
    return f"{error.message} | {error.allowed}"


def ply(triangles, binary=False, corners=CORNERS):
    kind = "binary_little_endian" if binary else "ascii"
    head = (
        f"ply\nformat {kind} 1.0\nelement vertex {len(corners)}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {len(triangles)}\nproperty list uchar int vertex_indices\nend_header\n"
    ).encode()
    if binary:
        return head + np.array(corners, "<f4").tobytes() + b"".join(struct.pack("<B3i", 3, *t) for t in triangles)
    rows = [" ".join(map(str, c)) for c in corners] + [f"3 {a} {b} {c}" for a, b, c in triangles]
    return head + ("\n".join(rows) + "\n").encode()


def glb(triangles):
    """A GLB file whose indices are as given: the library writes a sound one, the numbers are put into its bytes."""
    sound = trimesh.Trimesh(CORNERS, [(0, 1, 2), (0, 2, 3)], process=False).export(file_type="glb")
    size = struct.unpack_from("<I", sound, 12)[0]
    tree = json.loads(sound[20 : 20 + size])
    accessor = tree["accessors"][tree["meshes"][0]["primitives"][0]["indices"]]
    start = 28 + size + tree["bufferViews"][accessor["bufferView"]].get("byteOffset", 0)
    new = np.array(triangles, {5121: "u1", 5123: "<u2", 5125: "<u4"}[accessor["componentType"]]).tobytes()
    return sound[:start] + new + sound[start + len(new) :]


@pytest.mark.parametrize("binary", [False, True])
@pytest.mark.parametrize("index", [4, 5, 2_000_000_000, -1, -5])
def test_a_triangle_of_corners_that_are_not_there(tmp_path, binary, index):
    assert refusal(tmp_path, "scan.ply", ply([(0, 1, 2), (0, 2, index)], binary)) == (
        f"has a triangle, number 2, of corners 0, 2, {index}, counted from 0 | corners 0 to 3"
    )


def test_the_same_in_glb_and_obj(tmp_path):
    assert "number 2, of corners 0, 2, 200, counted" in refusal(tmp_path, "scan.glb", glb([(0, 1, 2), (0, 2, 200)]))
    text = "".join(f"v {x} {y} {z}\n" for x, y, z in CORNERS) + "f 1 2 3\nf 1 3 99\n"
    assert refusal(tmp_path, "scan.obj", text.encode()) == (
        "cannot be read as a mesh: it is damaged, or names corners that it lacks | a PLY, OBJ or GLB file"
    )


def test_too_few_corners(tmp_path):
    for lay in ("true", "false"):
        assert refusal(tmp_path, "scan.ply", ply([(0, 0, 0)], corners=CORNERS[:1]), f'unit = "m"\nlay = {lay}') == (
            "has 1 corners | at least 3"
        )


def test_corners_beyond_the_globe_and_no_numbers(tmp_path):
    far = [*CORNERS[:3], (1e30, 0.0, 0.0)]
    assert refusal(tmp_path, "scan.ply", ply([(0, 1, 3)], corners=far)) == (
        "has a corner at 1e+30 m | corners up to 1e+07 m away; and the right unit"
    )
    assert "no numbers" in refusal(tmp_path, "scan.ply", ply([(0, 1, 3)], corners=[*CORNERS[:3], ("nan", 0, 0)]))


def test_headers_that_claim_more_than_there_is(tmp_path):
    sound = ply([(0, 1, 2)])
    assert refusal(tmp_path, "scan.ply", sound.replace(b"vertex 4", b"vertex 99999999999")) == (
        "is cut off: its header counts more than the file holds | a whole PLY file"
    )
    assert "without a count" in refusal(tmp_path, "scan.ply", sound.replace(b"vertex 4", b"vertex -4"))
    sound = glb([(0, 1, 2), (0, 2, 3)])
    wrong = sound.replace(b'"max"', b'"count":9999999,"m"')  # a second count of the corners; lengths of the chunks put right
    size = struct.unpack_from("<I", sound, 12)[0] + len(wrong) - len(sound)
    wrong = wrong[:8] + struct.pack("<II", len(wrong), size) + wrong[16:]
    assert refusal(tmp_path, "scan.glb", wrong) == "has a description that is damaged | a GLB file"
    head = np.lib.format.header_data_from_array_1_0(np.zeros((46, 81)))
    file = io.BytesIO()
    np.lib.format.write_array_header_1_0(file, {**head, "shape": (4000, 4000)})
    assert refusal(tmp_path, "map.npy", file.getvalue(), 'unit = "m"') == (
        "is cut off: its header counts more numbers than the file holds | a whole NPY file"
    )


def test_triangles_that_cover_the_screen_again_and_again(tmp_path):
    """A heap that would take the map's kernel hours: 400 000 triangles over a map of 1500 samples a side."""
    x, y = np.meshgrid(np.linspace(-1.3, 1.3, 600), np.linspace(-0.7, 0.7, 400))
    corners = np.stack([x.ravel(), y.ravel(), np.zeros(x.size)], axis=1)
    triangles = np.tile([[0, 599, corners.shape[0] - 1]], (400_000, 1))
    data = trimesh.Trimesh(corners, triangles, process=False).export(file_type="ply")
    assert refusal(tmp_path, "scan.ply", data) == (
        "lies over itself: its triangles cover the screen again and again | one sheet, seen from the front"
    )


@pytest.mark.parametrize("number", ["1e308", "-2e9", "1e10"])
def test_heights_beyond_all_measure(tmp_path, number):
    """They would overflow in the mean or the spline."""
    rows = [["0"] * 80 for _ in range(45)]
    rows[2][3] = number
    data = "\n".join(",".join(row) for row in rows).encode()
    said = f"has a height of {float(number):g} at row 3, column 4 | -1e+09 to 1e+09"
    assert refusal(tmp_path, "map.csv", data, 'unit = "m"') == said
    np.save(tmp_path / "map.npy", np.array(rows, float))
    assert refusal(tmp_path, "map.npy", None, 'unit = "m"') == said


@pytest.mark.parametrize(
    "head", [b"{'descr': '<f8', (", b"(" * 5000, b"\xff" * 40, b"{'descr': 'O', 'fortran_order': False, 'shape': (4, 4), }"]
)
def test_broken_array_headers(tmp_path, head):
    data = b"\x93NUMPY\x01\x00" + struct.pack("<H", len(head)) + head + bytes(200)
    assert refusal(tmp_path, "map.npy", data, 'unit = "m"') == (
        "is not an array that numpy can read safely | an NPY file of numbers"
    )


def png_of(width, height):
    """A sound PNG of so many 16-bit grey pixels, all black: a few bytes a megapixel."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = zlib.compressobj(9)
    packed = b"".join(rows.compress(bytes(1 + 2 * width)) for _ in range(height)) + rows.flush()
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 16, 0, 0, 0, 0))
        + chunk(b"IDAT", packed)
        + chunk(b"IEND", b"")
    )


def test_a_picture_that_unpacks_to_gigabytes_is_not_unpacked(tmp_path, monkeypatch):
    """Refused by what its header says."""
    monkeypatch.setattr(Image.Image, "load", lambda *_: pytest.fail("unpacked"))
    said = "has too many pixels: 6000 x 5000 | at most 16 million, none more than 4096 on a side"
    data = png_of(6000, 5000)
    assert len(data) < 200_000
    assert refusal(tmp_path, "map.png", data, "count_mm = 0.1") == said


@pytest.mark.parametrize("name", ["map.npy", "map.png", "scan.ply", "map.csv"])
def test_what_is_no_regular_file(tmp_path, name):
    """A pipe that nobody writes to must not hang, a device without end not fill the memory."""
    keys = "count_mm = 0.1" if name.endswith("png") else 'unit = "m"'
    what = {"map.png": "a picture", "scan.ply": "a scan"}.get(name, "a height map")
    os.mkfifo(tmp_path / name)
    assert refusal(tmp_path, name, None, keys).startswith(f"is a device or a pipe, not {what} | ")
    (tmp_path / name).unlink()
    (tmp_path / name).symlink_to("/dev/zero")
    assert refusal(tmp_path, name, None, keys).startswith(f"is a device or a pipe, not {what} | ")
    (tmp_path / name).unlink()
    (tmp_path / name).mkdir()
    assert refusal(tmp_path, name, None, keys).startswith(f"is a directory, not {what} | ")
