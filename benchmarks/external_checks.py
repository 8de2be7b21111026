"""Run the main external checks and write README's table from what came out.

    python -m benchmarks.external_checks          prints the table
    python -m benchmarks.external_checks --write  and puts it into README.md

Every row is computed when this runs; the expected values come from closed forms, published formulas or other programs.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from halfgain.materials.judge import largest_gain, largest_gain_gaussian
from halfgain.scenes.load import load_scene
from halfgain.simulate.light.ledger import trace
from halfgain.simulate.measure import measure

from tests.light import test_against_others as others
from tests.light import test_closed_rooms as closed
from tests.light.test_sphere import GAIN, LUMENS, NATIVE, SCREEN_AREA, sphere
from tests.outside import mitsuba_room, radiosity
from tests.outside.box_room import Room, Screen, checkerboard
from tests.outside.spherical_room import spherical_room
from tests.outside.view_factors import parallel_rectangles, perpendicular_rectangles
from tests.rooms import lowered, room
from tests.statistics import mean_and_error

README = Path(__file__).resolve().parents[1] / "README.md"
START, END = "<!-- checks: written by python -m benchmarks.external_checks --write -->", "<!-- end of checks -->"


class Check(NamedTuple):
    """One row: what, expected, got, standard error (0: exact arithmetic), source."""

    what: str
    expected: float
    got: float
    standard_error: float
    source: str


def photometry() -> Iterator[Check]:
    """Luminance and limits that need no random number."""
    seat = measure(load_scene("black-box")).seats[0]
    luminance = seat.white["centre"].value
    yield Check(
        "1000 lm on 2.0 x 1.125 m, gain 1: luminance, cd/m2",
        1000 / 2.25 / np.pi,
        luminance,
        0.0,
        "L = gain E / pi, definition of the luminance factor (CIE S 017)",
    )
    yield Check(
        "the same in foot-lamberts",
        1000 / (2.25 / 0.3048**2),
        luminance / (1 / np.pi / 0.3048**2),
        0.0,
        "lumens over square feet, definition of the unit",
    )
    yield Check(
        "checkerboard contrast of a lens of 1000:1 in a black room",
        1000.0,
        seat.checkerboard.value,
        seat.checkerboard.standard_error,
        "nothing comes back: the lens's own",
    )
    yield Check(
        "largest gain for a half-gain angle of 30 degrees",
        2 / np.sin(np.pi / 6) ** 2,
        float(largest_gain(half_gain_deg=30.0)),
        0.0,
        "energy conservation, 2 / sin^2 h (derived)",
    )
    yield Check(
        "the same for a Gaussian lobe",
        3.26725,
        float(largest_gain_gaussian(half_gain_deg=30.0)),
        0.0,
        "quadrature in double precision, computed apart",
    )


def factors() -> Iterator[Check]:
    """Configuration factors counted by traced paths."""
    arrays, _, _ = lowered(room(width=5.0, depth=4.0, height=2.5, screen_width=0.2, bottom=0.01, screen_right=-2.39, lens="[0.0, 2.0, 1.0]",
                                seats='[[seat]]\nname = "a"\neye_m = [0.0, 2.0, 1.0]'))  # fmt: skip
    for start, end, name, expected, source in (
        (5, 4, "floor to ceiling", parallel_rectangles(a_m=5, b_m=4, c_m=2.5), "C-11"),
        (5, 0, "floor to front wall", perpendicular_rectangles(h_m=2.5, l_m=5, w_m=4), "C-14"),
    ):
        ledger = trace(
            arrays.geometry,
            closed.starts_on(arrays.geometry, start, 16),
            seed=1,
            scrambles=16,
            low_path=0,
            paths=64,
            survival=0.5,
        )
        mean, error = mean_and_error(closed.first_surface_shares(arrays.geometry, ledger, len(arrays.surfaces)))
        yield Check(
            f"room 5 x 4 x 2.5 m, first hits from {name}",
            expected,
            mean[end],
            error[end],
            f"Howell's catalogue {source} (number from memory)",
        )


def spheres() -> Iterator[Check]:
    """Spherical room, half-lit screen cap, two meshes extrapolated."""
    for wall in (0.05, 0.2, 0.5):
        ratios = []
        for subdivisions in (4, 5):
            back, cap, _ = sphere(subdivisions, wall, 2048)
            board = back[:, 1] + (back[:, 0] - back[:, 1]) / NATIVE
            ratios.append((LUMENS / cap + board) / (LUMENS / cap / NATIVE + board))
        (coarse, coarse_error), (fine, fine_error) = (mean_and_error(r) for r in ratios)
        exact = spherical_room(
            radius_m=2.2, screen_area_m2=SCREEN_AREA, rho_screen=GAIN, rho_wall=wall, flux_lm=LUMENS, native=NATIVE
        ).contrast
        yield Check(
            f"spherical room, walls of {wall:g}: checkerboard contrast",
            exact,
            (4 * fine - coarse) / 3,
            np.hypot(4 * fine_error, coarse_error) / 3,
            "integrating-sphere theory, closed form (derived)",
        )


def other_programs() -> Iterator[Check]:
    """Mean returned illuminance on 25 points of the screen over the screen's exitance, white and checkerboard."""
    place = others.measuring_points()
    for title, walls, boxes in (
        ("light room", others.WALLS, ()),
        ("dark room, light back wall", others.DARK_LIGHT_BACK, ()),
        ("furnished light room", others.WALLS, (others.CRATE, others.PILLAR)),
    ):
        objects = "".join(
            others.box_object(
                f"box {i}", [b.low_m[0], -b.high_m[1], b.low_m[2]], [b.high_m[0], -b.low_m[1], b.high_m[2]], b.reflectance
            )
            for i, b in enumerate(boxes)
        )
        found, _ = others.returned_irradiance(paths=1024, objects=objects, walls=walls)
        for picture, (name, levels) in enumerate((("white", 1.0), ("checkerboard", checkerboard()))):
            ours, error = mean_and_error(found[:, picture].mean(axis=1))
            screen = Screen(others.WIDTH, others.HEIGHT, 0.7, others.GAIN, radiance=levels / np.pi, gap_m=0.001)
            if not boxes:
                expected = radiosity.returned_irradiance(Room(4.0, 6.0, 2.7, walls), screen, place).irradiance.mean()
                yield Check(
                    f"{title}, {name}: returned light",
                    expected,
                    ours,
                    error,
                    "radiosity with exact exchange areas, scipy, refined and extrapolated",
                )
            theirs, their_error = mean_and_error(
                mitsuba_room.batch_irradiance(Room(4.0, 6.0, 2.7, walls, boxes), screen, place, spp=1369)[:, :, 1].mean(axis=1)
            )
            yield Check(
                f"{title}, {name}: returned light",
                theirs,
                ours,
                float(np.hypot(error, their_error)),
                "mitsuba 3, scalar_rgb, path integrator (its error included)",
            )


def table(rows: list[Check]) -> str:
    """Markdown of the rows."""
    lines = ["| check | expected | got | standard error | source |", "|---|---|---|---|---|"]
    for row in rows:
        error = f"{row.standard_error:.2g}" if row.standard_error else "none"
        lines.append(f"| {row.what} | {row.expected:.7g} | {row.got:.7g} | {error} | {row.source} |")
    return "\n".join(lines)


def main() -> None:
    ask = argparse.ArgumentParser(description="Run the external checks and print README's table.")
    ask.add_argument("--write", action="store_true", help="put the table into README.md")
    write = ask.parse_args().write
    text = table([*photometry(), *factors(), *spheres(), *other_programs()])
    print(text)
    if write:
        before, rest = README.read_text(encoding="utf-8").split(START)
        README.write_text(before + START + "\n" + text + "\n" + END + rest.split(END)[1], encoding="utf-8")


if __name__ == "__main__":
    main()
