"""Where things are: the one pair of maps between file and inner frame, the screen's frame, raster and picture.

Inner frame: right-handed, metres, origin at the foot of the middle of the screen wall; x right as seen from the seats,
y = -out, z up. The file's [right, out, up] is left-handed as axes; every place and every mesh passes through this pair.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple, Protocol, get_args

from ..materials.text.word import check_word
from .model import Film, Fit, Place, Projector, Screen

_FITS = get_args(Fit)


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
    or the largest that stays inside. A film that is zoomed or drawn out meets the screen in the raster's stead.
    raises UnknownWord for another fit
    Source: pixels are taken as square, common practice, no source.
    """
    screen, projector = scene.screen, scene.projector
    return _raster(screen.width_m, screen.height_m, projector.pixels, projector.fit, projector.film)


@lru_cache(maxsize=4096)  # of one screen and projector many ask: seats, causes, corners
def _raster(width_m: float, height_m: float, pixels: tuple[int, int] | None, fit: Fit, film: Film | None) -> Raster:
    check_word("fit", fit, _FITS)
    panel = width_m / height_m if pixels is None else pixels[0] / pixels[1]
    if film is None or film.shown == "letterbox":
        return _centred(width_m, height_m) if pixels is None else _centred(*_fitted(width_m, height_m, fit, panel))
    width, height = _fitted(width_m, height_m, fit, film.aspect)
    if film.shown == "anamorphic":
        return _centred(width, height)
    return _centred(width, width / panel) if film.aspect >= panel else _centred(height * panel, height)


def film_area(scene: HasScreen) -> Raster:
    """The film's own rectangle in the raster [m], the largest of its shape; the whole raster where no film is stated.

    Source: definition of letterbox and pillarbox.
    """
    area, film = raster(scene), scene.projector.film
    if film is None or film.shown == "anamorphic":
        return area
    if film.aspect >= area.width_m / area.height_m:
        return _centred(area.width_m, area.width_m / film.aspect)
    return _centred(area.height_m * film.aspect, area.height_m)


def open_area(scene: HasScreen) -> Raster:
    """What is not masked of the white area [m]: all of it, or the film's part. Source: `Film.masked`."""
    film = scene.projector.film
    return picture(scene) if film is not None and film.masked else white_area(scene)


def throw_width_m(scene: HasScreen) -> float:
    """Width of the raster as the projector's own lens throws it [m]: before an anamorphic lens draws it out.

    Source: throw ratio = distance / picture width is the projector's own; a cylindrical lens changes the width alone.
    """
    area, film = raster(scene), scene.projector.film
    return area.height_m * _panel_shape(scene) if film is not None and film.shown == "anamorphic" else area.width_m


def _panel_shape(scene: HasScreen) -> float:
    """Width over height of the projector's panel [1]."""
    pixels = scene.projector.pixels
    return scene.screen.width_m / scene.screen.height_m if pixels is None else pixels[0] / pixels[1]


def _fitted(width_m: float, height_m: float, fit: Fit, shape: float) -> tuple[float, float]:
    """Width and height [m] of a rectangle of a shape that meets a white area of `width_m` by `height_m` as `fit` says."""
    by_width = fit == "width" or (fit == "inside" and shape >= width_m / height_m)
    return (width_m, width_m / shape) if by_width else (height_m * shape, height_m)


def _centred(width_m: float, height_m: float) -> Raster:
    return Raster(-width_m / 2, width_m / 2, -height_m / 2, height_m / 2)


def picture(scene: HasScreen) -> Raster:
    """The raster, of a film its own rectangle, cut by the white area [m]: what the audience sees of it."""
    light, white = film_area(scene), white_area(scene)
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
