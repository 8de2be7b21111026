"""Path traced blocks of the four light rooms, kept for tests/views/test_light_rooms.py.

Run: python -m benchmarks.traced_blocks PATHS FILE.csv [ROOM ...]; adds a line a block to the file. Every ninth block of the view
is traced by `brute.py`, which interpolates nothing, edges included: a point drawn in each of 80 x 80 parts, PATHS paths from
each, seed 1. Nothing of the pictures' own light is used.
"""

from __future__ import annotations

import sys
from pathlib import Path

from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.render import seat_camera, set_the_stage

from tests.views.blocks import every_ninth, trace_block
from tests.views.light_rooms import LIGHT_ROOMS

HEAD = "room,row,column,luminance_cd_m2,standard_error_cd_m2,paths\n"


def main() -> None:
    """Trace and write, a room at a time."""
    paths, file, names = int(sys.argv[1]), Path(sys.argv[2]), sys.argv[3:]
    for name in names or list(LIGHT_ROOMS):
        scene = LIGHT_ROOMS[name]()
        stage, camera = set_the_stage(scene, load_content("white", 16 / 9)), seat_camera(scene, 0)
        lines = []
        for row, column in every_ninth(camera):
            value, error = trace_block(stage, camera, row, column, paths=paths, seed=1)
            lines.append(f'"{name}",{row},{column},{value:.6g},{error:.3g},{paths}\n')
        with file.open("a", encoding="utf-8") as out:
            out.write(("" if out.tell() else HEAD) + "".join(lines))
        print(f"{name}: {len(lines)} blocks", flush=True)


if __name__ == "__main__":
    main()
