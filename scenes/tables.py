"""The scene file's tables as pydantic models: keys, types and ranges. Lengths stand here in metres only (see units.py).

A field that ends in `_m` may be written in any unit of units.py; loading and the JSON Schema both follow that rule, so
a new length needs nothing but its field. Fields hold one value each; what two fields must agree on is in checks.py.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, Discriminator, Field, Strict, Tag, WithJsonSchema

from ..materials.fabric_table import FabricTable
from ..materials.finish_table import FinishTable
from .base_table import Name, Place, StrictTable
from .cloth.table import MOST_FOLDS, FoldTable, HangingTable
from .lamps.table import MOST_LAMPS, MOST_WINDOWS, LampTable, LightTable, WindowTable

AS_NAME, AS_NUMBER, AS_TABLE = "as name", "as number", "as table"  # union tags; blanks keep them apart from keys
TAGS = frozenset((AS_NAME, AS_NUMBER, AS_TABLE))


def kind_of(value: Any) -> str | None:
    """Which of the ways to give a material this value is; None for none of them."""
    if isinstance(value, str):
        return AS_NAME
    if isinstance(value, int | float) and not isinstance(value, bool):
        return AS_NUMBER
    return AS_TABLE if isinstance(value, dict | BaseModel) else None


LEAST_CONTRAST = 1.1  # own choice: nearer to 1 there is no picture, and differences of figures lose their digits
MOST_LIBRARIES = 20
_TOO_LARGE = 1e300  # whole numbers above do not fit a float


def parse_aspect(value: Any) -> Any:
    """Width over height from "16:9", "2.35:1" or a number.  raises ValueError in the user's words."""
    if isinstance(value, str):
        try:
            width, height = (float(part) for part in value.split(":"))
            value = width / height
        except (ValueError, ZeroDivisionError, OverflowError):
            raise ValueError('should be like "16:9" or "2.35:1", or a number') from None
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < _TOO_LARGE:
        raise ValueError('should be like "16:9" or "2.35:1", or a number')
    return value


def _whole_number(value: Any) -> Any:
    """Lets whole numbers through only: to Python `true` and 1.0 equal 1, to a file format they do not."""
    if type(value) is not int:
        raise ValueError("should be a whole number")
    return value


Side = Annotated[float, Field(gt=0, le=3)]
Aspect = Annotated[
    float,
    BeforeValidator(parse_aspect),
    Field(ge=0.3, le=5),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0.3, "maximum": 5},
                {"type": "string", "pattern": r"^\s*\d+(\.\d+)?\s*:\s*\d+(\.\d+)?\s*$", "examples": ["16:9", "2.35:1", "4:3"]},
            ]
        }
    ),
]
Reflectance = Annotated[float, Field(ge=0, le=1)]
FinishValue = Annotated[
    Annotated[str, Tag(AS_NAME)] | Annotated[Reflectance, Tag(AS_NUMBER)] | Annotated[FinishTable, Tag(AS_TABLE)],
    Discriminator(kind_of),
]
FabricValue = Annotated[Annotated[str, Tag(AS_NAME)] | Annotated[FabricTable, Tag(AS_TABLE)], Discriminator(kind_of)]
FINISH_WORDS = "a finish of the library by name, a grey reflectance 0 to 1, or a table { reflectance = ... }"
FABRIC_WORDS = "a fabric of the library by name, or a table [screen.fabric]"


def _material(description: str, words: str = FINISH_WORDS, default: Any = ...) -> Any:
    """Field of a material; the words serve editors and error messages."""
    return Field(default, description=f"{description}: {words}", json_schema_extra={"allowed": words})


class RoomFinishTable(StrictTable):
    """What the six surfaces are made of, left and right as seen from the seats."""

    front: FinishValue = _material("The wall the screen is on")
    back: FinishValue = _material("The wall behind the seats")
    left: FinishValue = _material("The wall on the left as seen from the seats")
    right: FinishValue = _material("The wall on the right as seen from the seats")
    ceiling: FinishValue = _material("The ceiling")
    floor: FinishValue = _material("The floor")


class BoxTable(StrictTable):
    """Two opposite corners of a box, its faces parallel to the walls."""

    min_m: Place = Field(description="Corner nearest to left, screen wall and floor: [right, out, up]")
    max_m: Place = Field(description="Opposite corner: [right, out, up]; larger in all three")


Way = Literal["right", "left", "out", "in", "up", "down"]
Span = Annotated[tuple[float, float], Strict(False)]


class MeshKeys(StrictTable):
    """How a mesh file is read."""

    unit: Literal["m", "cm", "mm", "in", "ft"] | None = Field(
        None, description="Unit of the mesh's numbers; GLB is in metres and IFC says its own, OBJ and PLY need it"
    )
    axes: Annotated[tuple[Way, Way, Way], Strict(False)] = Field(
        default=("right", "up", "out"),
        description='Where the mesh\'s x, y and z run, as seen from the seats; "in" is towards the screen wall; '
        "left out: right, up, out, of an IFC file right, in, up",
    )
    at_m: Place = Field(default=(0.0, 0.0, 0.0), description="Where the mesh's origin stands: [right, out, up]")
    turn_deg: float = Field(0.0, ge=-360, le=360, description="Turned about its upright axis, seen from above, against the clock")


class ObjectTable(MeshKeys):
    """A thing in the room with one finish: a closed box, or a mesh."""

    name: Name = Field(description="Its name in every table and picture; unlike any surface's")
    box: BoxTable | None = Field(None, description="Where it stands")
    mesh: str | None = Field(None, description="GLB, OBJ, PLY or IFC file beside the scene, in place of box")
    mesh_part: str | None = Field(None, description="Name of the one part of the mesh that is meant; left out: all of it")
    finish: FinishValue = _material("What it is made of")


class PartTable(StrictTable):
    """A part of a surface with a finish of its own: a rug, a strip of ceiling, a curtain, a door."""

    name: Name = Field(description="Its name in every table and picture")
    on: Name = Field(description='The surface it is a part of; "ceiling 2" is one face of a sloped ceiling')
    right_m: Span | None = Field(
        None, description="From where to where, right of the screen's middle; left out: the whole surface"
    )
    out_m: Span | None = Field(None, description="From where to where, out from the screen wall; left out: the whole surface")
    up_m: Span | None = Field(None, description="From where to where, up from the floor; left out: the whole surface")
    finish: FinishValue = _material("What it is made of")


class RoomTable(StrictTable):
    """The rectangular room, inside measures."""

    width_m: float = Field(ge=1, le=100, description="Width of the screen wall")
    depth_m: float = Field(ge=1, le=100, description="From the screen wall to the back wall")
    height_m: float = Field(ge=1.5, le=50, description="From floor to ceiling")
    finish: RoomFinishTable = Field(description="What the six surfaces are made of")
    object: Annotated[list[ObjectTable], Field(max_length=500)] = Field(default=[], description="Things in the room")
    part: Annotated[list[PartTable], Field(max_length=200)] = Field(
        default=[], description="Parts of surfaces: rugs, strips, doors"
    )


class FilmTable(StrictTable):
    """A film of another shape than the raster's, and how it is shown; light and contrast are then those of its own picture."""

    aspect: Aspect = Field(description="Width : height of the film's own picture")
    shown: Literal["letterbox", "zoomed", "anamorphic"] = Field(
        "letterbox",
        description="Black bars in the raster, the raster enlarged until the film meets the screen, or the whole raster drawn out by a lens",
    )
    masked: bool = Field(False, description="Black cloth, as border_finish, over what the film leaves of the white area")
    transmission: float = Field(1.0, ge=0.1, le=1, description="What an anamorphic lens lets through; 1 without one")


class CasingTable(StrictTable):
    """The projector's casing, for where it has room; light does not see it."""

    size_m: Annotated[tuple[Side, Side, Side], Strict(False)] = Field(
        description="[width, depth, height] as it stands in the room"
    )
    lens_m: (
        Annotated[
            tuple[Annotated[float, Field(ge=0, le=3)], Annotated[float, Field(ge=0, le=3)], Annotated[float, Field(ge=0, le=3)]],
            Strict(False),
        ]
        | None
    ) = Field(
        None,
        description="The lens in it, [right, out, up] from its corner nearest to left, screen wall and floor; "
        "left out: in the middle of the face towards the screen",
    )
    air_m: float = Field(0.0, ge=0, le=2, description="Free space that its maker asks for on every side")
    wall_m: float | None = Field(
        None,
        ge=0,
        le=100,
        description="From the screen wall to its nearest face, which says how far out the lens is; wants lens_m here",
    )


class AgeingTable(StrictTable):
    """How the projector's light declines with its hours."""

    half_light_h: float = Field(ge=100, le=1_000_000, description="Hours after which half of the light is left")
    run_h: float = Field(0.0, ge=0, le=1_000_000, description="Hours it has run when it gives the light output stated")
    week_h: float | None = Field(None, gt=0, le=168, description="Hours of use a week")


class ProjectorTable(StrictTable):
    """The projector, as its sheet and its place give it."""

    light_output_lm: float = Field(ge=1, le=200_000, description="Light output [lm] as ISO 21118 counts it")
    in_use: float | None = Field(
        None, ge=0.01, le=1, description="Share of the light output that is left in use: picture mode x zoom x age"
    )
    native_contrast: float = Field(ge=LEAST_CONTRAST, le=1e9, description="Full on : full off, in a dark room")
    checkerboard_contrast: float | None = Field(
        None,
        ge=LEAST_CONTRAST,
        le=1e9,
        description="The projector's own 4 x 4 checkerboard contrast in a dark room; at most native_contrast",
    )
    lens_m: Place = Field(
        description="Place of the lens: [right, out, up]; [right, up] where casing.wall_m says how far out it is",
        json_schema_extra={"minItems": 2},
    )
    pixels: (
        Annotated[tuple[Annotated[int, Field(ge=16, le=32_768)], Annotated[int, Field(ge=16, le=32_768)]], Strict(False)] | None
    ) = Field(None, description="Raster in pixels [across, down]; left out: the raster has the screen's shape")
    fit: Literal["width", "height", "inside"] = Field(
        "inside", description="How the raster meets a screen of another shape: as wide, as high, or the largest inside"
    )
    corner_to_centre: float = Field(1.0, ge=0.01, le=1, description="Illuminance at the raster's corner over its centre's")
    throw_ratio: (
        Annotated[tuple[Annotated[float, Field(ge=0.05, le=20)], Annotated[float, Field(ge=0.05, le=20)]], Strict(False)] | None
    ) = Field(None, description="Zoom range [least, most]: distance from lens to screen plane / picture width")
    lens_shift: (
        Annotated[tuple[Annotated[float, Field(ge=0, le=3)], Annotated[float, Field(ge=0, le=3)]], Strict(False)] | None
    ) = Field(
        None,
        description="How far the picture's middle may lie off the lens axis each way: [in picture widths, in picture heights]",
    )
    film: FilmTable | None = Field(None, description="What is shown, where it has a shape of its own")
    casing: CasingTable | None = Field(None, description="Its casing, for where it has room")
    weight_kg: float | None = Field(None, gt=0, le=2000, description="Its weight [kg]")
    ageing: AgeingTable | None = Field(None, description="How its light declines")


class MountTable(StrictTable):
    """How the screen is mounted, for its place and its order; light does not see it."""

    case_height_m: float | None = Field(None, gt=0, le=2, description="Height of the case above the screen and its border")
    case_depth_m: float | None = Field(None, gt=0, le=2, description="Depth of the case")
    case_width_m: float | None = Field(None, gt=0, le=50, description="Width of the case with its brackets")
    recess_m: float = Field(0.0, ge=0, le=2, description="How far the case is let into the ceiling")
    weight_kg: float | None = Field(None, gt=0, le=5000, description="Weight of the screen, all of it [kg]")
    fixings: int | None = Field(None, ge=1, le=100, description="Number of fixings")
    fixing_load_n: float | None = Field(None, gt=0, le=100_000, description="Load of one fixing [N] as its maker states it")
    cable_side: Literal["left", "right"] | None = Field(
        None, description="Where the cable leaves the case, as seen from the seats"
    )


class ScreenTable(StrictTable):
    """The screen: its white area, place, border, fabric, and how it hangs."""

    width_m: float | None = Field(None, ge=0.2, le=40, description="Width of the white picture area")
    diagonal_m: float | None = Field(
        None, ge=0.25, le=50, description="Diagonal of the white picture area, in place of its width"
    )
    aspect: Aspect = Field(description="Width : height of the white area")
    bottom_m: float = Field(ge=0, le=50, description="Floor to the lower edge of the white area")
    right_m: float = Field(0.0, ge=-50, le=50, description="Middle of the screen right of the middle of the wall")
    gap_to_wall_m: float = Field(ge=0.001, le=100, description="Wall to the front of the fabric, at least 1 mm")
    border_m: float = Field(0.0, ge=0, le=2, description="Width of the frame or black masking around the white area")
    backed: bool | None = Field(
        None, description="true: black cloth hangs behind the screen, so that no light comes through holes or weave"
    )
    border_finish: FinishValue | None = _material("What the border is made of", default=None)
    fabric: FabricValue = _material("What it is made of", FABRIC_WORDS)
    hang: Literal["pull-down", "motorised", "tab-tensioned", "fixed frame"] = Field(
        "fixed frame", description="How the fabric is held"
    )
    mount: MountTable | None = Field(None, description="How it is mounted: case, weight, fixings, cable")
    hanging: HangingTable | None = Field(None, description="What the cloth hangs from and how heavy it is")
    fold: Annotated[list[FoldTable], Field(max_length=MOST_FOLDS)] = Field(
        default=[], description="Folds of the cloth; where there are any, they stand in place of what the hang would make"
    )


class SeatTable(StrictTable):
    """A seat."""

    name: Name = Field(description="Its name in every table and picture")
    eye_m: Place = Field(description="Place of the eye: [right, out, up]")
    body: Reflectance | None = Field(
        None, description="Reflectance of the clothes of who sits there, as a body in the room's light; left out: nobody does"
    )


class SceneTable(StrictTable):
    """A halfgain scene: one room, one projector, one screen, seats."""

    format: Annotated[Literal[1], BeforeValidator(_whole_number)] = Field(description="Version of this format")
    title: str | None = Field(None, max_length=200, description="What the scene is; left out: the file's name")
    libraries: Annotated[list[str], Field(max_length=MOST_LIBRARIES)] = Field(
        default=[], description="Files of fabrics and finishes beside the scene file"
    )
    room: RoomTable
    projector: ProjectorTable
    screen: ScreenTable
    lamp: Annotated[list[LampTable], Field(max_length=MOST_LAMPS)] = Field(
        default=[], description="Lamps that light states may pick"
    )
    window: Annotated[list[WindowTable], Field(max_length=MOST_WINDOWS)] = Field(
        default=[], description="Windows that light states may pick"
    )
    light: Annotated[list[LightTable], Field(max_length=50)] = Field(default=[], description="Light states")
    seat: Annotated[list[SeatTable], Field(min_length=1, max_length=200)] = Field(description="Seats, at least one")


EXACTLY_ONE = {  # lengths of which a table takes one; loader and schema read it
    "ScreenTable": ("width_m", "diagonal_m"),
    "PlanRoomTable": ("height_m", "heights_m"),
}
