"""The pictures of the page: what chosen seats see, before and after on one exposure, as JPEG bytes."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.cloth.surface import cloth_of
from ...scenes.geometry import picture
from ...scenes.model import Light, Scene
from ..choices.together import fingerprint
from ..folds.maps import picture_grid, seat_maps
from ..measuring.flatten import SceneArrays, flatten
from ..measuring.lens import levels_of
from ..measuring.measure import Measurement
from ..output.drawing import pixels
from ..output.picture.tone import ADAPTED_SHARE, tone_mapped, words
from ..views.alike import alike, room_of, seat_pictures_alike
from ..views.camera import Camera, on_screen_plane
from ..views.content import content_of
from ..views.render import PictureSetup, SeatPicture, seat_camera, set_the_stage, white_reference
from ..views.roomlight import RoomCells, in_fabric, room_cells
from .beside import Submit, each_beside
from .pairs import FOLDS, BeforeAfter, PageView, flat

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WIDTH, HEIGHT = 672, 378
CALM = "gradient"  # a light grey picture that hides no folds
MOST_PICTURES, LEAST_SEATS = 12, 3
_QUALITY = 88


@dataclass(frozen=True)
class PairPictures:
    """JPEG bytes of a pair, by seat as in `seats`; after also by shape. curve: the tone curve in words, by seat."""

    seats: tuple[int, ...]
    before: tuple[bytes, ...]
    after: tuple[tuple[bytes, ...], ...]
    curve: tuple[str, ...]


def seats_to_show(measurement: Measurement, pictures_a_seat: int) -> tuple[int, ...]:
    """Seats that get pictures: all where time allows, else the worst in contrast, the dimmest, the brightest and others.

    Source: our own choice of at most MOST_PICTURES pictures a page.
    """
    count = len(measurement.seats)
    room = max(LEAST_SEATS, MOST_PICTURES // max(1, pictures_a_seat))
    if count <= room:
        return tuple(range(count))
    white = [reading.white["centre"].value for reading in measurement.seats]
    contrast = [reading.checkerboard.value for reading in measurement.seats]
    order = [int(np.argmin(contrast)), int(np.argmin(white)), int(np.argmax(white))]
    order += [round(x) for x in np.linspace(0, count - 1, room)] + list(range(count))
    return tuple(sorted(list(dict.fromkeys(order))[:room]))


def pictures_a_seat(pairs: Sequence[BeforeAfter]) -> int:
    """Different pictures that have to be computed for each seat."""
    return len({_key(pair, view) for pair in pairs for view in (pair.before, *pair.after)})


Key = tuple[int, Light | None]
Shot = tuple[Key, int, float]  # a stage, a seat, and the width of its camera


def _key(pair: BeforeAfter, view: PageView) -> Key:
    """What tells one computed picture of a seat from another; all folded cloths are made from one picture of the flat one."""
    return (0, None) if pair.kind == FOLDS else (id(view.scene), pair.light)


class Stages:
    """Lit rooms with a flat cloth, each made once; cells and rays once for all of one room and projector.

    Source: `set_the_stage`, `room_cells`.
    """

    def __init__(self, seed: int, threads: int) -> None:
        self.seed, self.threads = seed, threads
        self._cells: dict[str, RoomCells] = {}
        self._like: dict[str, RoomCells] = {}
        self._lit: dict[str, PictureSetup] = {}

    def of(self, scene: Scene, name: str, light: Light | None = None) -> PictureSetup:
        """A scene with a flat cloth that shows the picture of a name, in a light state or in the dark."""
        arrays = flatten(scene, opaque=True)
        key = fingerprint(arrays, levels_of(scene), name, light)
        if key not in self._lit:
            content, cells = content_of(scene, name), self._cells_of(arrays)
            self._lit[key] = set_the_stage(scene, content, light=light, seed=self.seed, threads=self.threads, cells=cells)
        return self._lit[key]

    def _cells_of(self, arrays: SceneArrays) -> RoomCells:
        """Cells of a room; those of the same room with another fabric serve where there are any."""
        place, room = fingerprint(arrays.geometry, arrays.projector), room_of(arrays)
        if room not in self._cells:
            like = self._like.get(place)
            self._cells[room] = (
                room_cells(arrays, seed=self.seed, threads=self.threads)
                if like is None
                else in_fabric(like, arrays, seed=self.seed, threads=self.threads)
            )
            self._like.setdefault(place, self._cells[room])
        return self._cells[room]


def pair_pictures(
    pairs: Sequence[BeforeAfter], seats: Sequence[int], *, stages: Stages, told: Callable[[int, int], None] | None = None
) -> list[PairPictures]:
    """Pictures of all pairs at the given seats.

    stages   lit rooms that the pictures share, with their seed and threads;  told  called with the pictures done and their number
    Exposure and camera of a seat are those of the before side, else the slider would compare exposures.
    One thread a picture, several pictures at once: half of the work is numpy's, which has one thread a picture.
    Source: `seat_picture`; tone curve as `picture` has it.
    """
    return _Painter(pairs, seats, stages, told).all_pairs()


class _Painter:
    """Pictures, made once each: those of one seat and room together, several such groups at once."""

    def __init__(
        self, pairs: Sequence[BeforeAfter], seats: Sequence[int], lit: Stages, told: Callable[[int, int], None] | None
    ) -> None:
        self.pairs, self.seats, self.threads, self.told = pairs, seats, lit.threads, told
        self.total = pictures_a_seat(pairs) * len(seats)
        self.stages: dict[Key, PictureSetup] = {}
        for pair in pairs:
            for view in (pair.before, *pair.after):
                if _key(pair, view) not in self.stages:
                    # the cloth is drawn flat: its folds are put in afterwards where they are the matter, and cost much light elsewhere
                    name = CALM if pair.kind == FOLDS else "checkerboard"
                    self.stages[_key(pair, view)] = lit.of(flat(view.scene), name, pair.light)

    def all_pairs(self) -> list[PairPictures]:
        """Pictures of every pair."""
        with each_beside(self.threads) as beside:
            seen = self._seen(beside)
            return [self._pair(pair, seen, beside) for pair in self.pairs]

    def _seen(self, beside: Submit) -> dict[Shot, SeatPicture]:
        """Every stage from every seat; each job is done by one thread, as its bits do not depend on it."""
        wanted: dict[tuple[int, float], tuple[Camera, dict[Key, PictureSetup]]] = {}
        for seat in self.seats:
            for pair in self.pairs:
                camera = _camera(pair, seat)
                stages = wanted.setdefault((seat, camera.half_width), (camera, {}))[1]
                for view in (pair.before, *pair.after):
                    stages[_key(pair, view)] = self.stages[_key(pair, view)]
        jobs: list[tuple[list[Shot], Callable[[], list[SeatPicture]]]] = []
        for (seat, width), (camera, stages) in wanted.items():
            for group in alike(list(stages.values())):
                keys = [list(stages)[k] for k in group]
                work = partial(seat_pictures_alike, [stages[key] for key in keys], camera)
                jobs.append(([(key, seat, width) for key in keys], beside(work)))
        seen: dict[Shot, SeatPicture] = {}
        for shots, made in jobs:
            seen.update(zip(shots, made(), strict=True))
            if self.told is not None:
                self.told(len(seen), self.total)
        return seen

    def _pair(self, pair: BeforeAfter, seen: Mapping[Shot, SeatPicture], beside: Submit) -> PairPictures:
        views = (pair.before, *pair.after)
        maps = [_fold_ratios(view.scene, self.threads) if pair.kind == FOLDS else None for view in views]
        rows, curves = [], []
        for seat in self.seats:
            camera = _camera(pair, seat)
            white = white_reference(self.stages[_key(pair, pair.before)], camera) or 1.0
            exposure = {"adaptation_cd_m2": ADAPTED_SHARE * white, "white_cd_m2": white}
            curves.append(words(*exposure.values()))
            row = []
            for view, ratios in zip(views, maps, strict=True):
                found, ratio = seen[_key(pair, view), seat, camera.half_width], None if ratios is None else ratios[seat]
                row.append(beside(partial(_developed, view.scene, found, ratio, exposure)))
            rows.append(row)
        images = [[image() for image in row] for row in rows]
        return PairPictures(
            tuple(self.seats), tuple(row[0] for row in images), tuple(tuple(row[1:]) for row in images), tuple(curves)
        )


def _camera(pair: BeforeAfter, seat: int) -> Camera:
    """That of the before side, else the slider would compare two views."""
    return seat_camera(pair.before.scene, seat, width=WIDTH, height=HEIGHT)


def _developed(scene: Scene, seen: SeatPicture, ratio: np.ndarray | None, exposure: Mapping[str, float]) -> bytes:
    """JPEG bytes of a seat's picture, with the folds of a ratio (rows, columns) put in."""
    cd_m2 = seen.cd_m2 if ratio is None else folded(scene, seen, ratio)
    return jpeg(tone_mapped(cd_m2, **exposure))


def _fold_ratios(scene: Scene, threads: int) -> list[np.ndarray] | None:
    """Luminance over the flat screen's for every seat (rows, columns), top row first; None where the cloth is flat."""
    cloth = cloth_of(scene.screen)
    if cloth.flat:
        return None
    return [each.luminance_ratio for each in seat_maps(scene, cloth, picture_grid(scene), threads=threads)]


def folded(scene: Scene, flat_picture: SeatPicture, ratio: np.ndarray) -> np.ndarray:
    """A flat cloth's picture (H, W, 3) [cd/m2] times what the folds do to the projector's light, on the pixels of the cloth.

    ratio  (rows, columns) of a seat, as `seat_maps` gives it; where light misses the cloth it is dark
    Source: linearity; the few per cent of returned light on the cloth take part in the ratio, which changes them by less
    than a thousandth of white.
    """
    camera, area = flat_picture.camera, picture(scene)
    row, column = np.nonzero(flat_picture.screen)
    across, upward = on_screen_plane(scene, camera, camera.rays(column, row))
    rows, columns = ratio.shape
    x = (across - area.left_m) / area.width_m * columns - 0.5
    y = (area.top_m - upward) / area.height_m * rows - 0.5
    inside = (x > -1.0) & (x < columns) & (y > -1.0) & (y < rows)
    factor = np.where(inside, _between(np.nan_to_num(ratio), x, y), 1.0)
    out = flat_picture.cd_m2.copy()
    out[row, column] *= factor[:, None]
    return out


def _between(values: np.ndarray, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Bilinear interpolation at places in pixels (x right, y down)."""
    x, y = np.clip(x, 0.0, values.shape[1] - 1.000001), np.clip(y, 0.0, values.shape[0] - 1.000001)
    i, j = y.astype(int), x.astype(int)
    a, b = y - i, x - j
    upper = (1 - b) * values[i, j] + b * values[i, j + 1]
    return (1 - a) * upper + a * ((1 - b) * values[i + 1, j] + b * values[i + 1, j + 1])


def jpeg(rgb: np.ndarray) -> bytes:
    """JPEG bytes of sRGB bytes (H, W, 3), uint8, full colour resolution. Source: ISO/IEC 10918-1."""
    from PIL import Image

    data = io.BytesIO()
    Image.fromarray(rgb).save(data, format="JPEG", quality=_QUALITY, subsampling=0, optimize=True)
    return data.getvalue()


def data_url(jpeg: bytes) -> str:
    """JPEG bytes as a URL that holds them. Source: RFC 2397."""
    return "data:image/jpeg;base64," + base64.b64encode(jpeg).decode()


def figure_jpeg(figure: Figure) -> bytes:
    """A matplotlib figure as JPEG bytes: smaller than PNG for maps."""
    return jpeg(pixels(figure))
