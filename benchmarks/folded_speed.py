"""The same race as speed.py with a rippled screen of 80,000 triangles in a furnished room: waves of 2 mm on 300 mm.

    python -m benchmarks.folded_speed

One thread each, CPU seconds, same process, in turn; compiling and scene loading left out on both sides. Halfgain's time holds the
map of the lit folds, the trace and the walk; its light is the projector's, the renderer's cloth glows evenly.
"""

from __future__ import annotations

import time

from halfgain.scenes.cloth.surface import cloth_of
from halfgain.simulate.folds.maps import picture_grid, seat_maps

from tests.rooms import room

from . import speed


def maps() -> None:
    """Time of luminance and displacement maps for four seats at 640 x 360, warm, one thread. Wanted: under a second."""
    eyes = ((-0.8, 3.0), (0.0, 3.2), (0.8, 3.0), (0.0, 4.6))
    seats = "\n".join(f'[[seat]]\nname = "{i}"\neye_m = [{x}, {y}, 1.2]' for i, (x, y) in enumerate(eyes))
    scene = room(gap=0.1, fabric=speed.RIPPLED, seats=seats)
    cloth, grid = cloth_of(scene.screen), picture_grid(scene)
    seconds = []
    for _ in range(6):
        began = time.process_time()
        seat_maps(scene, cloth, grid)
        seconds.append(time.process_time() - began)
    print(f"maps for four seats at {len(grid.right_m)} x {len(grid.up_m)}, warm: {min(seconds[1:]):.2f} s of CPU")


def main() -> None:
    """Print times and ratios."""
    maps()
    arrays = speed.rooms()["rippled screen"]
    rows, columns = (n - 1 for n in arrays.geometry.relief.height.shape)
    print(f"furnished room, rippled screen: {2 * rows * columns} triangles")
    speed.tell(speed.race("rippled screen", arrays))


if __name__ == "__main__":
    main()
