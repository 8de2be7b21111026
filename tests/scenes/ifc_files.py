"""Small IFC files of our own making: blocks with names, in millimetres, z up."""

from __future__ import annotations

from typing import Any, NamedTuple


class Block(NamedTuple):
    """A product that is one block: its class, name, low corner and size in the file's unit."""

    kind: str
    name: str
    at: tuple[float, float, float]
    size: tuple[float, float, float]
    long_name: str = ""


def ifc_text(blocks: list[Block], *, prefix: str | None = "MILLI", units: bool = True) -> str:
    """An IFC4 file of blocks; `prefix` of the metre, `units` False: none is stated."""
    import ifcopenshell
    import ifcopenshell.guid

    file = ifcopenshell.file(schema="IFC4")

    def make(kind: str, **keys: Any) -> Any:
        return file.create_entity(kind, **keys)

    def place(at: tuple[float, ...]) -> Any:
        return make("IfcCartesianPoint", Coordinates=tuple(map(float, at)))

    axes = make("IfcAxis2Placement3D", Location=place((0, 0, 0)))
    context = make(
        "IfcGeometricRepresentationContext", ContextType="Model", CoordinateSpaceDimension=3, Precision=1e-5,
        WorldCoordinateSystem=axes,
    )  # fmt: skip
    unit = make(
        "IfcSIUnit", UnitType="LENGTHUNIT" if units else "AREAUNIT", Prefix=prefix, Name="METRE" if units else "SQUARE_METRE"
    )
    make(
        "IfcProject", GlobalId=ifcopenshell.guid.new(), Name="a house", RepresentationContexts=[context],
        UnitsInContext=make("IfcUnitAssignment", Units=[unit]),
    )  # fmt: skip
    for block in blocks:
        x, y, z = map(float, block.size)
        middle = make("IfcAxis2Placement2D", Location=place((x / 2, y / 2)))
        solid = make(
            "IfcExtrudedAreaSolid", SweptArea=make("IfcRectangleProfileDef", ProfileType="AREA", Position=middle, XDim=x, YDim=y),
            Position=make("IfcAxis2Placement3D", Location=place(block.at)),
            ExtrudedDirection=make("IfcDirection", DirectionRatios=(0.0, 0.0, 1.0)), Depth=z,
        )  # fmt: skip
        body = make(
            "IfcShapeRepresentation", ContextOfItems=context, RepresentationIdentifier="Body", RepresentationType="SweptSolid",
            Items=[solid],
        )  # fmt: skip
        product = make(
            block.kind, GlobalId=ifcopenshell.guid.new(), Name=block.name or None,
            ObjectPlacement=make("IfcLocalPlacement", RelativePlacement=axes),
            Representation=make("IfcProductDefinitionShape", Representations=[body]),
        )  # fmt: skip
        if block.long_name:
            product.LongName = block.long_name
    return str(file.to_string())
