"""The box room in mitsuba, a general-purpose renderer: light that comes back to points of the screen, and its speed.

Irradiance meters of 1 mm x 1 mm stand 1 mm in front of the screen. A flat screen does not light itself directly, so all
they read has left the screen and met the room at least once. Surfaces are rectangles, diffuse and black from behind.
The `ldsampler` is never used: it reads about 1 % low. Spheres that emit light are not used either: a furnace inside
one reads 0.3-1.2 % high with mitsuba 3.9.1, a furnace of rectangles reads 1 within its noise (both measured here).
"""

import glob
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Literal

import drjit
import mitsuba
import numpy as np
from numpy.typing import NDArray

from .box_room import ZONES, Colour, Room, Screen, Solid

Floats = NDArray[np.float64]
Sampler = Literal["independent", "multijitter", "orthogonal"]
METER_M = 0.001  # edge of a meter and its distance from the screen
OVERLAP_M = 0.01  # walls reach past their edges, so that no ray slips out of the room
PIXEL_SAMPLES = 4489  # at most so many in one float32 film pixel: more could round its sum by more than 1e-4; 67^2


def find_llvm() -> bool:
    """Whether the llvm variants can run; sets DRJIT_LIBLLVM_PATH to version 19 if the user has not set it.

    Without it drjit takes the first libLLVM it finds; Debian 12's version 15 aborts the process.
    """
    if "DRJIT_LIBLLVM_PATH" not in os.environ:
        found = sorted(glob.glob("/usr/lib/*/libLLVM.so.19*") + glob.glob("/usr/lib/llvm-19/lib/libLLVM.so*"))
        if not found:
            return False
        os.environ["DRJIT_LIBLLVM_PATH"] = found[0]
    return os.path.exists(os.environ["DRJIT_LIBLLVM_PATH"])


@contextmanager
def renderer(variant: str, *, threads: int | None = None) -> Iterator[None]:
    """Choose the variant and thread count of mitsuba, and give the old ones back; RuntimeError without libLLVM 19."""
    if variant.startswith("llvm") and not find_llvm():
        raise RuntimeError("llvm variants need libLLVM 19 (Debian: libllvm19) or DRJIT_LIBLLVM_PATH")
    old_variant, old_threads = mitsuba.variant(), drjit.thread_count()
    mitsuba.set_variant(variant)
    if threads is not None:
        drjit.set_thread_count(threads)
    try:
        yield
    finally:
        drjit.set_thread_count(old_threads)
        if old_variant is not None:
            mitsuba.set_variant(old_variant)


def returned_irradiance(
    room: Room,
    screen: Screen,
    points: Floats,
    *,
    batches: int = 16,
    spp: int = 4096,
    seed: int = 1,
    variant: str = "scalar_rgb",
    sampler: Sampler = "independent",
) -> tuple[Floats, Floats]:
    """Irradiance that the room sends back to points of the screen, and its standard error.

    points   (n, 3) [m] on the screen, inside frame; spp   samples a point and batch, at most 4489 or a multiple
    returns  mean (n, 3), standard error (n, 3), in the unit of pi times the screen's radiance; grey in mono variants
    raises   RuntimeError where the variant cannot run, ValueError for fewer than 2 batches
    Source: mitsuba's `path` integrator, all orders, Russian roulette from the fifth hit.
    """
    readings = batch_irradiance(room, screen, points, batches=batches, spp=spp, seed=seed, variant=variant, sampler=sampler)
    return readings.mean(axis=0), readings.std(axis=0, ddof=1) / np.sqrt(batches)


def batch_irradiance(
    room: Room,
    screen: Screen,
    points: Floats,
    *,
    batches: int = 16,
    spp: int = 4096,
    seed: int = 1,
    variant: str = "scalar_rgb",
    sampler: Sampler = "independent",
) -> Floats:
    """As `returned_irradiance`, every independent batch by itself, shape (batches, n, 3): for errors of ratios."""
    if batches < 2:
        raise ValueError(f"batches must be at least 2, got {batches}")
    with renderer(variant):
        scene = load(room, screen, points, spp=spp, sampler=sampler)
        return np.array([render(scene, seed=seed * 1000 + k) for k in range(batches)])


def render(scene: Any, *, seed: int) -> Floats:
    """One reading of all meters of a loaded scene, shape (points, 3)."""
    draw: Any = mitsuba.render  # mitsuba's stubs describe one variant only
    image = draw(scene, spp=scene.sensors()[0].sampler().sample_count(), seed=seed)
    means = np.asarray(np.array(image), dtype=np.float64).mean(axis=0)
    return np.broadcast_to(means, (len(means), 3))


def load(
    room: Room,
    screen: Screen,
    points: Floats,
    *,
    spp: int,
    sampler: Sampler = "independent",
    rr_depth: int = 5,
    pixel_samples: int = PIXEL_SAMPLES,
    emitters: Sequence[dict[str, Any]] = (),
    hide_emitters: bool = False,
) -> Any:
    """The scene in the present variant, one meter a point, with a film that takes spp samples a point.

    emitters  what else shines, as mitsuba's dictionaries (see mitsuba_lamps.py);  hide_emitters  their light counts by reflections alone
    A point has as many pixels as keep float32 sums short (`pixel_samples` each at most); they are averaged in float64.
    raises   ValueError where the sampler would round the number of samples (`orthogonal` needs squares of primes)
    """
    scene = {
        "type": "scene",
        "integrator": {"type": "path", "max_depth": -1, "rr_depth": rr_depth, "hide_emitters": hide_emitters},
    }
    shapes = [*_walls(room), *_screen(screen), *(side for box in room.boxes for side in _box(box))]
    scene.update({f"shape{i}": shape for i, shape in enumerate([*shapes, *emitters])})
    rows = -(-spp // pixel_samples)
    scene["meters"] = _meters(points, rows=rows, samples=spp // rows, sampler=sampler)
    # optimize=False: the optimiser merges the meters' equal sensors, and a sensor can sit on one shape only
    loaded = mitsuba.load_dict(scene, optimize=False)
    counted = rows * loaded.sensors()[0].sampler().sample_count()
    if counted != spp:
        raise ValueError(f"sampler {sampler} takes {counted} samples a point in {rows} pixels, got spp={spp}")
    return loaded


def _meters(points: Floats, *, rows: int, samples: int, sampler: Sampler) -> dict[str, Any]:
    def film(width: int, height: int) -> dict[str, Any]:
        kind = "luminance" if "mono" in str(mitsuba.variant()) else "rgb"
        size = {"width": width, "height": height, "pixel_format": kind, "component_format": "float32"}
        return {"type": "hdrfilm", "rfilter": {"type": "box"}, **size}

    meters: dict[str, Any] = {
        "type": "batch",
        "film": film(len(points), rows),
        "sampler": {"type": sampler, "sample_count": samples},
    }
    half = METER_M / 2
    for i, (x, y, z) in enumerate(points):
        low, high = (x - half, y - METER_M, z - half), (x + half, y - METER_M, z + half)
        meter = _panel(low, high, axis=1, sign=-1, reflectance=0.0)
        # this sampler and film are never used, the batch's are; the defaults would be larger
        one = {"film": film(1, 1), "sampler": {"type": "independent", "sample_count": 1}}
        meters[f"meter{i}"] = {**meter, "sensor": {"type": "irradiancemeter", **one}}
    return meters


def _walls(room: Room) -> Iterator[dict[str, Any]]:
    low = np.array([-room.width_m / 2, -room.depth_m, 0.0])
    high = np.array([room.width_m / 2, 0.0, room.height_m])
    faces = {"left": (0, 1), "right": (0, -1), "back": (1, 1), "front": (1, -1), "floor": (2, 1), "ceiling": (2, -1)}
    for name, (axis, sign) in faces.items():
        corner1, corner2 = low - OVERLAP_M, high + OVERLAP_M
        corner1[axis] = corner2[axis] = low[axis] if sign > 0 else high[axis]
        emitted = room.emitted_radiance.get(name, 0.0)
        yield _panel(corner1, corner2, axis=axis, sign=sign, reflectance=room.reflectance[name], emitted=emitted)


def _box(box: Solid) -> Iterator[dict[str, Any]]:
    for axis in range(3):
        for sign, place in ((-1, box.low_m[axis]), (1, box.high_m[axis])):
            low, high = np.array(box.low_m, dtype=float), np.array(box.high_m, dtype=float)
            low[axis] = high[axis] = place
            yield _panel(low, high, axis=axis, sign=sign, reflectance=box.reflectance, emitted=box.emitted_radiance)


def _screen(screen: Screen) -> Iterator[dict[str, Any]]:
    y, radiance = -screen.gap_m, screen.radiance_map
    x, z = screen.edges_x_m.tolist(), screen.edges_z_m.tolist()

    def part(x1: float, x2: float, z1: float, z2: float, reflectance: Colour, emitted: Colour) -> dict[str, Any]:
        return _panel((x1, y, z1), (x2, y, z2), axis=1, sign=-1, reflectance=reflectance, emitted=emitted)

    if np.ptp(radiance) == 0:  # one emitter is the fair choice for speed
        yield part(x[0], x[-1], z[0], z[-1], screen.reflectance, float(radiance[0, 0]))
    else:
        for row, column in np.ndindex(ZONES, ZONES):
            up = ZONES - 1 - row
            emitted = float(radiance[row, column])
            yield part(x[column], x[column + 1], z[up], z[up + 1], screen.reflectance, emitted)
    if screen.border_m > 0:
        b = screen.border_m
        strips = ((x[0] - b, x[0], z[0] - b, z[-1] + b), (x[-1], x[-1] + b, z[0] - b, z[-1] + b))
        for x1, x2, z1, z2 in (*strips, (x[0], x[-1], z[0] - b, z[0]), (x[0], x[-1], z[-1], z[-1] + b)):
            yield part(x1, x2, z1, z2, screen.border_reflectance, screen.border_radiance)


def _panel(low: Any, high: Any, *, axis: int, sign: int, reflectance: Colour, emitted: Colour = 0.0) -> dict[str, Any]:
    """A rectangle between two corners that differ in the two other axes, facing sign along `axis`."""
    matrix = np.eye(4)
    first, second = (axis + 1) % 3, (axis + 2) % 3
    matrix[:3, :3] = 0.0
    matrix[first, 0] = (high[first] - low[first]) / 2
    matrix[second, 1] = sign * (high[second] - low[second]) / 2  # keeps the frame right-handed for either sign
    matrix[axis, 2] = sign
    matrix[:3, 3] = (np.asarray(low) + np.asarray(high)) / 2
    panel: dict[str, Any] = {
        "type": "rectangle",
        "to_world": mitsuba.ScalarTransform4f(matrix.tolist()),
        "bsdf": {"type": "diffuse", "reflectance": _colour(reflectance)},
    }
    if np.any(np.asarray(emitted) > 0):
        panel["emitter"] = {"type": "area", "radiance": _colour(emitted)}
    return panel


def _colour(value: Colour) -> dict[str, Any]:
    channels = np.broadcast_to(np.asarray(value, dtype=float), (3,))
    return {"type": "rgb", "value": [float(c) for c in channels]}
