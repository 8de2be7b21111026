"""Measured surfaces: maps and scans read back what was written, and what cannot be used is refused in one clear line."""

import numpy as np
import pytest
import trimesh
from halfgain.scenes.cloth.spline import spline_coefficients, spline_heights
from halfgain.scenes.load import SceneErrors, load_scene
from PIL import Image
from scene_texts import edit
from scipy.interpolate import CubicSpline
from scipy.linalg import solve_banded

WIDTH, HEIGHT = 2.4, 1.35


def scene_with(folder, keys, gap="0.10"):
    text = edit(
        ('hang = "fixed frame"\n', f'hang = "fixed frame"\n[[screen.fold]]\nkind = "measured"\n{keys}\n'),
        ("gap_to_wall_m = 0.10", f"gap_to_wall_m = {gap}"),
    )
    path = folder / "scene.toml"
    path.write_text(text, encoding="utf-8")
    return load_scene(path)


def surface(folder, keys):
    (fold,) = scene_with(folder, keys).screen.drape.folds
    return fold


def refusal(folder, keys, gap="0.10"):
    """The one error's place and words."""
    with pytest.raises(SceneErrors) as caught:
        scene_with(folder, keys, gap)
    (error,) = caught.value.errors
    return f"{error.line} {error.key}: {error.message} | {error.allowed}"


def hills(rows=46, columns=81):
    """A surface without any symmetry [m]: up is not down, left is not right."""
    x, y = np.meshgrid(np.linspace(-WIDTH / 2, WIDTH / 2, columns), np.linspace(HEIGHT / 2, -HEIGHT / 2, rows))
    return x, y, 0.004 * np.sin(2.1 * x + 0.4) * np.cos(3.3 * y - 0.2) + 0.002 * x


def test_splines_agree_with_another_librarys():
    """scipy's CubicSpline with natural ends, along a row and a column, values and slopes."""
    _, _, h = hills(9, 14)
    coefficients = spline_coefficients(h)
    x = np.linspace(0, 13, 300)
    out = np.empty((300, 3))
    spline_heights(coefficients, x, np.full(300, 4.0), out)
    other = CubicSpline(np.arange(14), h[4], bc_type="natural")
    assert np.allclose(out[:, 0], other(x), atol=1e-15)
    assert np.allclose(out[:, 1], other(x, 1), atol=1e-14)
    y = np.linspace(0, 8, 300)
    spline_heights(coefficients, np.full(300, 6.0), y, out)
    other = CubicSpline(np.arange(9), h[:, 6], bc_type="natural")
    assert np.allclose(out[:, 0], other(y), atol=1e-15)
    assert np.allclose(out[:, 2], other(y, 1), atol=1e-14)


@pytest.mark.parametrize("count", [3, 4, 5, 12, 301])
def test_spline_coefficients_are_those_of_lapack(count):
    """scipy's solve_banded, which calls gtsv; maps of two rows have no equations."""
    h = np.random.default_rng(5).normal(size=(2, count))
    right_side = 6.0 * h[:, 1:-1].T
    right_side[0] -= h[:, 0]
    right_side[-1] -= h[:, -1]
    band = np.array([[1.0], [4.0], [1.0]]) * np.ones(count - 2)
    inner = spline_coefficients(h)[1:-1, 2:-2]
    assert np.allclose(inner, solve_banded((1, 1), band, right_side).T, rtol=1e-13, atol=1e-15)


def test_the_splines_are_the_same_without_compiling():
    _, _, h = hills(5, 6)
    a, b = np.empty((20, 3)), np.empty((20, 3))
    x, y = np.linspace(-0.5, 5.5, 20), np.linspace(0, 4, 20)
    spline_heights(spline_coefficients(h), x, y, a)
    spline_heights.py_func(spline_coefficients(h), x, y, b)
    assert np.allclose(a, b, atol=1e-16)


def write(folder, kind):
    """The hills as a file of a kind, with the keys that read it."""
    x, y, h = hills()
    if kind == "csv":
        np.savetxt(folder / "map.csv", 1e3 * h, delimiter=",")
        return 'file = "map.csv"\nunit = "mm"\nzero_count = 0'
    if kind == "npy":
        np.save(folder / "map.npy", h.astype(np.float32))
        return 'file = "map.npy"\nunit = "m"\nzero_count = 0.0\nspacing_mm = 30'
    if kind in ("png", "tiff"):
        counts = np.round(h / 1e-6 + 20000).astype(np.uint16)
        Image.fromarray(counts).save(folder / f"map.{kind}")
        return f'file = "map.{kind}"\ncount_mm = 0.001\nzero_count = 20000'
    rows, columns = h.shape
    index = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = (index[i : rows - 1 + i, j : columns - 1 + j].ravel() for i, j in ((0, 0), (0, 1), (1, 0), (1, 1)))
    corners = np.stack([x.ravel(), y.ravel(), h.ravel()], axis=1) * 1e3
    triangles = np.concatenate([np.stack([a, c, b], axis=1), np.stack([b, c, d], axis=1)])
    trimesh.Trimesh(corners, triangles, process=False).export(folder / f"scan.{kind}")
    return f'file = "scan.{kind}"\nunit = "mm"\nlay = false'


@pytest.mark.parametrize("kind", ["csv", "npy", "png", "tiff", "ply", "obj", "glb"])
def test_a_file_gives_its_surface_back(tmp_path, kind):
    """Left stays left and up stays up: the hills have no symmetry."""
    fold = surface(tmp_path, write(tmp_path, kind))
    rng = np.random.default_rng(1)
    x, y = rng.uniform(-1.15, 1.15, 300), rng.uniform(-0.64, 0.64, 300)
    expected = 0.004 * np.sin(2.1 * x + 0.4) * np.cos(3.3 * y - 0.2) + 0.002 * x
    got = fold.at(x, y)
    flat_triangles = kind in ("ply", "obj", "glb")  # 30 mm triangles: 30 mm^2 / 8 times the curvature of 0.05 /m is 6e-6 m
    assert np.allclose(got.height, expected, atol=1e-5 if flat_triangles else 3e-6)
    by_right = 0.004 * 2.1 * np.cos(2.1 * x + 0.4) * np.cos(3.3 * y - 0.2) + 0.002
    assert np.allclose(got.slope_right, by_right, atol=2e-3 if flat_triangles else 2e-4)


def test_the_mean_is_the_nominal_plane_unless_said(tmp_path):
    np.savetxt(tmp_path / "map.csv", 250 + 1e3 * hills()[2], delimiter=";")
    fold = surface(tmp_path, 'file = "map.csv"\nunit = "mm"')
    assert abs(fold.heights.mean()) < 1e-12


def test_a_scan_from_anywhere_is_laid_onto_the_screen(tmp_path):
    """Turned by 8 degrees about the vertical, 5 about the level, moved by metres; the mean tilt is gone, the rest is back."""
    write(tmp_path, "ply")
    scan = trimesh.load_mesh(tmp_path / "scan.ply", process=False)
    turn = trimesh.transformations.euler_matrix(0.09, 0.14, 0.0)
    turn[:3, 3] = [3000, -200, 5000]
    scan.apply_transform(turn)
    scan.export(tmp_path / "scan.ply")
    fold = surface(tmp_path, 'file = "scan.ply"\nunit = "mm"')
    x, y, h = hills()
    plane = np.stack([np.ones(x.size), x.ravel(), y.ravel()], axis=1)
    rest = (h.ravel() - plane @ np.linalg.lstsq(plane, h.ravel(), rcond=None)[0]).reshape(h.shape)
    inner = (slice(3, -3), slice(3, -3))
    # turning back by the shortest way leaves 0.09 * 0.14 / 2 = 6e-3 of turn in the plane: 8 mm at the edge, slopes of 0.012
    assert np.allclose(fold.at(x[inner], y[inner]).height, rest[inner], atol=1.5e-4)


def test_the_files_bytes_are_in_the_scenes_sum(tmp_path):
    keys = write(tmp_path, "csv")
    before = scene_with(tmp_path, keys).sha256
    np.savetxt(tmp_path / "map.csv", 2e3 * hills()[2], delimiter=",")
    assert scene_with(tmp_path, keys).sha256 != before


def test_holes(tmp_path):
    text = "\n".join(",".join("1" for _ in range(16)) for _ in range(9))
    (tmp_path / "map.csv").write_text(text[:-1], encoding="utf-8")
    assert refusal(tmp_path, 'file = "map.csv"\nunit = "mm"') == (
        "41 screen.fold[1].file: has 1 hole, the first at row 9, column 16 | a height at every place: fill the holes first"
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1,2\n3,4\n", "is of the wrong size: 2 columns and 2 rows | 4 to 4096 columns and rows"),
        ("1,2,3,4\n" * 12, "is of the wrong size: 4 columns and 12 rows have another shape than the white area | about 1.78"),
        ("1,2,3,4\n1,2,3\n", "has 3 numbers in its line 2 and 4 in the first | rows of the same length"),
        ("1,2,x,4\n", "has something that is no number in its line 1 | numbers only"),
        ("", "is empty | rows of numbers"),
    ],
)
def test_maps_of_the_wrong_size_or_kind(tmp_path, text, says):
    (tmp_path / "map.csv").write_text(text, encoding="utf-8")
    assert says in refusal(tmp_path, 'file = "map.csv"\nunit = "mm"')


def test_a_map_whose_spacing_does_not_make_the_screen(tmp_path):
    np.save(tmp_path / "map.npy", np.zeros((46, 81)))
    assert "81 x 46 samples make 1.600 x 0.900 m | the white area, 2.400 x 1.350 m, to one sample" in refusal(
        tmp_path, 'file = "map.npy"\nunit = "mm"\nspacing_mm = 20'
    )


def test_unknown_units(tmp_path):
    np.save(tmp_path / "map.npy", np.zeros((46, 81)))
    assert refusal(tmp_path, 'file = "map.npy"') == (
        '39 screen.fold[1].unit: the unit of the heights is not known | "m", "cm", "mm", "in" or "ft"'
    )
    write(tmp_path, "png")
    assert "screen.fold[1].count_m: the height of one grey level is not known" in refusal(tmp_path, 'file = "map.png"')
    write(tmp_path, "ply")
    assert "the unit of the scan's coordinates is not known" in refusal(tmp_path, 'file = "scan.ply"')


def test_a_unit_that_makes_the_cloth_go_through_the_wall(tmp_path):
    """Millimetres taken for centimetres: 40 mm of height on a gap of 30 mm."""
    np.save(tmp_path / "map.npy", 1e3 * hills()[2])
    assert "pushes the cloth through the wall" in refusal(tmp_path, 'file = "map.npy"\nunit = "cm"', gap="0.03")


def test_eight_bit_pictures_and_other_files(tmp_path):
    Image.fromarray(np.zeros((45, 80), np.uint8)).save(tmp_path / "map.png")
    assert "8 bits are too coarse" in refusal(tmp_path, 'file = "map.png"\ncount_mm = 0.1')
    (tmp_path / "map.tif").write_bytes(b"no picture")
    assert "is not a picture that can be read" in refusal(tmp_path, 'file = "map.tif"\ncount_mm = 0.1')
    (tmp_path / "map.npy").write_bytes(b"no array")
    assert "is not an array" in refusal(tmp_path, 'file = "map.npy"\nunit = "mm"')
    assert "no such file" in refusal(tmp_path, 'file = "none.csv"\nunit = "mm"')
    assert "is of no known kind" in refusal(tmp_path, 'file = "map.xls"\nunit = "mm"')
    (tmp_path / "folder.csv").mkdir()
    assert "is a directory" in refusal(tmp_path, 'file = "folder.csv"\nunit = "mm"')


def test_an_array_of_objects_is_not_unpickled(tmp_path):
    np.save(tmp_path / "map.npy", np.array([[1, "x"]], dtype=object), allow_pickle=True)
    assert "numpy can read safely" in refusal(tmp_path, 'file = "map.npy"\nunit = "mm"')


def test_a_scan_that_misses_the_frame(tmp_path):
    keys = write(tmp_path, "ply")
    scan = trimesh.load_mesh(tmp_path / "scan.ply", process=False)
    scan.apply_translation([900, 0, 0])
    scan.export(tmp_path / "scan.ply")
    said = refusal(tmp_path, keys)
    assert "misses the frame: it reaches from -0.30 to 2.10 m across" in said


def test_a_scan_in_the_wrong_unit_misses_the_frame(tmp_path):
    write(tmp_path, "ply")
    scan = trimesh.load_mesh(tmp_path / "scan.ply", process=False)
    scan.apply_scale(0.1)
    scan.export(tmp_path / "scan.ply")
    assert "misses the frame" in refusal(tmp_path, 'file = "scan.ply"\nunit = "mm"')
    assert "is far larger than the white area: 240.00 x 135.00 m" in refusal(tmp_path, 'file = "scan.ply"\nunit = "m"')


def test_a_scan_with_holes_or_over_itself(tmp_path):
    keys = write(tmp_path, "ply")
    scan = trimesh.load_mesh(tmp_path / "scan.ply", process=False)
    middle = np.abs(scan.triangles_center[:, :2]).max(axis=1) < 100
    trimesh.Trimesh(scan.vertices, scan.faces[~middle], process=False).export(tmp_path / "scan.ply")
    assert "has holes" in refusal(tmp_path, keys)
    second = scan.copy()
    second.apply_translation([0, 0, 30])
    trimesh.util.concatenate([scan, second]).export(tmp_path / "scan.ply")
    assert "lies over itself" in refusal(tmp_path, keys)


def test_a_mesh_without_triangles(tmp_path):
    (tmp_path / "scan.obj").write_text("v 0 0 0\nv 1 0 0\n", encoding="utf-8")
    said = refusal(tmp_path, 'file = "scan.obj"\nunit = "mm"')
    assert "holds no triangles" in said or "cannot be read as a mesh" in said
    (tmp_path / "scan.glb").write_bytes(b"no mesh")
    assert "cannot be read as a mesh" in refusal(tmp_path, 'file = "scan.glb"\nunit = "mm"')
