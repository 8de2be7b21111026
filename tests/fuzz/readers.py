"""Every reader of a user's file: sound files to start from, how it is called, which exceptions are its refusals."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
from halfgain.materials.library import LibraryErrors, load_library
from halfgain.materials.solving.curve import CurveErrors, read_curve
from halfgain.scenes.cloth.checks import trouble
from halfgain.scenes.cloth.cloth import Cloth
from halfgain.scenes.cloth.make import Frame, make_folds
from halfgain.scenes.cloth.read_scan import read_scan
from halfgain.scenes.cloth.table import FoldTable
from halfgain.scenes.cloth.unusable import UnusableMap
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.lamps.read import read_photometry
from halfgain.scenes.lamps.unusable import UnusablePhotometry
from halfgain.scenes.library import scene_names, scene_path
from halfgain.scenes.load import load_scene, scene_from_text
from halfgain.scenes.survey.answers_file import AnswersFile
from halfgain.scenes.survey.survey import survey, surveyed_scene
from halfgain.simulate.answers.allowed import AllowedErrors, read_allowed
from halfgain.simulate.answers.frames import ImageError, read_image
from halfgain.simulate.answers.geometry_match import geometry_of
from halfgain.simulate.answers.ledger_file import Kept, LedgerError, check, load, to_bytes
from halfgain.simulate.choices.listed import listed_variants
from halfgain.simulate.choices.wishes import read_prices
from halfgain.simulate.commissioning.readings_csv import ReadingsErrors, read_site_csv
from halfgain.simulate.light.ledger import Ledger
from halfgain.simulate.measuring.estimate import REPLICATIONS
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.studies.outputs import OutputRow, Read
from halfgain.simulate.studies.part import DamagedPart, Done, part_of
from halfgain.simulate.studies.part import from_bytes as part_from_bytes
from halfgain.simulate.studies.part import to_bytes as part_to_bytes
from halfgain.simulate.studies.read import read_study
from halfgain.simulate.views.content import PictureError, load_content

from ..lamps.photometric_files import PARTS, eulumdat, lm63, symmetric
from .edits import Edit, edited

WIDTH_M, HEIGHT_M = 2.4, 1.35
AROUND = """[projector]
light_output_lm = 1000
native_contrast = 3000
lens_m = [0.0, 4.5, 2.2]
[screen]
width_m = 1.6
aspect = "16:9"
bottom_m = 0.8
gap_to_wall_m = 0.1
fabric = "matt white"
[[seat]]
name = "middle"
eye_m = [0.3, 3.6, 1.1]
"""
MOST_LINES, LONGEST_LINE = 60, 3500
PYTHONS_WORDS = re.compile(
    r"Traceback|<class|object at 0x|argument must|unable to parse|NoneType|codec|invalid literal|subscriptable|int\(\)|float\(\)"
    r"|errors\.pydantic|Errno|nan to integer|broadcast|Error:"
)


@dataclass(frozen=True)
class Reader:
    """A reader under test.

    seeds     sound files by name;  read  takes the path of a broken one and checks what was accepted
    refusals  its own exceptions: str() is a line for each fault
    """

    name: str
    seeds: Callable[[], dict[str, bytes]]
    read: Callable[[Path], None]
    refusals: tuple[type[Exception], ...]


def tried(reader: Reader, seed: int, edits: Sequence[Edit], folder: Path) -> bool:
    """Break a file and read it; True where it was accepted.

    raises  AssertionError for a refusal in the wrong words or a warning on the way, or whatever the reader raises beside refusals
    """
    seeds = reader.seeds()
    name = sorted(seeds)[seed % len(seeds)]
    path = folder / name
    path.write_bytes(edited(seeds[name], edits))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        warnings.simplefilter("ignore", ResourceWarning)  # which no user sees
        try:
            reader.read(path)
        except reader.refusals as fault:
            _in_words(str(fault))
            return False
    return True


def _in_words(said: str) -> None:
    lines = said.split("\n")
    assert 1 <= len(lines) <= MOST_LINES, f"{len(lines)} lines"
    for line in lines:
        assert line.strip(), "an empty line"
        assert line.isprintable(), f"not printable: {line!r}"
        assert len(line) <= LONGEST_LINE, f"a line of {len(line)}: {line[:300]}"
        assert not PYTHONS_WORDS.search(line), f"Python's words: {line}"


@cache
def _room() -> Any:
    return load_scene("light-lounge")


@cache
def _scenes() -> dict[str, bytes]:
    return {f"{name}.toml": scene_path(name).read_bytes() for name in scene_names()}


@cache
def _library() -> dict[str, bytes]:
    text = """[[fabric]]
name = "a"
gain = 1.3
half_gain_deg = 35
kind = "angular-reflective"
albedo = 0.7
hole_pitch_mm = 1.5
hole_diameter_mm = 0.4
tint = [1.0, 0.99, 0.98]
[[fabric]]
name = "b"
kind = "measured"
curve = [[0, 1.2], [20, 1.0], [40, 0.7], [80, 0.5]]
lobe_about = "source"
[[fabric]]
name = "c"
kind = "rough-diffuse"
gain = 0.8
roughness_deg = 20
[[finish]]
name = "d"
reflectance = [0.3, 0.2, 0.1]
absorption = { 125 = 0.1, 4000 = 0.6 }
source = "here"
"""
    return {"own.toml": text.encode()}


@cache
def _curves() -> dict[str, bytes]:
    rows = [f"{v},{1.3 * 2 ** -((v / 35) ** 2):.4f},{i},{a},0.01" for i in (0, 30) for a in (0, 90) for v in range(5, 80, 15)]
    return {
        "curve.csv": ("view_deg,gain,incidence_deg,azimuth_deg,gain_sd\n" + "\n".join(rows) + "\n").encode(),
        "short.csv": b"# measured\nview_deg,gain\n0,1.2\n-20,1.0\n20,1.0\n45,0.6\n",
    }


@cache
def _lists() -> dict[str, bytes]:
    return {
        "a.csv": b'name,screen.fabric,projector.light_output_lm,"seat.""sofa left"".eye_m"\n'
        b'plain,matt white,,\nbright,silver,3000,"[-0.7, 3.0, 1.0]"\n',
        "b.toml": b'[[variant]]\nname = "plain"\nscreen.fabric = "matt white"\n[[variant]]\nname = "b"\nscreen.fabric = { gain = 0.9 }\n'
        b'"projector.light_output_lm" = 3000\nseat."sofa left".eye_m = [-0.7, 3.0, 1.0]\n',
    }


def _heights(rows: int = 10, columns: int = 16) -> np.ndarray:
    x, y = np.meshgrid(np.linspace(-1.2, 1.2, columns), np.linspace(0.675, -0.675, rows))
    return 0.004 * np.sin(2.1 * x + 0.4) * np.cos(3.3 * y - 0.2)


@cache
def _maps() -> dict[str, bytes]:
    from PIL import Image

    h = _heights()
    files = {"map.csv": "\n".join(",".join(f"{1e3 * v:.4f}" for v in row) for row in h).encode()}
    for name, values in (("a.npy", h), ("b.npy", np.asfortranarray(h.astype(">f4"))), ("c.npy", (1e5 * h).astype(np.int16))):
        file = io.BytesIO()
        np.save(file, values)
        files[name] = file.getvalue()
    for name, kind in (("map.png", "PNG"), ("map.tiff", "TIFF")):
        file = io.BytesIO()
        Image.fromarray(np.round(h / 1e-6 + 20000).astype(np.uint16)).save(file, kind)
        files[name] = file.getvalue()
    file = io.BytesIO()
    Image.fromarray(h.astype(np.float32)).save(file, "TIFF", compression="tiff_lzw")
    files["float.tif"] = file.getvalue()
    return files


@cache
def _scans() -> dict[str, bytes]:
    import trimesh

    rows, columns = 6, 9
    x, y = np.meshgrid(np.linspace(-1.22, 1.22, columns), np.linspace(-0.69, 0.69, rows))
    corners = np.stack([x.ravel(), y.ravel(), 0.01 * np.sin(3 * x.ravel())], axis=1)
    index = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = (index[i : rows - 1 + i, j : columns - 1 + j].ravel() for i, j in ((0, 0), (0, 1), (1, 0), (1, 1)))
    mesh = trimesh.Trimesh(corners, np.concatenate([np.stack([a, b, c], axis=1), np.stack([b, d, c], axis=1)]), process=False)
    return {
        "binary.ply": mesh.export(file_type="ply"),
        "text.ply": mesh.export(file_type="ply", encoding="ascii"),
        "scan.obj": mesh.export(file_type="obj").encode(),
        "scan.glb": mesh.export(file_type="glb"),
    }


@cache
def _meshes() -> dict[str, bytes]:
    """Rooms of 4 x 6 x 2.5 m with a column in them: of a few parts with materials, and of one."""
    import trimesh

    room, column = trimesh.creation.box((4.0, 2.5, 6.0)), trimesh.creation.cylinder(0.1, 2.0, sections=6)
    for mesh, place in ((room, (0.0, 1.25, 3.0)), (column, (1.0, 1.2, 4.0))):
        mesh.apply_translation(place)
    scene = trimesh.Scene()
    for name, mesh in (("shell", room), ("column", column)):
        material = trimesh.visual.material.PBRMaterial(name=f"{name} paint")
        mesh.visual = trimesh.visual.TextureVisuals(material=material)
        scene.add_geometry(mesh, node_name=name, geom_name=f"{name} mesh")
    both = trimesh.util.concatenate([trimesh.Trimesh(mesh.vertices, mesh.faces, process=False) for mesh in (room, column)])
    parts = "".join(
        f"o {name}\nusemtl {name}\n{mesh.export(file_type='obj', header=None)}\n" for name, mesh in (("shell", room),)
    )
    return {
        "room.glb": scene.export(file_type="glb"),
        "room.ply": both.export(file_type="ply"),
        "text.ply": both.export(file_type="ply", encoding="ascii"),
        "room.obj": parts.encode(),
    }


@cache
def _images() -> dict[str, bytes]:
    from PIL import Image

    ramp = np.linspace(0, 255, 24 * 32).reshape(24, 32)
    pictures = {
        "grey.png": (Image.fromarray(ramp.astype(np.uint8)), "PNG"),
        "deep.png": (Image.fromarray((257 * ramp).astype(np.uint16)), "PNG"),
        "map.tif": (Image.fromarray(ramp.astype(np.float32) / 255), "TIFF"),
    }
    colour = Image.fromarray(np.stack([ramp, ramp[::-1], ramp.T.reshape(24, 32)], axis=2).astype(np.uint8))
    kinds = (("a.png", "PNG"), ("b.jpg", "JPEG"), ("c.tif", "TIFF"), ("d.bmp", "BMP"), ("e.webp", "WEBP"), ("f.gif", "GIF"))
    pictures |= {name: (colour, kind) for name, kind in kinds}
    pictures["index.png"] = (colour.convert("P"), "PNG")
    pictures["clear.png"] = (colour.convert("RGBA"), "PNG")
    files = {}
    for name, (image, kind) in pictures.items():
        file = io.BytesIO()
        image.save(file, kind)
        files[name] = file.getvalue()
    return files


@cache
def _of_room() -> tuple[Any, dict[str, Any], Any]:
    """Arrays and geometry of the room, and stand-ins for the starts of its paths: nothing is traced."""
    arrays = flatten(_room())
    return arrays, geometry_of(_room(), arrays), SimpleNamespace(place=np.zeros((25, 3)))


@cache
def _ledgers() -> dict[str, bytes]:
    count = 25 * REPLICATIONS
    zeros = np.zeros(count, np.uint16)
    ledger = Ledger(
        np.array([1]), np.array([0.6]), np.arange(count), np.ones(count, np.uint8), zeros.astype(np.int32), zeros, zeros
    )
    sound = to_bytes(Kept(ledger, _of_room()[1], 1, "a room"))
    with np.load(io.BytesIO(sound)) as file:
        parts = dict(file)
    plain = io.BytesIO()
    np.savez(plain, **parts)  # edits of what is not compressed reach the numbers
    return {"paths.npz": sound, "plain.npz": plain.getvalue()}


@cache
def _lamps() -> dict[str, bytes]:
    few = np.linspace(0.0, 180.0, 5)
    files = {f"{name}.ies": lm63(symmetric(name), name, gamma=few).encode() for name in PARTS}
    files["tilt.ies"] = lm63(symmetric("c90"), "c90", gamma=few, header="IESNA91", tilt="INCLUDE\n1\n2\n0 90\n1 0.8").encode()
    return files | {f"{name}.ldt": eulumdat(symmetric(name), name, gamma=few).encode() for name in PARTS}


def _read_lamp(path: Path) -> None:
    found, tilt = read_photometry(path)
    assert (np.diff(found.c_deg) > 0).all()
    assert (np.diff(found.gamma_deg) > 0).all()
    assert (found.c_deg[0], found.c_deg[-1]) == (0.0, 360.0)
    assert np.isfinite(found.candela).all()
    assert found.candela.min() >= 0.0
    assert 0.0 < found.flux_lm < np.inf
    assert np.isfinite(tilt.factor(0.0))


def _read_map(path: Path) -> None:
    picture = path.suffix in (".png", ".tif", ".tiff")
    keys = {"count_m": 1e-6, "zero_count": 20000.0} if picture else {"unit": "mm"}
    _used(path, keys)


def _read_scan(path: Path) -> None:
    _used(path, {"unit": "m"})
    _used(path, {"unit": "m", "lay": False})
    corners, triangles = read_scan(path, metres_per_unit=1.0)
    assert triangles.min() >= 0
    assert triangles.max() < len(corners)


def _read_mesh(path: Path) -> None:
    """As a room by its sides, and as a thing in a box."""
    six = "front = 0.5\nback = 0.5\nleft = 0.5\nright = 0.5\nceiling = 0.5\nfloor = 0.5\n"
    how = f'mesh = "{path.name}"\nunit = "m"\n'
    refused = []
    for room in (
        f'[room]\n{how}names = "sides"\n[room.finish]\n{six}',
        f'[room]\nwidth_m = 9\ndepth_m = 9\nheight_m = 9\n[room.finish]\n{six}[[room.object]]\nname = "a"\n{how}at_m = [0, 2, 1]\nfinish = 0.5\n',
    ):
        try:
            flatten(scene_from_text(f"format = 1\n{room}{AROUND}", "mesh.toml", path.parent))
        except SceneErrors as fault:
            refused.append(fault)
    if len(refused) == 2:
        raise refused[0]


def _used(path: Path, keys: dict[str, Any]) -> None:
    frame = Frame(WIDTH_M, HEIGHT_M, 0.3, 0.1, path.parent)
    folds = make_folds(FoldTable(kind="measured", file=path.name, **keys), frame)
    trouble(Cloth(WIDTH_M, HEIGHT_M, tuple(folds)), gap_to_wall_m=0.1, lens_out_m=3.0)
    heights = folds[0].at(np.array([0.0, 1.2]), np.array([0.0, -0.6]))
    assert np.isfinite(heights.height).all()


def _read_image(path: Path) -> None:
    for levels in (read_image(path), load_content(str(path), 16 / 9).linear):
        assert np.isfinite(levels).all()
        assert levels.min() >= 0.0
        assert levels.max() <= 1.0


def _read_ledger(path: Path) -> None:
    arrays, geometry, starts = _of_room()
    check(load(path), arrays, starts, geometry, str(path))


def _scene(path: Path) -> None:
    scene = load_scene(path)
    flatten(scene)


def _prices(path: Path) -> None:
    assert all(np.isfinite(price) for price in read_prices(path, load_library().fabrics).values())


def _site(path: Path) -> None:
    found = read_site_csv(path, _room())
    assert all(np.isfinite([each.value, each.repeat, each.digit]).all() and each.points for each in found.readings)


def _study(path: Path) -> None:
    study = read_study(path)
    if study.count <= 1000:
        assert np.isfinite(study.matrix()).all()
        study.variant(1, study.matrix()[0])


def _parts() -> dict[str, bytes]:
    row = OutputRow("seat", "dark", "white_cd_m2")
    read = Read(np.ones((1, 3)), np.ones((1, REPLICATIONS)))
    return {"part.npz": part_to_bytes(part_of([Done(1, "a" * 64, (row,), read, 400), Done(2, "b" * 64, failed="no room")], 1.5))}


def _part(path: Path) -> None:
    part = part_from_bytes(path.read_bytes())
    assert len(part.keys) == len(part.values)


def _survey(path: Path) -> None:
    surveyed_scene(survey(AnswersFile(path)))


_ANSWERS = b"""title = "Den"
room_width = "13 ft 6 in"
room_depth = 5.1
room_height = "250 cm"
picture_width = 2.4
lens_from_screen_wall = 3.9
lens_height = "7' 2\\""
light_output_lm = 1800
throw_ratio = "1.3 to 2.1"
[[seat]]
name = "middle"
from_screen_wall = 3.3
[[furniture]]
name = "sideboard"
left = 0.5
right = 1.5
near = 0
far = 0.4
top = 0.5
[[light]]
name = "lamps on"
lux = 12
"""
_STUDY = b"""scene = "black-box"
outputs = ["white_cd_m2", "checkerboard_ratio"]
states = ["dark"]
error = 0.05
[[factor]]
key = "room.finish.ceiling"
values = [0.05, "white ceiling paint"]
[[factor]]
keys = ["room.finish.left", "room.finish.right"]
low = 0.1
high = 0.5
[[factor]]
key = "projector.light_output_lm"
minus = "30 %"
[[factor]]
name = "paint"
[[factor.level]]
name = "as it is"
set = {}
[[factor.level]]
name = "dark"
set = { "room.finish.back" = 0.05, "room.finish.floor" = 0.1 }
[design]
method = "sobol"
samples = 4
"""
_READINGS = b"""picture,place,seat,light,value,unit,calibration_percent,repeat_percent,note
white,5,,dark,212.5,lx,4,1,
checkerboard,r2c3,armchair,,0.42,cd/m2,,,x
off,,,candles,1.60,fc,,,
"""


READERS = {
    reader.name: reader
    for reader in (
        Reader("scene", _scenes, _scene, (SceneErrors,)),
        Reader("library", _library, lambda path: list(load_library(path).fabrics.values()) and None, (LibraryErrors,)),
        Reader("curve", _curves, lambda path: read_curve(path) and None, (CurveErrors,)),
        Reader(
            "prices", lambda: {"p.csv": b'name,price\nmatt white,120\nfixed frame,300.5\n"silver",1e3\n'}, _prices, (SceneErrors,)
        ),
        Reader(
            "allow",
            lambda: {"a.csv": b"surface,finish,price_per_m2\nceiling,0.1,12\nleft,charcoal matt paint,8.5\n,0.2,3\n"},
            lambda path: read_allowed(path, _room()) and None,
            (AllowedErrors,),
        ),
        Reader("site readings", lambda: {"r.csv": _READINGS}, _site, (ReadingsErrors,)),
        Reader("study", lambda: {"study.toml": _STUDY}, _study, (SceneErrors,)),
        Reader("part of a study", _parts, _part, (DamagedPart,)),
        Reader("survey answers", lambda: {"s.toml": _ANSWERS}, _survey, (SceneErrors,)),
        Reader("variants", _lists, lambda path: listed_variants(path) and None, (SceneErrors,)),
        Reader("map", _maps, _read_map, (UnusableMap,)),
        Reader("mesh", _meshes, _read_mesh, (SceneErrors,)),
        Reader("scan", _scans, _read_scan, (UnusableMap,)),
        Reader("lamp", _lamps, _read_lamp, (UnusablePhotometry,)),
        Reader("image", _images, _read_image, (ImageError, PictureError)),
        Reader("ledger", _ledgers, _read_ledger, (LedgerError,)),
    )
}
