"""The room in 3-D: walls that open towards the viewer, screen with its folds, beam, seats, light on the walls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ...scenes.cloth.surface import Level, cloth_of
from ...scenes.geometry import corners, picture, raster, screen_frame, to_inside
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import SURFACES, Scene
from ..colour import luminance
from ..flatten import SceneArrays, flatten
from .content import Content, to_srgb
from .render import zone_levels
from .roomlight import RoomLight, light_the_room
from .texture import cell_places

COLOURS = "cividis"
INK, PAPER, BEAM, SEAT = "#222222", "#f4f4f2", "#f2b134", "#3a6ea5"
_VISIBLE_FOLD_M = 0.05  # folds are exaggerated until they are about so deep
_MOST_EXAGGERATION = 50.0


@dataclass(frozen=True)
class Shown:
    """A plotter with the room in it, and the factor by which folds are exaggerated (1: none drawn larger)."""

    plotter: Any
    exaggeration: float


def show_room(scene: Scene, content: Content, *, seed: int, threads: int, off_screen: bool, level: Level = "typical") -> Shown:
    """A plotter with the whole room, coloured by illuminance [lx]; nothing is drawn yet.

    content  what the screen shows, which also lights the walls
    level    of folds estimated from the hang: low, typical or high
    raises   FloatingPointError as `light_the_room`
    The frame is the inner one, right-handed, so nothing is mirrored.
    """
    import pyvista

    arrays = flatten(scene)
    room = light_the_room(arrays, zone_levels(scene, content), seed=seed, threads=threads)
    if off_screen:
        _hush()
    plotter: Any = pyvista.Plotter(off_screen=off_screen, window_size=[1280, 800])
    plotter.set_background(PAPER)
    _surfaces(plotter, arrays, room)
    factor = _screen(plotter, scene, content, level)
    _beam(plotter, scene)
    _people(plotter, scene)
    _frame(plotter, scene)
    words = f"{scene.title}\nshowing {content.name}"
    words += f"\nfolds ({level}) drawn {factor:.0f} times as deep" if factor > 1.0 else ""
    plotter.add_text(words, position="upper_left", font_size=11, color=INK)
    _camera(plotter, scene)
    return Shown(plotter, factor)


def _hush() -> None:
    """Without a display the drawing library warns of each way it tried in vain, which is nothing to the user."""
    from vtkmodules.vtkCommonCore import vtkLogger

    vtkLogger.SetStderrVerbosity(vtkLogger.VERBOSITY_ERROR)


def _surfaces(plotter: Any, arrays: SceneArrays, room: RoomLight) -> None:
    """All surfaces but the cloth as cells of illuminance; walls seen from behind are left out."""
    lux = _illuminance(arrays, room)
    seen = lux[lux > 0.0]
    high = float(np.quantile(seen, 0.995)) if seen.size else 1.0
    low = max(float(np.quantile(seen, 0.01)) if seen.size else 0.1, high / 1e3)
    bar = {
        "title": "light on surfaces [lx]\n", "vertical": True, "color": INK, "n_labels": 4, "fmt": "%.3g", "position_x": 0.885,
        "position_y": 0.25, "height": 0.5, "title_font_size": 16, "label_font_size": 15,
    }  # fmt: skip
    texture, geometry = room.values.radiance, arrays.geometry
    border = arrays.surfaces.index("border")
    first = True
    for i in np.flatnonzero(texture.first >= 0):
        mesh = _sheet(geometry.corner[i], geometry.edge_u[i], geometry.edge_v[i], *texture.bounds(int(i)))
        part = slice(int(texture.first[i]), int(texture.first[i]) + mesh.n_cells)
        if geometry.surface[i] == border:
            plotter.add_mesh(mesh, color="#151515", lighting=False)
            continue
        mesh.cell_data["lux"] = np.maximum(lux[part], low)
        options: dict[str, Any] = {"culling": "back"} if i < 6 else {}
        plotter.add_mesh(
            mesh, scalars="lux", cmap=COLOURS, clim=(low, high), log_scale=True, lighting=False,
            show_scalar_bar=first, scalar_bar_args=bar if first else None, **options,
        )  # fmt: skip
        first = False


def _illuminance(arrays: SceneArrays, room: RoomLight) -> np.ndarray:
    """Illuminance of the cells (T,) [lx], as a luminance-weighted mean of the channels."""
    _, owner = cell_places(arrays.geometry, room.values.radiance)
    rho = room.reflectance[arrays.geometry.surface[owner]]
    lux = np.pi * np.divide(room.values.radiance.value, rho, out=np.zeros_like(rho), where=rho > 0.0)
    return luminance(lux)


def _sheet(corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray, ends_u: np.ndarray, ends_v: np.ndarray) -> Any:
    """A parallelogram of quadrilaterals that end at the given places 0 .. 1, u outer, facing edge_u x edge_v."""
    import pyvista

    u, v = np.meshgrid(ends_u, ends_v, indexing="ij")
    points = corner + u.reshape(-1, 1) * edge_u + v.reshape(-1, 1) * edge_v
    cells_u, cells_v = len(ends_u) - 1, len(ends_v) - 1
    a, b = (x.ravel() for x in np.meshgrid(np.arange(cells_u), np.arange(cells_v), indexing="ij"))
    at = a * (cells_v + 1) + b
    quads = np.stack([np.full_like(at, 4), at, at + cells_v + 1, at + cells_v + 2, at + 1], axis=1)
    return pyvista.PolyData(points, quads.ravel())


def _screen(plotter: Any, scene: Scene, content: Content, level: Level) -> float:
    """The cloth with its folds and the picture on it; returns the exaggeration."""
    import pyvista

    frame, sheet, cloth = screen_frame(scene), scene.screen, cloth_of(scene.screen, level)
    x, y = np.meshgrid(np.linspace(-0.5, 0.5, 241) * sheet.width_m, np.linspace(0.5, -0.5, 136) * sheet.height_m)
    height = np.zeros_like(x) if cloth.flat else cloth.at(x, y).height
    deep = float(np.ptp(height))
    factor = float(np.clip(round(_VISIBLE_FOLD_M / deep), 1.0, _MOST_EXAGGERATION)) if deep > 1e-6 else 1.0
    factor = min(factor, max(1.0, 0.9 * sheet.gap_to_wall_m / -height.min())) if height.min() < 0.0 else factor
    right, up, normal = (np.array(axis) for axis in (frame.right, frame.up, frame.normal))
    lift = 0.004 + factor * height  # a hair before the border's plane
    at = np.array(frame.centre) + x[..., None] * right + y[..., None] * up + lift[..., None] * normal
    mesh = pyvista.StructuredGrid(at[..., 0], at[..., 1], at[..., 2])
    area = picture(scene)
    mesh.active_texture_coordinates = np.stack(
        [
            ((x - area.left_m) / area.width_m).ravel(order="F"),
            ((y - area.bottom_m) / area.height_m).ravel(order="F"),
        ],
        axis=1,
    )
    image = np.broadcast_to(to_srgb(content.linear), (*content.linear.shape[:2], 3))
    texture = pyvista.Texture(np.ascontiguousarray(255.0 * image + 0.5).astype(np.uint8))
    texture.mipmap = True  # small letters would flicker
    texture.interpolate = True
    plotter.add_mesh(mesh, texture=texture, lighting=not cloth.flat, ambient=0.75, diffuse=0.35, specular=0.0)
    return factor


def _beam(plotter: Any, scene: Scene) -> None:
    import pyvista

    lens = np.array(to_inside(scene.projector.lens_m))
    ends = np.array([to_inside(corner) for corner in corners(scene, raster(scene))])
    points = np.vstack([lens, ends])
    sides = np.array([[3, 0, 1, 2], [3, 0, 2, 3], [3, 0, 3, 4], [3, 0, 4, 1]])
    plotter.add_mesh(pyvista.PolyData(points, sides.ravel()), color=BEAM, opacity=0.13, lighting=False)
    for end in ends:
        plotter.add_mesh(pyvista.Line(lens, end), color=BEAM, line_width=1.5)
    plotter.add_mesh(pyvista.Sphere(radius=0.07, center=lens), color=BEAM, lighting=False)
    _labels(plotter, [lens], ["lens"])


def _people(plotter: Any, scene: Scene) -> None:
    import pyvista

    eyes = [np.array(to_inside(seat.eye_m)) for seat in scene.seats]
    for eye in eyes:
        plotter.add_mesh(pyvista.Sphere(radius=HEAD_RADIUS_M, center=eye), color=SEAT)
    _labels(plotter, eyes, [seat.name for seat in scene.seats])


def _labels(plotter: Any, places: list[np.ndarray], names: list[str]) -> None:
    """Names beside places, seen through everything, since what hides them is only in the way."""
    plotter.add_point_labels(
        np.add(places, (0.0, 0.0, 0.16)), names, always_visible=True, show_points=False, font_size=15, text_color=INK,
        shape_color="white", shape_opacity=0.75, margin=3,
    )  # fmt: skip


def _frame(plotter: Any, scene: Scene) -> None:
    """Edges of the room and the names of its walls."""
    import pyvista

    room = scene.room
    half = room.width_m / 2
    box = pyvista.Box((-half, half, -room.depth_m, 0.0, 0.0, room.height_m))
    plotter.add_mesh(box.extract_all_edges(), color="#777777", line_width=1.5)
    middles = {
        "front": (0, 0, room.height_m), "back": (0, -room.depth_m, 0.0), "left": (-half, -room.depth_m / 2, 0),
        "right": (half, -room.depth_m / 2, 0.0),
    }  # fmt: skip
    names = [name for name in SURFACES if name in middles]
    plotter.add_point_labels(
        np.array([middles[name] for name in names], float), names, always_visible=True, show_points=False, font_size=13,
        text_color="#666666", shape=None, italic=True,
    )  # fmt: skip


def _camera(plotter: Any, scene: Scene) -> None:
    """From behind, above and a little to the right of the seats, the whole room in view."""
    room = scene.room
    middle = np.array([0.0, -0.5 * room.depth_m, 0.45 * room.height_m])
    away = np.array([0.42, -1.0, 0.62]) * 1.95 * max(room.width_m, room.depth_m, room.height_m)
    plotter.camera_position = [tuple(middle + away), tuple(middle), (0.0, 0.0, 1.0)]
    plotter.camera.view_angle = 30.0
