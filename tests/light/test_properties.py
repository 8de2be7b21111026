"""Laws that hold in any room, on rooms drawn by hypothesis."""

from __future__ import annotations

import numpy as np
from halfgain.simulate.field import picture_field
from halfgain.simulate.readings import SeatReading, Seats
from halfgain.simulate.solver import stacked, traced_sums
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.rooms import ANGULAR, RETRO, box_object, lowered, room

FEW = settings(deadline=None, max_examples=12, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
REFLECTANCE = st.floats(0.02, 0.7)
FABRIC = st.sampled_from([ANGULAR, RETRO, '[screen.fabric]\nkind = "diffuse"\ngain = 0.8'])
# A box on the floor, below every eye and the lens, before the screen; and the room's own size
BOX = st.tuples(st.floats(-1.2, 1.2), st.floats(1.0, 4.5), st.floats(0.2, 0.9), REFLECTANCE)
SIZE = st.tuples(st.floats(3.2, 5.5), st.floats(5.2, 8.0), st.floats(2.5, 3.2))
SURFACES = ("front", "back", "left", "right", "ceiling", "floor")


def read(scene: object, *, paths: int = 32, seed: int = 11) -> list[SeatReading]:
    """Readings from a fixed number of paths."""
    arrays, points, prepared = lowered(scene)
    stack = stacked(traced_sums(prepared, seed=seed, low_path=0, paths=paths), paths)
    seats = Seats(scene, arrays, points, picture_field(arrays, points), stack)
    return [seats.reading(i) for i in range(len(arrays.eyes))]


Box = tuple[float, float, float, float]


def box(of: Box, side: float = 1.0) -> str:
    """The box as the scene has it; side -1 mirrors it."""
    x, y, height, reflectance = of
    return box_object("box", [side * x - 0.3, y, 0.0], [side * x + 0.3, y + 0.4, height], reflectance)


@FEW
@given(rho=st.lists(REFLECTANCE, min_size=6, max_size=6), surface=st.integers(0, 5), fabric=FABRIC, of=BOX, size=SIZE)
def test_more_reflectance_never_lowers_wash_out(
    rho: list[float], surface: int, fabric: str, of: Box, size: tuple[float, float, float]
) -> None:
    # Every path's weight is a product of reflectances: with the same paths the sum cannot fall
    lighter = list(rho)
    lighter[surface] = min(0.75, rho[surface] + 0.05)
    same = {"fabric": fabric, "objects": box(of), **dict(zip(("width", "depth", "height"), size, strict=True))}
    before = read(room(**same, **dict(zip(SURFACES, rho, strict=True))))
    after = read(room(**same, **dict(zip(SURFACES, lighter, strict=True))))
    for a, b in zip(before, after, strict=True):
        assert b.washout.value >= a.washout.value * (1 - 1e-12)
        assert b.checkerboard.value <= a.checkerboard.value * (1 + 1e-12)


@FEW
@given(rho=st.lists(REFLECTANCE, min_size=6, max_size=6), fabric=FABRIC, x=st.floats(-1.0, 1.0), lens=st.floats(-0.8, 0.8), of=BOX)
def test_a_mirrored_room_gives_mirrored_numbers(rho: list[float], fabric: str, x: float, lens: float, of: Box) -> None:
    # `checkerboard` only: it is made of a pattern and its complement, which is also its mirror image
    names = dict(zip(SURFACES, rho, strict=True))
    mirrored = names | {"left": names["right"], "right": names["left"]}
    here, there = (
        read(room(fabric=fabric, objects=box(of, sign), **finish, lens=f"[{sign * lens}, 4.5, 2.2]",
                  seats=f'[[seat]]\nname = "a"\neye_m = [{sign * x}, 3.5, 1.2]'), paths=64)[0]
        for sign, finish in ((1.0, names), (-1.0, mirrored))
    )  # fmt: skip
    for a, b in (
        (here.checkerboard, there.checkerboard),
        (here.washout, there.washout),
        (here.white["mean"], there.white["mean"]),
    ):
        assert abs(a.value - b.value) <= 4.5 * np.hypot(a.standard_error, b.standard_error) + 1e-9 * a.value
    assert abs(here.direct["centre"].value - there.direct["centre"].value) <= 1e-9 * here.direct["centre"].value


@FEW
@given(k=st.floats(0.6, 2.5), fabric=FABRIC)
def test_scaling_all_lengths_scales_luminance_by_the_inverse_square(k: float, fabric: str) -> None:
    # Without ambient light; contrast stays. Inverse square law; shapes are the same, so the paths are too
    def scaled(s: float) -> SeatReading:
        seat = f'[[seat]]\nname = "a"\neye_m = [{0.4 * s}, {3.5 * s}, {1.2 * s}]'
        return read(room(width=4 * s, depth=6 * s, height=2.7 * s, lens=f"[0.0, {4.5 * s}, {2.2 * s}]", screen_width=2.4 * s,
                         bottom=0.7 * s, gap=0.01 * s, fabric=fabric, seats=seat))[0]  # fmt: skip

    one, other = scaled(1.0), scaled(k)
    for name in ("washout", "checkerboard", "black"):
        a, b = getattr(one, name), getattr(other, name)
        expected = a.value if name == "checkerboard" else a.value / k**2
        assert abs(b.value / expected - 1) < 0.02  # the map's cells depend on size in metres where surfaces are near
    assert abs(other.direct["centre"].value * k**2 / one.direct["centre"].value - 1) < 1e-9


@FEW
@given(factor=st.floats(0.3, 3.0), fabric=FABRIC, of=BOX, size=SIZE)
def test_more_lumens_scale_luminance_and_leave_contrast_alone(
    factor: float, fabric: str, of: Box, size: tuple[float, float, float]
) -> None:
    same = {"fabric": fabric, "objects": box(of), **dict(zip(("width", "depth", "height"), size, strict=True))}
    one, other = (read(room(lumens=1000.0 * f, **same))[0] for f in (1.0, factor))
    assert abs(other.white["centre"].value / one.white["centre"].value / factor - 1) < 1e-9
    assert abs(other.washout.value / one.washout.value / factor - 1) < 1e-9
    assert abs(other.checkerboard.value / one.checkerboard.value - 1) < 1e-9


@FEW
@given(albedo=st.floats(0.45, 0.95))
def test_in_a_black_room_contrast_does_not_depend_on_the_albedo(albedo: float) -> None:
    # Nothing comes back, so nothing is left but the projector's own contrast
    black = dict.fromkeys(SURFACES, 0.0)
    fabric = f'[screen.fabric]\nkind = "angular-reflective"\ngain = 1.4\nhalf_gain_deg = 38\nalbedo = {albedo}'
    reading = read(room(fabric=fabric, **black))[0]
    assert reading.washout.value == 0.0
    assert abs(reading.checkerboard.value / 2000.0 - 1) < 1e-12
