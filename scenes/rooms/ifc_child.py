"""An IFC file on stdin, its products as arrays on stdout: a program of its own, since the reader is compiled code that a bad file may end.

Run: python -m halfgain.scenes.rooms.ifc_child MOST_TRIANGLES
Answers with one NPZ: `told`, JSON with "error", or with kind, name, long_name, material of each product; corners, faces and their counts.
"""

from __future__ import annotations

import io
import json
import os
import sys
from typing import Any

import numpy as np

UNSHAPED = ("IfcOpeningElement", "IfcSite", "IfcAnnotation", "IfcGrid", "IfcVirtualElement")  # what is no thing in a room


class Unusable(Exception):
    """A file that cannot be used; the one argument says why."""


def products(data: bytes, most_triangles: int) -> tuple[list[dict[str, str]], list[np.ndarray], list[np.ndarray]]:
    """Kind and names of each shaped product, its corners (V, 3) [m] in the file's own axes and its triangles (F, 3).

    raises Unusable
    Source: ISO 16739-1, IfcProduct, IfcUnitAssignment; ifcopenshell turns lengths to metres by the file's own unit.
    """
    import ifcopenshell
    import ifcopenshell.geom

    kernel: Any = ifcopenshell.geom  # its types do not tell the kinds of a shape apart
    try:
        file: Any = ifcopenshell.file.from_string(data.decode("utf-8", "replace"))
    except Exception as fault:  # the library's own kinds
        raise Unusable(f"cannot be read as IFC: {str(fault)[:120]}") from None
    _check_unit(file)
    settings = kernel.settings()
    settings.set("use-world-coords", True)
    told: list[dict[str, str]] = []
    corners: list[np.ndarray] = []
    faces: list[np.ndarray] = []
    count = 0
    for product in file.by_type("IfcProduct"):
        if product.Representation is None or any(product.is_a(kind) for kind in UNSHAPED):
            continue
        try:
            shape: Any = kernel.create_shape(settings, product).geometry
        except Exception:  # a product without a body, such as an axis alone
            continue
        some = np.array(shape.faces, np.int64).reshape(-1, 3)
        if not len(some):
            continue
        count += len(some)
        if count > most_triangles:
            raise Unusable(f"has more than {most_triangles} triangles")
        told.append(
            {
                "kind": product.is_a(),
                "name": str(product.Name or ""),
                "long_name": str(getattr(product, "LongName", None) or ""),
                "material": str(next((each.name for each in shape.materials), "")),
            }
        )
        corners.append(np.array(shape.verts, float).reshape(-1, 3))
        faces.append(some)
    return told, corners, faces


def _check_unit(file: Any) -> None:
    """raises Unusable for a file that does not say what its lengths are in"""
    units = [unit for each in file.by_type("IfcUnitAssignment") for unit in each.Units]
    if not any(getattr(unit, "UnitType", None) == "LENGTHUNIT" for unit in units):
        raise Unusable("states no unit of length")


def main() -> None:
    """Answer on stdout; what the library prints goes to stderr."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    arrays: dict[str, Any] = {}
    try:
        told, corners, faces = products(sys.stdin.buffer.read(), int(sys.argv[1]))
        if told:
            arrays = {"corners": np.concatenate(corners), "faces": np.concatenate(faces)}
        arrays["many"] = np.array([[len(c), len(f)] for c, f in zip(corners, faces, strict=True)], np.int64).reshape(-1, 2)
        said: Any = told
    except Unusable as fault:
        said = {"error": str(fault)}
    buffer = io.BytesIO()
    np.savez(buffer, told=np.frombuffer(json.dumps(said).encode(), np.uint8), **arrays)
    answers.write(buffer.getvalue())
    answers.close()


if __name__ == "__main__":
    main()
