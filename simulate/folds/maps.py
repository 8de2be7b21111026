"""Maps of a folded cloth for every seat of a scene: luminance ratio and displacement on a grid of the picture."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.cloth.cloth import Cloth
from ...scenes.geometry import picture
from ...scenes.model import Place, Scene, Seat
from .landing import Landing, first_meeting, land_on
from .seen import LandedPicture, seen_by, visual_scale

COLUMNS, ROWS = 640, 360


@dataclass(frozen=True)
class FoldGrid:
    """Places of the picture: right_m (columns,) rising, up_m (rows,) falling, from the middle of the screen [m]."""

    right_m: np.ndarray
    up_m: np.ndarray

    @property
    def nominal(self) -> np.ndarray:
        """All places (rows x columns, 2) [m], row by row from the top. Source: definition."""
        right, up = np.meshgrid(self.right_m, self.up_m)
        return np.stack([right.ravel(), up.ravel()], axis=1)


@dataclass(frozen=True)
class SeatMap:
    """What one seat sees, top row first.

    luminance_ratio  (rows, columns) luminance over that of the flat screen [1]
    shift_arcmin     (rows, columns, 2) how far a place seems to move, right and up [arcmin]
    deg_per_m        (rows, columns, 2) visual angle of the screen's metre, right and up [deg/m]
    """

    luminance_ratio: np.ndarray
    shift_arcmin: np.ndarray
    deg_per_m: np.ndarray


def picture_grid(scene: Scene, columns: int = COLUMNS, rows: int = ROWS) -> FoldGrid:
    """Middles of columns x rows equal cells of the picture [m]. Source: definition."""
    area = picture(scene)
    return FoldGrid(
        area.left_m + area.width_m * (np.arange(columns) + 0.5) / columns,
        area.top_m - area.height_m * (np.arange(rows) + 0.5) / rows,
    )


def on_screen(scene: Scene, place: Place) -> tuple[float, float, float]:
    """A file's place [right, out, up] in screen coordinates (right, up, out) from the middle of the white area [m]. Source: definition."""
    screen = scene.screen
    return (place[0] - screen.right_m, place[2] - (screen.bottom_m + 0.5 * screen.height_m), place[1] - screen.gap_to_wall_m)


def seat_maps(
    scene: Scene, cloth: Cloth, grid: FoldGrid, *, threads: int = 1, seats: Sequence[Seat] | None = None
) -> list[SeatMap]:
    """Maps of every seat, or of some: luminance ratios [1], displacements [arcmin], scale [deg/m].

    cloth    e.g. `cloth_of(scene.screen, level)`
    returns  one SeatMap a seat; NaN where the ray misses the cloth or the seat does not see the place
    Source: `land_on`, `seen_by`.
    """
    lens = on_screen(scene, scene.projector.lens_m)
    nominal = grid.nominal
    landing = land_on(cloth, lens, nominal[:, 0], nominal[:, 1])
    place = np.stack([landing.right, landing.up, landing.out], axis=1)
    slope = np.stack([landing.slope_right, landing.slope_up], axis=1)
    fabric = scene.screen.fabric.arrays()
    shape = (len(grid.up_m), len(grid.right_m))
    found = []
    for seat in scene.seats if seats is None else seats:
        eye = on_screen(scene, seat.eye_m)
        good = landing.on_cloth & ~hidden_from(cloth, landing, eye)
        ratio, shift = seen_by(LandedPicture(place, slope, good), nominal, lens, eye, fabric, threads=threads)
        scale = visual_scale(nominal, eye)
        found.append(SeatMap(ratio.reshape(shape), shift.reshape(*shape, 2), scale.reshape(*shape, 2)))
    return found


def hidden_from(cloth: Cloth, landing: Landing, eye: tuple[float, float, float]) -> np.ndarray:
    """True where a landed place faces away from an eye or a nearer fold hides it; only cloth steeper than the sight line does so.

    landing  (n,) places;  eye  (right, up, out) in screen coordinates [m], out > 0
    Source: the line from the eye through the place meets the cloth there first, or it does not.
    """
    w = (eye[0] - landing.right, eye[1] - landing.up, eye[2] - landing.out)
    if cloth.smooth or cloth.steepest * float((np.hypot(w[0], w[1]) / w[2]).max()) < 0.95:
        return np.zeros(len(landing.right), bool)
    down = landing.out / w[2]  # to where the line crosses the nominal plane
    foot = (landing.right - down * w[0], landing.up - down * w[1], np.zeros_like(landing.out))
    s, _ = first_meeting(cloth, foot, eye, cloth.highest_m / eye[2], cloth.lowest_m / eye[2])
    away = w[2] <= landing.slope_right * w[0] + landing.slope_up * w[1]
    return away | (s * eye[2] > landing.out + 1e-6)
