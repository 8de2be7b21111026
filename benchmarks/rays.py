"""Path segments a second of tracing and walking, and two threads against one, in one process.

Run: python -m benchmarks.rays [SCENE [TRIANGLES]]; TRIANGLES: with a rounded block of about so many more in the room
"""

from __future__ import annotations

import math
import sys
import time

import numpy as np
from halfgain.scenes.load import load_scene
from halfgain.scenes.rooms.groups import Triangles, grouped
from halfgain.simulate.light.ledger import trace
from halfgain.simulate.light.patches import make_pieced_geometry
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

PATHS, ROUNDS, REPLICATIONS = 256, 3, 16


def with_block(arrays: SceneArrays, triangles: int) -> SceneArrays:
    """A room with a rounded block of at least `triangles` triangles in its middle, of the left wall's finish."""
    import trimesh

    geometry, ball = arrays.geometry, trimesh.creation.icosphere(math.ceil(math.log(triangles / 20, 4)))
    corners = np.sign(ball.vertices) * np.abs(ball.vertices) ** 0.7 * [0.9, 0.45, 0.44] + [0.0, -2.5, 0.45]
    count = len(ball.faces)
    mesh = Triangles(corners, np.asarray(ball.faces), np.full(count, 2), np.zeros(count, int), np.zeros(count, bool))
    found = make_pieced_geometry(
        corner=geometry.corner,
        edge_u=geometry.edge_u,
        edge_v=geometry.edge_v,
        surface=geometry.surface,
        role=geometry.role,
        meshes=[(mesh, grouped(mesh))],
        box=geometry.box,
    )
    return arrays._replace(geometry=found, objects=True)


def main(name: str, triangles: int) -> None:
    """Print millions of hits a second for one and two threads, best of ROUNDS in turn, the ratio, and one thread's cost a hit."""
    arrays = flatten(load_scene(name))
    if triangles:
        arrays = with_block(arrays, triangles)
        print(f"{len(arrays.geometry.pieces.plane):,} pieces, {len(arrays.geometry.corner):,} patches")
    began = time.perf_counter()
    prepared = prepare(arrays, measuring_points(arrays))
    print(f"map of {len(prepared.grid.place):,} nodes: {1e3 * (time.perf_counter() - began):.0f} ms, what is compiled included")

    def traced(threads: int) -> int:
        found = trace(
            arrays.geometry,
            prepared.starts,
            seed=1,
            replications=REPLICATIONS,
            low_path=0,
            paths=PATHS,
            survival=prepared.survival,
            threads=threads,
        )
        return len(found.patch)

    jobs = {
        "trace": traced,
        "trace and walk": lambda threads: traced_sums(prepared, seed=1, low_path=0, paths=PATHS, threads=threads),
    }
    hits = traced(1)
    jobs["trace and walk"](1)  # compiled
    best = {(job, threads): float("inf") for job in jobs for threads in (1, 2)}
    for _ in range(ROUNDS):
        for job, threads in best:
            began = time.perf_counter()
            jobs[job](threads)
            best[job, threads] = min(best[job, threads], time.perf_counter() - began)
    print(
        f"{name}: {hits:,} hits\n{'job':16s} {'1 thread':>10s} {'2 threads':>10s} {'ratio':>6s}   million hits a second, nanoseconds a hit"
    )
    for job in jobs:
        one, two = (hits / best[job, threads] / 1e6 for threads in (1, 2))
        print(f"{job:16s} {one:10.2f} {two:10.2f} {two / one:6.2f}{1e3 / one:34.0f}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "long-lounge", int(sys.argv[2]) if len(sys.argv) > 2 else 0)
