"""What each family of fabric costs against a diffuse one: in the transport kernels of a room, and as a bare call.

    python -m benchmarks.fabric_cost

One thread, CPU seconds, in turn, least of several repeats; compiling left out.

    in the kernel  map, trace and walk of one room over the same with a diffuse fabric; limits: 3 times, louvred 8
    bare value     one call of `fabric_value`, and over a diffuse one: that is two loads and a division, so no limit is set on it
    bare sample    one call of `fabric_sample`, and over a diffuse one
"""

from __future__ import annotations

import dataclasses
import sys
import time
from typing import Any

import numba
import numpy as np
from halfgain.materials.fabric import Fabric
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.library import find_fabric
from halfgain.materials.lobes.brdf import fabric_sample, fabric_value
from halfgain.scenes.load import load_scene
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

TABLES: dict[str, dict[str, Any]] = {
    "rough diffuse": {"kind": "rough-diffuse", "gain": 0.8, "roughness_deg": 20.0},
    "gaussian": {"gain": 1.4, "half_gain_deg": 38.0, "kind": "angular-reflective"},
    "cosine-power": {"gain": 1.4, "half_gain_deg": 38.0, "kind": "angular-reflective", "lobe": "cosine-power"},
    "half-vector": {"gain": 1.4, "half_gain_deg": 38.0, "kind": "angular-reflective", "lobe": "half-vector"},
    "elliptic": {"gain": 1.4, "half_gain_deg": 38.0, "half_gain_up_deg": 20.0, "kind": "angular-reflective"},
    "beads, entrance fall-off": {"gain": 2.4, "half_gain_deg": 20.0, "kind": "retro-reflective", "entrance_half_deg": 35.0},
    "measured": {"kind": "measured", "curve": [[0.0, 1.4], [10.0, 1.35], [20.0, 1.1], [40.0, 0.6], [60.0, 0.35]]},
    "perforated, light behind": {
        "gain": 0.9,
        "hole_pitch_mm": 5.1,
        "hole_diameter_mm": 1.2,
        "sheet_thickness_mm": 0.35,
        "behind_reflectance": 0.1,
    },
}
LIMIT, LOUVRED_LIMIT = 3.0, 8.0


def fabrics() -> dict[str, Fabric]:
    """One fabric a family, the diffuse one first."""
    found = {"diffuse": find_fabric("grey 0.8")}
    found.update({name: FabricTable.model_validate(table).to_fabric() for name, table in TABLES.items()})
    return {**found, "louvred": find_fabric("louvred short-throw")}


@numba.njit(error_model="numpy")
def many_values(fabric, directions, repeats):  # type: ignore[no-untyped-def]
    """Sum of BRDF values over neighbouring directions."""
    total = 0.0
    for _ in range(repeats):
        for i in range(directions.shape[0] - 1):
            wi = (directions[i, 0], directions[i, 1], directions[i, 2])
            total += fabric_value(fabric, wi, (directions[i + 1, 0], directions[i + 1, 1], directions[i + 1, 2]))
    return total


@numba.njit(error_model="numpy")
def many_samples(fabric, directions, uniforms, repeats):  # type: ignore[no-untyped-def]
    """Sum of weights of drawn directions."""
    total = 0.0
    for _ in range(repeats):
        for i in range(directions.shape[0]):
            wi = (directions[i, 0], directions[i, 1], directions[i, 2])
            total += fabric_sample(fabric, wi, uniforms[i, 0], uniforms[i, 1], uniforms[i, 2])[1]
    return total


def least_ns(run: Any, calls: int, repeats: int = 15) -> float:
    """Least CPU time of a call [ns]."""
    best = float("inf")
    run()
    for _ in range(repeats):
        began = time.thread_time()
        run()
        best = min(best, time.thread_time() - began)
    return best / calls * 1e9


def bare_ns(fabric: Fabric) -> tuple[float, float]:
    """CPU time of one value and of one sample [ns]."""
    rng = np.random.default_rng(1)
    z, turn = rng.uniform(0.05, 1.0, 1000), rng.uniform(0.0, 2.0 * np.pi, 1000)
    side = np.sqrt(1.0 - z * z)
    directions, uniforms = np.stack([side * np.cos(turn), side * np.sin(turn), z], axis=1), rng.random((1000, 3))
    arrays = fabric.arrays()
    value = least_ns(lambda: many_values(arrays, directions, 10), 9990)
    return value, least_ns(lambda: many_samples(arrays, directions, uniforms, 10), 10000)


def kernel_seconds(names: dict[str, Fabric], paths: int = 1024, repeats: int = 9) -> dict[str, float]:
    """CPU time of map, trace and walk of one room with each fabric [s], the fabrics in turn."""
    scene = load_scene("long-lounge")
    best = dict.fromkeys(names, float("inf"))
    arrays = {
        name: flatten(dataclasses.replace(scene, screen=dataclasses.replace(scene.screen, fabric=fabric)))
        for name, fabric in names.items()
    }
    points = {name: measuring_points(each) for name, each in arrays.items()}
    for _ in range(repeats + 1):  # the first round compiles
        for name, each in arrays.items():
            began = time.thread_time()
            traced_sums(prepare(each, points[name]), seed=1, low_path=0, paths=paths, replications=1)
            best[name] = min(best[name], time.thread_time() - began)
    return best


def main() -> int:
    """Print the table; status 1 where a family is over its limit in the kernels."""
    names = fabrics()
    seconds, bare = kernel_seconds(names), {name: bare_ns(fabric) for name, fabric in names.items()}
    print(f"{'family':28}{'in the kernel':>16}{'limit':>7}{'bare value':>24}{'bare sample':>24}")
    over = 0
    for name in names:
        ratio, limit = seconds[name] / seconds["diffuse"], LOUVRED_LIMIT if name == "louvred" else LIMIT
        alone = "".join(f"{ns:13.1f} ns{ns / first:6.1f} x" for ns, first in zip(bare[name], bare["diffuse"], strict=True))
        print(f"{name:28}{ratio:14.2f} x{limit:7.0f}{alone}{'  over its limit' if ratio > limit else ''}")
        over += ratio > limit
    print(f"{over} of {len(names)} families over their limit in the kernel")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
