"""Meshes of rooms and furniture (GLB, OBJ, PLY, IFC): named parts in the inside frame. GLB through trimesh, OBJ line by line."""

from __future__ import annotations

import io
import json
import math
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from ...materials.text.plain import plain
from ...materials.text.reading import Unreadable, read_bytes
from ..cloth.scan_claims import check_claims
from ..cloth.unusable import UnusableMap
from ..quiet import quiet
from ..units import UNITS
from .many_corners import FaceError, cut
from .read_ply import FAULTS, corners_and_rings

IFC = ".ifc"
MESHES = (".glb", ".obj", ".ply", IFC)
KINDS = "a GLB, OBJ, PLY or IFC file"
_DAMAGED = "cannot be read as a mesh: it is damaged, or names corners that it lacks"
LARGEST_BYTES = 200_000_000
MOST_TRIANGLES = 500_000  # of one file; 170,000 take 0.6 GiB in the light
MOST_PARTS = 2_000
_FARTHEST_M = 1e4
_SPECK_M2 = 1e-14
_PER_UNIT = {unit.suffix[1:]: unit.numerator / unit.denominator for unit in UNITS}
_WAYS = {  # of the words of `axes`, in the inside frame
    "right": (1, 0, 0), "left": (-1, 0, 0), "out": (0, -1, 0), "in": (0, 1, 0), "up": (0, 0, 1), "down": (0, 0, -1),
}  # fmt: skip


class UnusableMesh(UnusableMap):
    """A mesh that cannot be used; `allowed` says what would do, `key` which key of the table is at fault."""


class MeshPart(NamedTuple):
    """One part of a mesh file: name and material, corners (V, 3) in the file's numbers, triangles (F, 3)."""

    name: str
    material: str
    corners: np.ndarray
    faces: np.ndarray


class Placing(NamedTuple):
    """How a file's numbers become places: unit, axes by words, place of the origin [right, out, up] [m], turn [deg]."""

    unit: str | None
    axes: tuple[str, str, str]
    at_m: tuple[float, float, float]
    turn_deg: float


def read_parts(path: Path, placing: Placing, *, room: bool = False, space: str | None = None) -> list[MeshPart]:
    """The parts of a mesh file in the inside frame [m], turned so that left stays left.

    room    True: of an IFC file the faces of a space, the one called `space`; False: all else that is in it
    raises UnusableMesh for a file that is missing, damaged, too large, or without triangles; for OBJ and PLY without a unit
    Source: the file; `inside`.
    """
    ending = path.suffix.lower()
    if ending not in MESHES:
        raise UnusableMesh(f'is of an unknown kind: "{plain(path.suffix)}"', KINDS, "mesh")
    if placing.unit is not None and ending == IFC:
        raise UnusableMesh("stands beside the unit that the IFC file states itself", "leave it out", "unit")
    if placing.unit is None and ending not in (".glb", IFC):
        raise UnusableMesh(f"is missing: {ending[1:].upper()} files do not say their unit", "m, cm, mm, in, ft", "unit")
    try:
        data = read_bytes(path, LARGEST_BYTES, "a mesh", KINDS)
        if ending != IFC:
            check_claims(data, ending)
    except (Unreadable, UnusableMap) as fault:
        raise UnusableMesh(str(fault), fault.allowed, "mesh") from None
    if ending == IFC:
        from .read_ifc import room_of, things

        parts = room_of(data, space, placing) if room else things(data)
    else:
        parts = _of_obj(data) if ending == ".obj" else _of_ply(data) if ending == ".ply" else _of_glb(data)
    placed = [inside(_checked(each), placing) for each in parts if len(each.faces)]
    checked = [part for part in map(_with_area, placed) if len(part.faces)]
    if not checked:
        raise UnusableMesh("holds no triangles", "a mesh, not a cloud of points: mesh the points first", "mesh")
    if sum(len(part.faces) for part in checked) > MOST_TRIANGLES:
        count = sum(len(part.faces) for part in checked)
        raise UnusableMesh(
            f"has {count:,} triangles".replace(",", " "), f"at most {MOST_TRIANGLES:,}: simplify it".replace(",", " "), "mesh"
        )
    if len(checked) > MOST_PARTS:
        raise UnusableMesh(f"has {len(checked)} parts", f"at most {MOST_PARTS}", "mesh")
    return checked


def axes_matrix(axes: tuple[str, str, str]) -> np.ndarray:
    """Columns: where the file's x, y and z run in the inside frame.  raises UnusableMesh where two run along one line

    Source: glTF 2.0, section 3.4 has right-handed axes with y up; from the seats right is x, out z, and the inside frame is right-handed too.
    """
    matrix = np.array([_WAYS[word] for word in axes], float).T
    if abs(float(np.linalg.det(matrix))) < 0.5:
        raise UnusableMesh("name one line twice", 'such as ["right", "up", "out"]', "axes")
    return matrix


def inside(part: MeshPart, placing: Placing) -> MeshPart:
    """A part in the inside frame [m]: the one function for units, axes, handedness and place.

    Axes that mirror (a left-handed file) turn the triangles round, so that their fronts stay fronts.
    raises UnusableMesh for places beyond reason, which are another unit's
    """
    matrix = axes_matrix(placing.axes)
    turn = math.radians(placing.turn_deg)
    about = np.array([[math.cos(turn), -math.sin(turn), 0.0], [math.sin(turn), math.cos(turn), 0.0], [0.0, 0.0, 1.0]])
    right, out, up = placing.at_m
    with quiet():
        corners = part.corners.astype(float) * _PER_UNIT[placing.unit or "m"] @ (about @ matrix).T + [right, -out, up]
    if not np.isfinite(corners).all():
        raise UnusableMesh("has corners that are no numbers", "", "mesh")
    if len(corners) and np.abs(corners).max() > _FARTHEST_M:
        raise UnusableMesh(
            f"has a corner {np.abs(corners).max():.3g} m away",
            f"corners up to {_FARTHEST_M:g} m away, and the right unit",
            "unit",
        )
    mirrored = np.linalg.det(matrix) < 0.0
    return part._replace(corners=corners, faces=part.faces[:, ::-1] if mirrored else part.faces)


def _checked(part: MeshPart) -> MeshPart:
    """Corners and triangles as all else takes them on trust.  raises UnusableMesh"""
    corners, faces = np.asarray(part.corners), np.asarray(part.faces)
    if corners.ndim != 2 or faces.ndim != 2 or corners.shape[1:] != (3,) or faces.shape[1:] != (3,):
        raise UnusableMesh("holds no triangles", KINDS, "mesh")
    if corners.dtype.kind not in "fiu" or faces.dtype.kind not in "iu":
        raise UnusableMesh("has corners or triangles that are no numbers", KINDS, "mesh")
    faces = faces.astype(np.int64)
    if faces.min() < 0 or faces.max() >= len(corners):
        raise UnusableMesh(f'part "{plain(part.name)}" names corners that it lacks', f"corners 0 to {len(corners) - 1}", "mesh")
    if not np.isfinite(corners.astype(float)[faces]).all():
        raise UnusableMesh("has corners that are no numbers", KINDS, "mesh")
    return part._replace(corners=corners.astype(float), faces=faces)


def _with_area(part: MeshPart) -> MeshPart:
    """A placed part without triangles that have no area: needles have no normal in single precision, specks run together."""
    at = part.corners[part.faces]
    twice = np.linalg.norm(np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]), axis=1)
    longest = np.linalg.norm(np.diff(at[:, [0, 1, 2, 0]], axis=1), axis=2).max(axis=1)
    return part._replace(faces=part.faces[(twice > 1e-9 * longest**2) & (twice > _SPECK_M2)])


def _of_ply(data: bytes) -> list[MeshPart]:
    try:
        corners, rings = corners_and_rings(data)
    except FAULTS:
        raise UnusableMesh(_DAMAGED, KINDS, "mesh") from None
    try:
        triangles = [each for face in cut(corners, rings) for each in face]
    except FaceError as fault:
        raise UnusableMesh(f"face {fault.place + 1}: {fault}", "faces cut into triangles", "mesh") from None
    return [MeshPart("geometry_0", "", corners, np.array(triangles, np.int64).reshape(-1, 3))]


def _of_glb(data: bytes) -> list[MeshPart]:
    import trimesh

    names = _glb_names(data)
    try:
        with quiet("trimesh"):
            scene = trimesh.load_scene(io.BytesIO(without_pictures(data)), file_type="glb", process=False)
            found = []
            for node in scene.graph.nodes_geometry:
                matrix, key = scene.graph[node]
                mesh = scene.geometry[key]
                if not hasattr(mesh, "faces"):
                    continue
                corners = trimesh.transform_points(np.asarray(mesh.vertices, float), matrix)
                faces = np.asarray(mesh.faces)
                if np.linalg.det(np.asarray(matrix)[:3, :3]) < 0.0:
                    faces = faces[:, ::-1]
                material = getattr(getattr(mesh.visual, "material", None), "name", None)
                found.append(MeshPart(_known(str(node), names), str(material or ""), corners, faces))
    except Exception:  # the readers of many formats raise whatever they like
        raise UnusableMesh(_DAMAGED, KINDS, "mesh") from None
    return found


def _known(node: str, names: dict[str, None]) -> str:
    """A node's own name: one with several materials comes in pieces called NAME_1, NAME_2 ..."""
    base, _, number = node.rpartition("_")
    return base if node not in names and base in names and number.isalnum() else node


def _glb_names(data: bytes) -> dict[str, None]:
    """Names of the nodes of a GLB file, which `check_claims` has passed."""
    tree = _glb_tree(data)
    return {str(node.get("name", "")): None for node in tree.get("nodes", []) if isinstance(node, dict)} or {"": None}


def _glb_tree(data: bytes) -> dict[str, Any]:
    size = struct.unpack_from("<I", data, 12)[0]
    return dict(json.loads(data[20 : 20 + size]))


def without_pictures(data: bytes) -> bytes:
    """A GLB file without its textures: only the names of its materials are wanted, and pictures may be of any size.

    Source: glTF 2.0, sections 3.8 and 3.9.
    """
    tree, size = _glb_tree(data), struct.unpack_from("<I", data, 12)[0]
    for key in ("images", "textures", "samplers", "animations", "skins", "cameras"):
        tree.pop(key, None)
    tree["materials"] = [
        {"name": str(each.get("name", ""))} if isinstance(each, dict) else {} for each in tree.get("materials", [])
    ]
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    rest = data[20 + size :]
    return data[:8] + struct.pack("<II", 20 + len(text) + len(rest), len(text)) + data[16:20] + text + rest


def _of_obj(data: bytes) -> list[MeshPart]:
    """Parts by `o` and `g` and materials by `usemtl`. Source: the format of Wavefront's OBJ, its lines v, f, o, g and usemtl."""
    corners: list[list[float]] = []
    faces: dict[tuple[str, str], list[tuple[int, list[int]]]] = {}
    name, material, count = "", "", 0
    for number, line in _obj_lines(data):
        word, rest = (*line.split(None, 1), "", "")[:2]
        if word in ("o", "g"):
            name = rest or name
        elif word == "usemtl":
            material = rest
        elif word == "v":
            corners.append(_numbers(rest, number))
        elif word == "f":
            ring = [_corner(each, len(corners), number) for each in rest.partition("#")[0].split()]
            if len(ring) < 3:
                raise UnusableMesh(f"line {number}: a face of {len(ring)} corners", "at least 3", "mesh")
            count += len(ring) - 2
            if count > MOST_TRIANGLES:
                raise UnusableMesh("has too many triangles", f"at most {MOST_TRIANGLES:,}: simplify it".replace(",", " "), "mesh")
            faces.setdefault((name, material), []).append((number, ring))
    all_corners = np.array(corners, float).reshape(-1, 3)
    parts = []
    for (part, of), rings in faces.items():
        try:
            triangles = cut(all_corners, [ring for _, ring in rings])
        except FaceError as fault:
            raise UnusableMesh(f"line {rings[fault.place][0]}: {fault}", "faces cut into triangles", "mesh") from None
        used, renumbered = np.unique(np.concatenate(triangles), return_inverse=True)
        parts.append(MeshPart(part, of, all_corners[used], renumbered.reshape(-1, 3)))
    return parts


def _obj_lines(data: bytes) -> Iterator[tuple[int, str]]:
    """Lines with their numbers; a line that ends in a backslash goes on in the next."""
    begun, first = "", 0
    for number, line in enumerate(data.decode("utf-8-sig", "replace").splitlines(), 1):
        first = first if begun else number
        if line.endswith("\\"):
            begun += line[:-1] + " "
            continue
        yield first, (begun + line).strip()
        begun = ""
    if begun:
        yield first, begun.strip()


def _numbers(text: str, number: int) -> list[float]:
    try:
        values = [float(each) for each in text.split()[:3]]
        if len(values) == 3 and all(map(math.isfinite, values)):
            return values
    except ValueError:
        pass
    raise UnusableMesh(f"line {number}: a corner should have three numbers", "v x y z", "mesh")


def _corner(text: str, known: int, number: int) -> int:
    """Number of a corner from 0; negative ones count back from the last."""
    first = text.split("/")[0]
    if len(first) < 12 and first.lstrip("-").isdecimal():
        at = int(first)
        at = at - 1 if at > 0 else known + at
        if 0 <= at < known:
            return at
    raise UnusableMesh(f'line {number}: "{plain(text)[:40]}" is no corner of the file', f"1 to {known}", "mesh")
