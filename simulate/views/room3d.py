"""The room in 3-D: walls that open towards the viewer, screen with its folds, beam, seats, light on the walls."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.cloth.surface import Level, cloth_of
from ...scenes.geometry import corners, picture, raster, screen_frame, to_inside
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import Body, Scene
from ...scenes.quiet import quiet_drawing
from ..measuring.flatten import flatten
from ..measuring.lamps import window_rectangle
from .cell_light import CellLight, cell_light
from .content import Content, to_srgb
from .render import zone_levels
from .room3d_words import INK, LETTERS_PX, SIZE_PX, apart, edges_and_walls, eye_and_axes, typeface, width_px, words_at_the_top
from .roomlight import light_the_room
from .sheets import sheets

COLOURS = "cividis"
PAPER, BEAM, SEAT = "#f4f4f2", "#f2b134", "#3a6ea5"
_VISIBLE_FOLD_M = 0.05  # folds are exaggerated until they are about so deep
_MOST_EXAGGERATION = 50.0
FINISHES, LIGHT = "finishes", "light"


@dataclass(frozen=True)
class Shown:
    """A plotter with the room in it, and the factor by which folds are exaggerated (1: none drawn larger)."""

    plotter: Any
    exaggeration: float


def show_room(
    scene: Scene,
    content: Content,
    *,
    seed: int,
    threads: int,
    off_screen: bool,
    level: Level = "typical",
    sides: Sequence[str] = (FINISHES, LIGHT),
    light: CellLight | None = None,
) -> Shown:
    """A plotter with the whole room, in the colours of its finishes and beside it coloured by illuminance [lx]; nothing is drawn yet.

    content  what the screen shows, which also lights the walls
    level    of folds estimated from the hang: low, typical or high;  sides  FINISHES, LIGHT or both, from the left
    light    [lx] on the surfaces of this room where it is at hand; None: solved here
    raises   FloatingPointError as `light_the_room`
    The frame is the inner one, right-handed, so nothing is mirrored.
    """
    quiet_drawing()  # pyvista imports it as well
    import pyvista

    if light is None:
        light = cell_light(light_the_room(flatten(scene, opaque=True), zone_levels(scene, content), seed=seed, threads=threads))
    if off_screen:
        _hush()
    size = [SIZE_PX[0] * len(sides), SIZE_PX[1]]
    plotter: Any = pyvista.Plotter(off_screen=off_screen, window_size=size, shape=(1, len(sides)), border=False)
    factor = 1.0
    for column, side in enumerate(sides):
        plotter.subplot(0, column)
        plotter.set_background(PAPER)
        _camera(plotter, scene)
        _surfaces(plotter, scene, light, side)
        factor = _screen(plotter, scene, content, level)
        _beam(plotter, scene)
        _people(plotter, scene)
        _lamps(plotter, scene)
        edges_and_walls(plotter, scene)
        folds = f"; folds ({level}) drawn {factor:.0f} times as deep" if factor > 1.0 else ""
        words = "finishes, evenly lit" if side == FINISHES else f"light on surfaces, showing {content.name}{folds}"
        words_at_the_top(plotter, [scene.title, words] if column == 0 else [words])
    if len(sides) > 1:
        plotter.link_views()
    return Shown(plotter, factor)


def _hush() -> None:
    """Without a display the drawing library warns of each way it tried in vain, which is nothing to the user."""
    from vtkmodules.vtkCommonCore import vtkLogger

    vtkLogger.SetStderrVerbosity(vtkLogger.VERBOSITY_ERROR)


def _surfaces(plotter: Any, scene: Scene, light: CellLight, side: str) -> None:
    """All surfaces but the cloth, in their colours or as cells of illuminance; walls seen from behind are left out."""
    arrays, lux, texture, geometry = light.arrays, light.lux, light.texture, light.arrays.geometry
    seen = lux[lux > 0.0]
    high = float(np.quantile(seen, 0.995)) if seen.size else 1.0
    low = max(float(np.quantile(seen, 0.01)) if seen.size else 0.1, high / 1e3)
    border = arrays.surfaces.index("border")
    walls = len(scene.room.surfaces)
    laid = {arrays.surfaces.index(part.name) for part in scene.room.parts}
    textured = {arrays.surfaces.index(each.name) for each in scene.room.objects if isinstance(each, Body)}
    drawn = None
    for i, mesh, part in sheets(arrays, texture):
        wall = int(geometry.surface[i]) < walls or int(geometry.surface[i]) in laid
        options: dict[str, Any] = {"culling": "back"} if wall else {}
        if geometry.surface[i] == border:
            plotter.add_mesh(mesh, color="#151515", lighting=False)
        elif side == FINISHES:
            colour = to_srgb(np.broadcast_to(arrays.reflectance[geometry.surface[i]], 3))
            if texture.count_u[i] * texture.count_v[i] == 1 and mesh.n_cells > 1:  # facets, each turned another way
                facing = np.array(_FACING)[np.abs(mesh.compute_normals(point_normals=False)["Normals"]).argmax(axis=1)]
                mesh.cell_data["rgb"] = facing[:, None] * colour
                plotter.add_mesh(mesh, scalars="rgb", rgb=True, lighting=False, **options)
            else:
                shade = _FACING[int(np.argmax(np.abs(geometry.normal[i])))]
                plotter.add_mesh(mesh, color=tuple(shade * colour), lighting=False, **options)
            if not wall and geometry.surface[i] not in textured:
                rim = mesh.extract_feature_edges(feature_edges=False, manifold_edges=False, non_manifold_edges=False)
                plotter.add_mesh(rim, color="#777777", line_width=1.0)
        else:
            mesh.cell_data["lux"] = np.maximum(lux[part], low)
            drawn = plotter.add_mesh(
                mesh,
                scalars="lux",
                cmap=COLOURS,
                clim=(low, high),
                log_scale=True,
                lighting=False,
                show_scalar_bar=False,
                **options,
            )
    if drawn is not None:
        _bar(plotter, drawn, low, high)


_FACING = (
    0.90,
    0.82,
    1.0,
)  # how light faces across the room, along it and level ones are drawn, so that edges between like finishes show


def _bar(plotter: Any, drawn: Any, low: float, high: float) -> None:
    """The colour bar, with round numbers."""
    ticks = [step * 10.0**power for power in range(-4, 6) for step in (1, 2, 5) if low <= step * 10.0**power <= high]
    while len(ticks) > 7:
        ticks = ticks[::2]
    bar = plotter.add_scalar_bar(
        title="lx",
        mapper=drawn.mapper,
        vertical=True,
        color=INK,
        n_labels=len(ticks),
        position_x=0.9,
        position_y=0.25,
        height=0.5,
        title_font_size=18,
        label_font_size=16,
        fmt="%g",
    )
    from vtkmodules.vtkCommonCore import vtkDoubleArray

    labels = vtkDoubleArray()
    for tick in ticks:
        labels.InsertNextValue(tick)
    bar.SetCustomLabels(labels)
    bar.SetUseCustomLabels(True)
    for words in (bar.GetTitleTextProperty(), bar.GetLabelTextProperty(), bar.GetAnnotationTextProperty()):
        words.SetFontFamily(4)  # of a file
        words.SetFontFile(typeface())


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
        [((x - area.left_m) / area.width_m).ravel(order="F"), ((y - area.bottom_m) / area.height_m).ravel(order="F")], axis=1
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


def _people(plotter: Any, scene: Scene) -> None:
    import pyvista

    eyes = [np.array(to_inside(seat.eye_m)) for seat in scene.seats]
    for eye in eyes:
        plotter.add_mesh(pyvista.Sphere(radius=HEAD_RADIUS_M, center=eye), color=SEAT)
    lens = np.array(to_inside(scene.projector.lens_m))
    names = ["lens", *(seat.name for seat in scene.seats)]
    places = apart(np.add([lens, *eyes], (0.0, 0.0, 0.16)), [width_px(name) for name in names], eye_and_axes(plotter), SIZE_PX)
    plotter.add_point_labels(
        places,
        names,
        always_visible=True,
        show_points=False,
        font_size=LETTERS_PX,
        text_color=INK,
        shape_color="white",
        shape_opacity=0.75,
        margin=3,
        font_file=typeface(),
    )


def _lamps(plotter: Any, scene: Scene) -> None:
    """Lamps as small balls, strips as bars, windows as pale panes, each in its colour."""
    import pyvista

    for lamp in scene.lamps:
        place, colour = np.array(to_inside(lamp.place_m)), _shown_colour(lamp.colour)
        plotter.add_mesh(pyvista.Sphere(radius=0.05, center=place), color=colour, lighting=False)
        if lamp.end_m is not None:
            plotter.add_mesh(pyvista.Line(place, np.array(to_inside(lamp.end_m))).tube(radius=0.02), color=colour, lighting=False)
    for window in scene.windows:
        corner, u, v, normal = window_rectangle(window, scene.room)
        corner = corner + 0.01 * normal  # before its wall, which would else hide half of it
        pane = pyvista.Rectangle([corner, corner + u, corner + u + v])
        plotter.add_mesh(pane, color=_shown_colour(window.colour), opacity=0.75, lighting=False)


def _shown_colour(rgb: tuple[float, float, float]) -> tuple[float, float, float]:
    """Linear RGB scaled to its largest part, as a screen shows it. Source: IEC 61966-2-1, about."""
    most = max(rgb)
    return (rgb[0] / most) ** (1 / 2.2), (rgb[1] / most) ** (1 / 2.2), (rgb[2] / most) ** (1 / 2.2)


def _camera(plotter: Any, scene: Scene) -> None:
    """From behind, above and a little to the right of the seats, the whole room in view."""
    room = scene.room
    (left, right), (near, far), (low, high) = room.limits
    middle = np.array([0.5 * (left + right), -0.5 * (near + far), low + 0.45 * (high - low)])
    away = np.array([0.42, -1.0, 0.62]) * 1.95 * max(room.width_m, room.depth_m, room.height_m)
    plotter.camera_position = [tuple(middle + away), tuple(middle), (0.0, 0.0, 1.0)]
    plotter.camera.view_angle = 30.0
