"""IFC files (ISO 16739): things by their names, a room by one of its spaces, whose faces are called by what stands behind them."""

from __future__ import annotations

import codecs
import importlib.util
import io
import json
import subprocess
import sys
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from ...materials.text.plain import plain
from .inside import distances, is_inside
from .read_mesh import MOST_TRIANGLES, MeshPart, Placing, UnusableMesh, inside
from .sound_mesh import sides

EXTRA = "ifcopenshell"
SPACE = "IfcSpace"
_PATIENCE_S = 300.0
_STEP_M = 0.03  # so far behind a face its wall is looked for, and
_REACH_M = 0.15  # a wall that stands off the face by less, as behind a finish that is no element, still names it
_ASKED = np.array([[1, 1, 1], [4, 1, 1], [1, 4, 1], [1, 1, 4], [2, 2, 1], [1, 2, 2], [2, 1, 2]], float)  # places of a triangle


class Product(NamedTuple):
    """A shaped product: its class, its names, its material, corners (V, 3) [m] in the file's axes, triangles (F, 3)."""

    kind: str
    name: str
    long_name: str
    material: str
    corners: np.ndarray
    faces: np.ndarray


@lru_cache(maxsize=4)
def products_of(data: bytes) -> tuple[Product, ...]:
    """The shaped products of an IFC file; the last files' are kept, since scenes are loaded again with every change.

    raises UnusableMesh for a file that is no IFC, is damaged or states no unit; where the reader is not installed
    """
    data = data.removeprefix(codecs.BOM_UTF8)
    if not data.lstrip()[:12] == b"ISO-10303-21":
        raise UnusableMesh("is no IFC file of plain text (it does not begin with ISO-10303-21)", "a file saved as .ifc", "mesh")
    if not data.rstrip().endswith(b"END-ISO-10303-21;"):
        raise UnusableMesh("breaks off: its last line, END-ISO-10303-21, is missing", "a whole file", "mesh")
    if importlib.util.find_spec(EXTRA) is None:
        raise UnusableMesh(f"needs {EXTRA}, which is not installed", 'pip install "halfgain[ifc]", or a GLB of the room', "mesh")
    command = [sys.executable, "-m", "halfgain.scenes.rooms.ifc_child", str(MOST_TRIANGLES)]
    try:
        done = subprocess.run(command, input=data, capture_output=True, timeout=_PATIENCE_S, check=False)
    except subprocess.TimeoutExpired:
        raise UnusableMesh(f"was not read within {_PATIENCE_S:g} s", "a smaller file", "mesh") from None
    if done.returncode != 0 or not done.stdout:
        raise UnusableMesh("cannot be read as IFC: its reader broke off", "a file that IFC programs open", "mesh")
    arrays = np.load(io.BytesIO(done.stdout), allow_pickle=False)
    told = json.loads(arrays["told"].tobytes())
    if isinstance(told, dict):
        raise UnusableMesh(plain(told["error"]), "an IFC file with its units", "mesh")
    found, v, f = [], 0, 0
    for each, (corners, faces) in zip(told, arrays["many"], strict=True):
        own = arrays["corners"][v : v + corners], arrays["faces"][f : f + faces]
        found.append(Product(each["kind"], each["name"], each["long_name"], each["material"], *own))
        v, f = v + int(corners), f + int(faces)
    return tuple(found)


def things(data: bytes) -> list[MeshPart]:
    """All products but spaces, each a part.  raises UnusableMesh"""
    return [MeshPart(_name(each), each.material, each.corners, each.faces) for each in products_of(data) if each.kind != SPACE]


def room_of(data: bytes, wanted: str | None, placing: Placing) -> list[MeshPart]:
    """The faces of one space, a part for each product that stands behind them, by its name and its material.

    wanted   name of the space, short or long; None: the file's only one;  placing  tells which side a face looks from
    raises  UnusableMesh for a file without spaces, or with several of which none is named, or more than one by that name
    Source: ISO 16739-1, IfcSpace; faces with nothing behind them are called by the side they look from.
    """
    every = products_of(data)
    spaces = [each for each in every if each.kind == SPACE]
    names = ", ".join(f'"{plain(name)}"' for name in dict.fromkeys(_name(each) for each in spaces))
    if not spaces:
        raise UnusableMesh("has no IfcSpace with a body", "a file whose rooms are spaces, or a GLB of the room", "mesh")
    if wanted is None and len(spaces) > 1:
        raise UnusableMesh("has several spaces: say which", names, "mesh_part")
    chosen = [each for each in spaces if wanted is None or wanted in (each.name, each.long_name)]
    if not chosen:
        raise UnusableMesh("is no space of the file", names, "mesh_part")
    if len(chosen) > 1:
        raise UnusableMesh("is the name of several spaces", names, "mesh_part")
    space = chosen[0]
    names_of, owner = _behind(space, [each for each in every if each.kind != SPACE], placing)
    found = [(*names_of[i], space.faces[owner == i]) for i in np.unique(owner)]
    return [MeshPart(name, material, space.corners, faces) for name, material, faces in found]


def _name(product: Product) -> str:
    return product.name or product.long_name or product.kind


def _behind(space: Product, elements: list[Product], placing: Placing) -> tuple[list[tuple[str, str]], np.ndarray]:
    """Name and material of what stands behind each triangle, and which of them each is.

    Source: places a little beyond the face, asked of every element whose box is near; most of a triangle's places decide.
    """
    at = space.corners[space.faces]
    cross = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0])
    normal = cross / np.maximum(np.linalg.norm(cross, axis=1, keepdims=True), 1e-300)
    if np.einsum("ij,ij->", at[:, 0] - at.reshape(-1, 3).mean(axis=0), cross) < 0.0:
        normal = -normal
    weights = _ASKED / _ASKED.sum(axis=1, keepdims=True)
    places = np.einsum("ak,fkj->faj", weights, at) + _STEP_M * normal[:, None]
    votes = np.zeros((len(at), len(elements)))
    for i, each in enumerate(elements):
        low, high = each.corners.min(axis=0) - _REACH_M, each.corners.max(axis=0) + _REACH_M
        near = ((places >= low) & (places <= high)).all(axis=2)
        triangles = each.corners[each.faces]
        for face, place in np.argwhere(near):
            p = places[face, place]
            gap = 0.0 if is_inside(triangles, p[None])[0] else float(distances(triangles, p).min())
            votes[face, i] += max(0.0, 1.0 - gap / _REACH_M)
    side, side_names = _sides(inside(MeshPart("", "", space.corners, space.faces), placing))
    names = [(_name(each), each.material) for each in elements] + [(name, "") for name in side_names]
    nothing = votes.max(axis=1, initial=0.0) <= 0.0
    owner = np.where(nothing, len(elements) + side, votes.argmax(axis=1) if elements else 0)
    return names, owner


def _sides(space: MeshPart) -> tuple[np.ndarray, tuple[str, ...]]:
    """Which side each triangle of a space in the inside frame is, and the sides' names."""
    at = space.corners[space.faces]
    cross = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0])
    outward = np.einsum("ij,ij->", at[:, 0] - at.reshape(-1, 3).mean(axis=0), cross) > 0.0
    return sides(space.corners, space.faces[:, ::-1] if outward else space.faces)
