"""What a scan's own header claims, held against the file's size before anything is made from it."""

from __future__ import annotations

import json
import struct
from typing import Any

from ...materials.text.plain import plain
from .unusable import UnusableMap

MOST_CORNERS = 20_000_000  # of all meshes of a scan together; half a millimetre apart on a screen of 3 m
_MOST_NODES = 10_000
_MOST_HEAD = 100_000  # bytes of a PLY header
_MOST_JSON = 50_000_000  # bytes of a GLB's JSON
_HARMLESS = (
    "KHR_materials_",
    "KHR_texture_",
    "EXT_texture_",
    "KHR_lights_punctual",
    "KHR_mesh_quantization",
    "KHR_xmp",
)  # to the shape
_FAN = 6
_GLB_MAGIC, _JSON_CHUNK = 0x46546C67, 0x4E4F534A


def check_claims(data: bytes, ending: str) -> None:
    """Refuse a scan whose header counts more than its bytes can hold.

    Source: PLY (G. Turk, Stanford, 1994); glTF 2.0, sections 3.5 and 4.4: a node has one parent at most; OBJ counts nothing.
    raises UnusableMap
    """
    if ending == ".ply":
        _ply(data)
    elif ending == ".glb":
        _glb(data)
    elif b"\0" in data:
        raise UnusableMap("is not text, as an OBJ file is", "an OBJ file")


def _ply(data: bytes) -> None:
    head, found, _ = data[:_MOST_HEAD].partition(b"end_header")
    if not found or not head.startswith(b"ply"):
        raise UnusableMap("has no header of a PLY file", "a PLY file")
    claimed, rows = 0, 0
    for line in head.splitlines():
        words = line.split()
        if words[:1] == [b"element"]:
            if len(words) != 3 or not words[2].isdigit() or len(words[2]) > 12:
                raise UnusableMap("has an element without a count in its header", "a PLY file")
            rows = int(words[2])
        elif words[:1] == [b"property"]:
            claimed += rows  # a property takes a byte at least
    if claimed > len(data):
        raise UnusableMap("is cut off: its header counts more than the file holds", "a whole PLY file")


def _glb(data: bytes) -> None:
    if len(data) < 20 or struct.unpack_from("<I", data)[0] != _GLB_MAGIC:
        raise UnusableMap("cannot be read as a mesh: it has no header of a GLB file", "a GLB file")
    size, kind = struct.unpack_from("<II", data, 12)
    if kind != _JSON_CHUNK or size > min(_MOST_JSON, len(data) - 20):
        raise UnusableMap("is cut off, or no GLB file", "a whole GLB file")
    try:
        tree = json.loads(data[20 : 20 + size])
    except (ValueError, RecursionError):
        raise UnusableMap("holds no description that can be read", "a GLB file") from None
    try:
        foreign = _foreign(tree)
        corners, nodes, parents = _counts(tree, len(data))
    except (KeyError, TypeError, IndexError, AttributeError, ValueError, OverflowError):
        raise UnusableMap("has a description that is damaged", "a GLB file") from None
    if foreign:
        raise UnusableMap(f"holds {foreign}, which is not read", "a GLB with plain corners and triangles, without compression")
    if nodes > _MOST_NODES or parents > nodes:
        raise UnusableMap("has nodes in a ring, or too many", f"a tree of at most {_MOST_NODES} nodes")
    if corners > MOST_CORNERS:
        raise UnusableMap(f"has {corners:,} corners".replace(",", " "), f"at most {MOST_CORNERS // 1_000_000} million")


def _foreign(tree: dict[str, Any]) -> str:
    """What of a GLB would be misread or passed over in silence, in words; "" where there is nothing of the kind.

    Source: glTF 2.0, sections 3.6.2 (accessors), 3.7.2 (kinds of primitives: 6 is a fan) and 3.12 (required extensions).
    """
    needed = [str(name) for name in tree.get("extensionsRequired", [])]
    strange = [name for name in needed if not any(name.startswith(known) for known in _HARMLESS)]
    if strange:
        return f"the extension {plain(strange[0])}"
    accessors = tree.get("accessors", [])
    for mesh in tree.get("meshes", []):
        for part in mesh["primitives"]:
            if part.get("mode", 4) == _FAN:
                return "fans of triangles"
            used = [accessors[part[key]] for key in ("indices",) if key in part]
            used += [accessors[part["attributes"][key]] for key in ("POSITION",) if key in part["attributes"]]
            if any("sparse" in each for each in used):
                return "a sparse accessor"
            if any(each.get("normalized") for each in used):
                return "corners as normalised integers"
    return ""


def _counts(tree: dict[str, Any], size: int) -> tuple[int, int, int]:
    """Corners of all placed meshes, nodes, and how often a node stands as a child; raises ValueError where data is missing."""
    counts = [int(accessor["count"]) for accessor in tree.get("accessors", [])]
    if any(not 0 <= count <= size for count in counts):
        raise ValueError("an accessor counts more than there is")
    meshes = [
        sum(counts[part["attributes"]["POSITION"]] for part in mesh["primitives"] if "POSITION" in part["attributes"])
        for mesh in tree.get("meshes", [])
    ]
    nodes = tree.get("nodes", [])
    placed = sum(meshes[node["mesh"]] for node in nodes if "mesh" in node)
    children = [child for node in nodes for child in node.get("children", [])]
    if len(set(children)) != len(children):
        return placed, len(nodes), len(nodes) + 1
    return placed, len(nodes), len(children)
