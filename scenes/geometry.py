"""Where things are: the one pair of maps between file and inner frame, the screen's frame, raster and picture.

Inner frame: right-handed, metres, origin at the foot of the middle of the screen wall; x right as seen from the seats,
y = -out, z up. The file's [right, out, up] is left-handed as axes; every place and every mesh passes through this pair.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol, get_args

from ..materials.text.word import check_word
from .model import Fit, Place, Projector, Screen


class HasScreen(Protocol):
    """What the functions here need of a scene."""

    @property
    def screen(self) -> Screen: ...
    @property
    def projector(self) -> Projector: ...


def to_inside(place: Place) -> Place:
    """A file's place [right, out, up] in the inner frame (x, y, z), both [m].  Mirrors, so its determinant is -1.

    Source: the scene file's definition of a place.
    """
    right, out, up = place
    return (right, -out, up)


def to_file(xyz: Place) -> Place:
    """An inner place (x, y, z) as the file writes it [right, out, up], both [m].  Source: inverse of `to_inside`."""
    x, y, z = xyz
    return (x, -y, z)


class ScreenFrame(NamedTuple):
    """Inner-frame place [m] of the white area's middle and its unit axes; normal = right x up, towards the seats."""

    centre: Place
    right: Place
    up: Place
    normal: Place


class Raster(NamedTuple):
    """A rectangle in the screen plane: metres right of the screen's centre and up from it."""

    left_m: float
    right_m: float
    bottom_m: float
    top_m: float

    @property
    def width_m(self) -> float:
        """Width [m]. Source: definition."""
        return self.right_m - self.left_m

    @property
    def height_m(self) -> float:
        """Height [m]. Source: definition."""
        return self.top_m - self.bottom_m

    @property
    def area_m2(self) -> float:
        """Area [m2]. Source: definition."""
        return self.width_m * self.height_m


def screen_frame(scene: HasScreen) -> ScreenFrame:
    """Frame of the screen: X = right, Y = up, Z = normal towards the seats (-y), about the middle of the white area [m]. Source: definition."""
    screen = scene.screen
    centre = to_inside((screen.right_m, screen.gap_to_wall_m, screen.bottom_m + screen.height_m / 2))
    return ScreenFrame(centre, (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))


def white_area(scene: HasScreen) -> Raster:
    """The white picture area [m], in screen-plane coordinates."""
    width, height = scene.screen.width_m, scene.screen.height_m
    return Raster(-width / 2, width / 2, -height / 2, height / 2)


def raster(scene: HasScreen) -> Raster:
    """The projector's whole light rectangle [m], centred on the screen.

    It has the shape of `pixels`, or the screen's where they are left out; `fit` makes it as wide as the white area, as high,
    or the largest that stays inside.
    raises UnknownWord for another fit
    Source: pixels are taken as square, common practice, no source.
    """
    screen, projector = scene.screen, scene.projector
    check_word("fit", projector.fit, get_args(Fit))
    if projector.pixels is None:
        return white_area(scene)
    shape = projector.pixels[0] / projector.pixels[1]
    by_width = projector.fit == "width" or (projector.fit == "inside" and shape >= screen.width_m / screen.height_m)
    width, height = (screen.width_m, screen.width_m / shape) if by_width else (screen.height_m * shape, screen.height_m)
    return Raster(-width / 2, width / 2, -height / 2, height / 2)


def picture(scene: HasScreen) -> Raster:
    """The raster cut by the white area [m]: what the audience sees of it."""
    light, white = raster(scene), white_area(scene)
    return Raster(
        max(light.left_m, white.left_m),
        min(light.right_m, white.right_m),
        max(light.bottom_m, white.bottom_m),
        min(light.top_m, white.top_m),
    )


def on_screen_plane(scene: HasScreen, right_m: float, up_m: float) -> Place:
    """File place [right, out, up] of a point of the screen plane, from its screen-plane coordinates, all [m]."""
    screen = scene.screen
    return (screen.right_m + right_m, screen.gap_to_wall_m, screen.bottom_m + screen.height_m / 2 + up_m)


def corners(scene: HasScreen, area: Raster) -> tuple[Place, Place, Place, Place]:
    """File places [m] of a rectangle's corners: bottom left, bottom right, top right, top left."""
    left, right, bottom, top = area
    return (
        on_screen_plane(scene, left, bottom),
        on_screen_plane(scene, right, bottom),
        on_screen_plane(scene, right, top),
        on_screen_plane(scene, left, top),
    )
