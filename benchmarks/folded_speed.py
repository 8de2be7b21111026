"""The same race as speed.py with a rippled screen of 80,000 triangles in a furnished room: waves of 2 mm on 300 mm.

    python -m benchmarks.folded_speed

One thread each, CPU seconds, same process, in turn; compiling and scene loading left out on both sides. Halfgain's time holds the
map of the lit folds, the trace and the walk; its light is the projector's, the renderer's cloth glows evenly.
"""

from __future__ import annotations

import time

import numpy as np
from halfgain.scenes.cloth.surface import cloth_of
from halfgain.simulate.folds.maps import picture_grid, seat_maps
from halfgain.simulate.measuring.flatten import flatten

from tests.outside import mitsuba_folded, mitsuba_room, mitsuba_speed
from tests.outside.box_room import Room, Screen
from tests.rooms import box_object, room

from . import speed

FOLDED = '[screen.fabric]\nkind = "diffuse"\ngain = 0.9\n[[screen.fold]]\nkind = "wave"\namplitude_mm = 2\nwavelength_mm = 300'


def maps() -> None:
    """Time of luminance and displacement maps for four seats at 640 x 360, warm, one thread. Wanted: under a second."""
    eyes = ((-0.8, 3.0), (0.0, 3.2), (0.8, 3.0), (0.0, 4.6))
    seats = "\n".join(f'[[seat]]\nname = "{i}"\neye_m = [{x}, {y}, 1.2]' for i, (x, y) in enumerate(eyes))
    scene = room(gap=0.1, fabric=FOLDED, seats=seats)
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
    arrays = flatten(
        room(
            gap=0.1,
            fabric=FOLDED,
            seats='[[seat]]\nname = "a"\neye_m = [0.9, 3.1, 1.2]',
            **speed.WALLS,
            objects="".join(
                box_object(
                    f"box {i}", [b.low_m[0], -b.high_m[1], b.low_m[2]], [b.high_m[0], -b.low_m[1], b.high_m[2]], b.reflectance
                )
                for i, b in enumerate(speed.BOXES)
            ),
        )
    )
    rows, columns = (n - 1 for n in arrays.geometry.relief.height.shape)
    print(f"furnished room, rippled screen: {2 * rows * columns} triangles")
    mine = speed.ours_of(arrays)
    screen = Screen(2.4, 1.35, 0.7, 0.9, radiance=1 / np.pi, gap_m=0.1)
    for variant in ["scalar_rgb"] + (["llvm_ad_mono"] if mitsuba_room.find_llvm() else []):
        theirs = mitsuba_speed.time_to_error(
            Room(4.0, 6.0, 2.7, speed.WALLS, speed.BOXES),
            screen,
            screen.nine_points(),
            targets=speed.TARGETS,
            variant=variant,
            threads=1,
            load=mitsuba_folded.load_lit_folds,
        )
        for target in speed.TARGETS:
            ratio = theirs.cpu_seconds[target] / mine[target]
            print(
                f"  {target:.1%}: {variant} {theirs.cpu_seconds[target] * 1e3:.1f} ms, halfgain {mine[target] * 1e3:.2f} ms: "
                f"{ratio:.1f} times"
            )


if __name__ == "__main__":
    main()
