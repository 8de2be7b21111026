"""A folded diffuse screen under a projector in the box room, in mitsuba: the radiance of its points towards an eye.

The cloth is a triangle mesh with vertex normals of a straight wave, made here from its formula. The projector is mitsuba's own
`projector` emitter, whose irradiance is even on planes across its axis; the axis points straight at the screen's plane and the
slide is white where the raster is, as a lens with shift does it.
"""

from typing import Any

import mitsuba
import numpy as np
from numpy.typing import NDArray

from .box_room import Room, Screen
from .mitsuba_room import PIXEL_SAMPLES, Sampler, _box, _colour, _meters, _walls, renderer

Floats = NDArray[np.float64]
SLIDE = 4096  # pixels a side of the slide


def wave_mesh(
    *,
    width_m: float,
    height_m: float,
    centre: Floats,
    amplitude_m: float,
    wavelength_m: float,
    angle_deg: float,
    columns: int = 480,
    rows: int = 270,
) -> tuple[Floats, Floats, NDArray[np.uint32]]:
    """Corners, unit normals (n, 3) and triangles of a wave; inside frame, the screen faces -y."""
    x, z = np.meshgrid(np.linspace(-width_m / 2, width_m / 2, columns + 1), np.linspace(-height_m / 2, height_m / 2, rows + 1))
    t, k = np.radians(angle_deg), 2 * np.pi / wavelength_m
    s = x * np.cos(t) + z * np.sin(t)
    h, slope = amplitude_m * np.cos(k * s), -amplitude_m * k * np.sin(k * s)
    corners = np.stack([centre[0] + x, centre[1] - h, centre[2] + z], axis=-1).reshape(-1, 3)
    normals = np.stack([-slope * np.cos(t), -np.ones_like(s), -slope * np.sin(t)], axis=-1).reshape(-1, 3)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    index = np.arange((columns + 1) * (rows + 1), dtype=np.uint32).reshape(rows + 1, columns + 1)
    a, b, c, d = index[:-1, :-1].ravel(), index[:-1, 1:].ravel(), index[1:, :-1].ravel(), index[1:, 1:].ravel()
    return corners, normals, np.concatenate([np.stack([a, b, c], axis=1), np.stack([b, d, c], axis=1)]).astype(np.uint32)


def radiances(
    room: Room,
    mesh: tuple[Floats, Floats, NDArray[np.uint32]],
    *,
    gain: float,
    lens: Floats,
    plane_y: float,
    raster: tuple[float, float, float, float],
    lux: float,
    eye: Floats,
    points: Floats,
    batches: int,
    spp: int,
    depth: int = -1,
) -> Floats:
    """Radiance (batches, points) [cd/m2 per lm/W left out] from points of the cloth to an eye.

    raster   x low, x high, z low, z high [m] on the nominal plane y = plane_y;  lux its even illuminance
    depth    2: the projector's own light only; -1: all
    Source: mitsuba's `path` integrator, independent sampler.
    """
    with renderer("scalar_rgb"):
        scene: dict[str, Any] = {"type": "scene", "integrator": {"type": "path", "max_depth": depth, "rr_depth": 8}}
        scene.update({f"wall{i}": shape for i, shape in enumerate(_walls(room))})
        bsdf = {"type": "diffuse", "reflectance": _colour(gain)}
        scene["cloth"] = _mesh(mesh, bsdf)
        scene["lamp"] = _projector(lens, plane_y, raster, lux)
        scene["sensor"] = _looks(eye, points, spp)
        loaded = mitsuba.load_dict(scene, optimize=False)
        draw: Any = mitsuba.render
        images = [np.asarray(draw(loaded, spp=spp, seed=100 + k), dtype=float) for k in range(batches)]
        return np.array([image.reshape(-1, image.shape[-1])[: len(points), 0] for image in images])


def _mesh(mesh: tuple[Floats, Floats, NDArray[np.uint32]], bsdf: dict[str, Any], emitter: dict[str, Any] | None = None) -> Any:
    corners, normals, triangles = mesh
    props = mitsuba.Properties()
    props["bsdf"] = mitsuba.load_dict(bsdf)
    if emitter is not None:
        props["emitter"] = mitsuba.load_dict(emitter)
    shape = mitsuba.Mesh("cloth", len(corners), len(triangles), has_vertex_normals=True, props=props)
    parts = mitsuba.traverse(shape)
    parts["vertex_positions"] = corners.ravel()
    parts["vertex_normals"] = normals.ravel()
    parts["faces"] = triangles.ravel()
    parts.update()
    return shape


def _projector(lens: Floats, plane_y: float, raster: tuple[float, float, float, float], lux: float) -> dict[str, Any]:
    """Slide of SLIDE x SLIDE pixels whose raster part is white; its field is as wide as the raster's farthest corner needs."""
    distance = plane_y - lens[1]
    reach = 1.02 * max(abs(raster[0] - lens[0]), abs(raster[1] - lens[0]), abs(raster[2] - lens[2]), abs(raster[3] - lens[2]))
    side = (np.arange(SLIDE) + 0.5) / SLIDE * 2 - 1
    # a projector's image is seen with x to its own left: mitsuba's camera frame has x to the left of the view
    x, z = lens[0] - side[None, :] * reach, lens[2] - side[:, None] * reach
    inside = (x > raster[0]) & (x < raster[1]) & (z > raster[2]) & (z < raster[3])
    slide = np.repeat(inside[:, :, None], 3, axis=2).astype(np.float32) * np.float32(lux * distance**2)
    bitmap = mitsuba.Bitmap(slide)
    target = [lens[0], lens[1] + 1.0, lens[2]]
    return {
        "type": "projector",
        "irradiance": {"type": "bitmap", "bitmap": bitmap, "raw": True, "filter_type": "nearest"},
        "fov": float(2 * np.degrees(np.arctan(reach / distance))),
        "to_world": mitsuba.ScalarTransform4f().look_at(origin=list(lens), target=target, up=[0, 0, 1]),
    }


def load_lit_folds(
    room: Room,
    screen: Screen,
    points: Floats,
    *,
    spp: int,
    sampler: Sampler = "independent",
    rr_depth: int = 5,
    pixel_samples: int = PIXEL_SAMPLES,
) -> Any:
    """As mitsuba_room.load, with a rippled mesh of 80 000 triangles and more (2 mm on 300 mm) as the lit screen; for speed.

    The meters stand 4 mm before the nominal plane, clear of the crests.
    """
    centre = np.array([0.0, -screen.gap_m, screen.bottom_m + screen.height_m / 2])
    mesh = wave_mesh(
        width_m=screen.width_m,
        height_m=screen.height_m,
        centre=centre,
        amplitude_m=0.002,
        wavelength_m=0.3,
        angle_deg=0.0,
        columns=272,
        rows=153,
    )
    scene: dict[str, Any] = {"type": "scene", "integrator": {"type": "path", "max_depth": -1, "rr_depth": rr_depth}}
    shapes = [*_walls(room), *(side for box in room.boxes for side in _box(box))]
    scene.update({f"shape{i}": shape for i, shape in enumerate(shapes)})
    emitter = {"type": "area", "radiance": _colour(float(screen.radiance_map[0, 0]))}
    scene["cloth"] = _mesh(mesh, {"type": "diffuse", "reflectance": _colour(screen.reflectance)}, emitter)
    rows = -(-spp // pixel_samples)
    scene["meters"] = _meters(points - np.array([0.0, 0.003, 0.0]), rows=rows, samples=spp // rows, sampler=sampler)
    return mitsuba.load_dict(scene, optimize=False)


def _looks(eye: Floats, points: Floats, spp: int) -> dict[str, Any]:
    film = {"type": "hdrfilm", "rfilter": {"type": "box"}, "pixel_format": "rgb", "component_format": "float32"}
    meters: dict[str, Any] = {
        "type": "batch",
        "film": {**film, "width": len(points), "height": 1},
        "sampler": {"type": "independent", "sample_count": spp},
    }
    for i, point in enumerate(points):
        one = {"film": {**film, "width": 1, "height": 1}, "sampler": {"type": "independent", "sample_count": 1}}
        way = (point - eye) / np.linalg.norm(point - eye)
        meters[f"meter{i}"] = {"type": "radiancemeter", "origin": list(eye), "direction": way.tolist(), **one}
    return meters
