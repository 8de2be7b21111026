"""The scene as the rest of the program sees it: frozen, checked, metres and degrees, materials found.

Places are three tape measures [right, out, up] in metres as in the file; geometry.py holds the way to the inner frame.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, Literal

from ..materials.dataclass import dataclass
from ..materials.frozen import FrozenDict
from .changing import Changing
from .cloth.surface import Drape
from .digest import LATER, digest_of
from .lamps.model import Lamp, Light, Window
from .rooms.mesh import Mesh

if TYPE_CHECKING:  # for the types only: whoever needs no fabric need not wait for the kernels
    from ..materials.fabric import Fabric
    from ..materials.finish import Finish
    from .cloth.hanging import Hang
    from .warning import SceneWarning

Place = tuple[float, float, float]
Fit = Literal["width", "height", "inside"]
Shown = Literal["letterbox", "zoomed", "anamorphic"]
SURFACES = ("front", "back", "left", "right", "ceiling", "floor")


@dataclass(frozen=True)
class Box:
    """A box-shaped object: corners [right, out, up] in [m], one diffuse finish on all faces."""

    name: str
    min_m: Place
    max_m: Place
    finish: Finish


@dataclass(frozen=True)
class Body:
    """An object made of triangles, with one diffuse finish; sheets in it reflect on both sides."""

    name: str
    mesh: Mesh
    finish: Finish

    @property
    def min_m(self) -> Place:
        """Corner of what it spans that is nearest to left, screen wall and floor [right, out, up] [m]."""
        low, high = self.mesh.bounds
        return (float(low[0]), float(-high[1]), float(low[2]))

    @property
    def max_m(self) -> Place:
        """The opposite corner [right, out, up] [m]."""
        low, high = self.mesh.bounds
        return (float(high[0]), float(-low[1]), float(high[2]))


Thing = Box | Body


@dataclass(frozen=True)
class SurfacePart:
    """A part of a surface with a finish of its own: a rug, a strip of ceiling, a curtain, a door.

    on      the surface's name
    span_m  from where to where, to the right, out and up [m]; infinite where the whole surface is meant
    """

    name: str
    on: str
    span_m: tuple[tuple[float, float], tuple[float, float], tuple[float, float]]
    finish: Finish


@dataclass(frozen=True)
class Room:
    """A room: a box by its three measures [m], or the shape that `shell` gives, whose extent they are then.

    finish   has the names of `surfaces` as keys
    shell    walls, ceiling and floor as a closed mesh that faces inwards; None: a box
    parts    later ones lie on earlier ones
    """

    width_m: float
    depth_m: float
    height_m: float
    finish: Mapping[str, Finish]
    objects: tuple[Thing, ...] = ()
    shell: Mesh | None = field(default=None, metadata=LATER)
    parts: tuple[SurfacePart, ...] = field(default=(), metadata=LATER)

    def __post_init__(self) -> None:
        """Keeps the finishes as a mapping that cannot change."""
        if not isinstance(self.finish, FrozenDict):
            object.__setattr__(self, "finish", FrozenDict(self.finish))

    @property
    def surfaces(self) -> tuple[str, ...]:
        """Names of walls, ceiling and floor; of a box the six SURFACES."""
        return SURFACES if self.shell is None else self.shell.names

    def named(self, name: str) -> tuple[str, ...]:
        """The surfaces that a name means: itself, or a sloped ceiling's faces that have names of their own; none for no surface."""
        return tuple(each for each in SURFACES if each == name) if self.shell is None else self.shell.named(name)

    @property
    def boxes(self) -> tuple[Box, ...]:
        """The objects that are boxes."""
        return tuple(each for each in self.objects if isinstance(each, Box))

    @property
    def limits(self) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]]:
        """From where to where the room reaches to the right, out and up [m]."""
        if self.shell is None:
            return ((-self.width_m / 2, self.width_m / 2), (0.0, self.depth_m), (0.0, self.height_m))
        low, high = (tuple(map(float, corner)) for corner in self.shell.bounds)
        return ((low[0], high[0]), (-high[1], -low[1]), (low[2], high[2]))

    @property
    def finishes(self) -> dict[str, Finish]:
        """Finishes by the names of surfaces, things and parts."""
        return {**self.finish, **{each.name: each.finish for each in (*self.objects, *self.parts)}}

    def with_finishes(self, finishes: Mapping[str, Finish]) -> Room:
        """The room with other finishes on surfaces, things and parts of these names."""
        return replace(
            self,
            finish={name: finishes.get(name, finish) for name, finish in self.finish.items()},
            objects=tuple(replace(each, finish=finishes.get(each.name, each.finish)) for each in self.objects),
            parts=tuple(replace(each, finish=finishes.get(each.name, each.finish)) for each in self.parts),
        )


@dataclass(frozen=True)
class Casing:
    """The projector's casing, for geometry alone: light does not see it.

    size_m  [width, depth, height] along the room's axes;  lens_m  the lens in it, from the corner nearest to left, screen wall, floor
    air_m   free space asked for on every side [m];  by_wall  its place was given by its distance from the screen wall
    """

    size_m: Place
    lens_m: Place
    air_m: float = 0.0
    by_wall: bool = False


@dataclass(frozen=True)
class Film:
    """A film of another shape than the raster's, and how it is shown.

    aspect        width over height of the film's own picture [1]
    shown         letterbox: black bars in the raster; zoomed: the raster is enlarged until the film meets the screen, the bars beside it;
                  anamorphic: the whole raster is drawn out to the film's shape
    masked        black cloth, with the border's finish, over what the film leaves of the white area
    transmission  what the anamorphic lens lets through [1]
    """

    aspect: float
    shown: Shown = "letterbox"
    masked: bool = False
    transmission: float = 1.0


@dataclass(frozen=True)
class Ageing:
    """How the light declines: hours to half of it, hours run when it gives the output stated, hours of use a week (None: not said)."""

    half_light_h: float
    run_h: float = 0.0
    week_h: float | None = None


@dataclass(frozen=True)
class Mount:
    """How a screen is mounted [m], [kg], [N]; None: not said.

    case_*_m   the case above screen and border;  recess_m  how far it is let into the ceiling
    weight_kg  of the whole screen;  fixing_load_n  of one of `fixings`, as its maker states it
    cable_side "left" or "right" as seen from the seats
    """

    case_height_m: float | None = None
    case_depth_m: float | None = None
    case_width_m: float | None = None
    recess_m: float = 0.0
    weight_kg: float | None = None
    fixings: int | None = None
    fixing_load_n: float | None = None
    cable_side: Literal["left", "right"] | None = None

    @property
    def below_ceiling_m(self) -> float:
        """Height that the case takes up in the room [m]; 0 where no case is stated."""
        return max(0.0, (self.case_height_m or 0.0) - self.recess_m)


@dataclass(frozen=True)
class Projector:
    """The projector.

    light_output_lm        by ISO 21118 [lm];  in_use  share of it that is left in use [1], None: not said
    native_contrast        full on over full off [1];  checkerboard_contrast  its own, in a dark room [1], None: not said
    lens_m                 [right, out, up] [m]
    pixels                 across, down; None: the raster has the screen's shape;  fit  how it meets another shape
    corner_to_centre       illuminance at the raster's corner over that at its centre [1]
    throw_ratio            least, most distance over picture width [1]
    lens_shift             how far it reaches each way, in picture widths and heights [1]
    film                   what is shown, where it has a shape of its own; None: it fills the raster
    casing, weight_kg, ageing   for its place, its order and its hours [kg]; light sees none of them
    """

    light_output_lm: float
    native_contrast: float
    lens_m: Place
    in_use: float | None = None
    checkerboard_contrast: float | None = None
    pixels: tuple[int, int] | None = None
    fit: Fit = "inside"
    corner_to_centre: float = 1.0
    throw_ratio: tuple[float, float] | None = None
    lens_shift: tuple[float, float] | None = None
    film: Film | None = field(default=None, metadata=LATER)
    casing: Casing | None = field(default=None, metadata=LATER)
    weight_kg: float | None = field(default=None, metadata=LATER)
    ageing: Ageing | None = field(default=None, metadata=LATER)


@dataclass(frozen=True)
class Screen:
    """The white picture area [m], its place on the wall, its border, its fabric, and how its cloth hangs and lies.

    aspect         width / height [1]
    bottom_m       floor to the area's lower edge;  right_m  its middle right of the wall's middle [m]
    gap_to_wall_m  wall to the front of the fabric;  border_m  width of the border all round [m]
    backed         True where black cloth hangs behind it, so that no light comes through; None: not said
    mount          case, weight, fixings, cable
    """

    width_m: float
    height_m: float
    aspect: float
    bottom_m: float
    right_m: float
    gap_to_wall_m: float
    border_m: float
    border_finish: Finish
    fabric: Fabric
    hang: Hang
    drape: Drape = field(default_factory=Drape)
    mount: Mount | None = field(default=None, metadata=LATER)
    backed: bool | None = field(default=None, metadata=LATER)


@dataclass(frozen=True)
class Seat:
    """A seat: the eye's place [m]; body: reflectance of who sits there in the room's light [1], None: nobody."""

    name: str
    eye_m: Place
    body: float | None = field(default=None, metadata=LATER)


@dataclass(frozen=True)
class Document:
    """What a scene was made of: the parsed file, with materials made in code in their places; what the user called it; where its own files lie."""

    table: Mapping[str, Any]
    name: str
    folder: FilePath


@dataclass(frozen=True, eq=False)
class Scene(Changing):
    """Everything a simulation needs. Scenes with the same contents are equal, wherever they came from.

    path      the file as the user named it
    files     what it was read from: the scene file unless it is a text, its libraries, its measured folds
    notes     defaults taken, in words
    warnings  what a user should know before trusting the numbers
    document  what it was made of, for `change`; None for a scene put together in code (dataclasses.replace)
    """

    title: str
    path: str
    room: Room
    projector: Projector
    screen: Screen
    seats: tuple[Seat, ...]
    lights: tuple[Light, ...] = ()
    lamps: tuple[Lamp, ...] = ()
    windows: tuple[Window, ...] = ()
    notes: tuple[str, ...] = ()
    warnings: tuple[SceneWarning, ...] = ()
    files: tuple[FilePath, ...] = ()
    document: Document | None = field(default=None, init=False, repr=False)  # not handed on by dataclasses.replace
    checked: bool = field(default=False, init=False, repr=False)  # what the loader made is; recheck.py checks the rest
    _sha256: str = field(default="", init=False, repr=False)

    @property
    def sha256(self) -> str:
        """Of the scene file's bytes and of its own files; of a scene changed in code, of its contents. 64 hex digits."""
        return self._sha256 or self.digest

    @property
    def digest(self) -> str:
        """Hash of the contents, whatever file or code they came from, 64 hex digits. Source: `digest_of`."""
        known = self.__dict__.get("_digest")
        if known is None:
            later = (self.lamps, self.windows) if self.lamps or self.windows else ()
            known = digest_of((self.title, self.room, self.projector, self.screen, self.seats, self.lights, *later))
            object.__setattr__(self, "_digest", known)
        return str(known)

    def __eq__(self, other: object) -> bool:
        return self.digest == other.digest if isinstance(other, Scene) else NotImplemented

    def __hash__(self) -> int:
        return hash(self.digest)

    def __repr__(self) -> str:
        screen, seats = self.screen, len(self.seats)
        fabric = f"{screen.width_m:.2f} x {screen.height_m:.2f} m of {screen.fabric.name}, {screen.hang}"
        return f"<Scene {self.title!r}: {fabric}; {seats} {'seat' if seats == 1 else 'seats'}>"
