"""Laws that hold in any room, on rooms drawn by hypothesis."""

from __future__ import annotations

from typing import Any

import numpy as np
from halfgain.simulate.measuring.field import picture_field
from halfgain.simulate.measuring.readings import SeatReading, Seats
from halfgain.simulate.measuring.solver import stacked, traced_sums
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


def relative(value: float, expected: float) -> float:
    """Relative deviation from what is expected [1]."""
    return abs(value / expected - 1)


Box = tuple[float, float, float, float]
Size = tuple[float, float, float]


def box(of: Box, side: float = 1.0) -> str:
    """The box as the scene has it; side -1 mirrors it."""
    x, y, height, reflectance = of
    return box_object("box", [side * x - 0.3, y, 0.0], [side * x + 0.3, y + 0.4, height], reflectance)


def furnished(of: Box, size: Size) -> dict[str, object]:
    """The room's size and the box in it."""
    return {"objects": box(of), **dict(zip(("width", "depth", "height"), size, strict=True))}


LIGHTER: dict[str, Any] = {
    "rho": st.lists(REFLECTANCE, min_size=6, max_size=6),
    "surface": st.integers(0, 5),
    "fabric": FABRIC,
    "of": BOX,
    "size": SIZE,
}


def lighter_room(rho: list[float], surface: int, fabric: str, of: Box, size: Size) -> tuple[list[SeatReading], list[SeatReading]]:
    """Readings of a furnished room, and of the same with one surface lighter by up to 0.05."""
    lighter = list(rho)
    lighter[surface] = min(0.75, rho[surface] + 0.05)
    same = {"fabric": fabric, **furnished(of, size)}
    before = read(room(**same, **dict(zip(SURFACES, rho, strict=True))))
    after = read(room(**same, **dict(zip(SURFACES, lighter, strict=True))))
    return before, after


@FEW
@given(**LIGHTER)
def test_more_reflectance_never_lowers_wash_out(rho: list[float], surface: int, fabric: str, of: Box, size: Size) -> None:
    # Every path's weight is a product of reflectances: with the same paths the sum cannot fall
    for a, b in zip(*lighter_room(rho, surface, fabric, of, size), strict=True):
        assert b.washout.value >= a.washout.value * (1 - 1e-12)
        assert b.checkerboard.value <= a.checkerboard.value * (1 + 1e-12)


MIRRORED: dict[str, Any] = {
    "rho": st.lists(REFLECTANCE, min_size=6, max_size=6),
    "fabric": FABRIC,
    "x": st.floats(-1.0, 1.0),
    "lens": st.floats(-0.8, 0.8),
    "of": BOX,
}


def mirrored_room(rho: list[float], fabric: str, x: float, lens: float, of: Box) -> tuple[SeatReading, SeatReading]:
    """Readings of a room with a box in it and of its mirror image."""
    names = dict(zip(SURFACES, rho, strict=True))
    mirrored = names | {"left": names["right"], "right": names["left"]}
    here, there = (
        read(
            room(
                fabric=fabric,
                objects=box(of, sign),
                **finish,
                lens=f"[{sign * lens}, 4.5, 2.2]",
                seats=f'[[seat]]\nname = "a"\neye_m = [{sign * x}, 3.5, 1.2]',
            ),
            paths=64,
        )[0]
        for sign, finish in ((1.0, names), (-1.0, mirrored))
    )
    return here, there


@FEW
@given(**MIRRORED)
def test_a_mirrored_room_gives_mirrored_numbers(rho: list[float], fabric: str, x: float, lens: float, of: Box) -> None:
    # `checkerboard` only: it is made of a pattern and its complement, which is also its mirror image
    here, there = mirrored_room(rho, fabric, x, lens, of)
    for a, b in (
        (here.checkerboard, there.checkerboard),
        (here.washout, there.washout),
        (here.white["mean"], there.white["mean"]),
    ):
        assert abs(a.value - b.value) <= 4.5 * np.hypot(a.standard_error, b.standard_error) + 1e-9 * a.value
    assert abs(here.direct["centre"].value - there.direct["centre"].value) <= 1e-9 * here.direct["centre"].value


SCALED: dict[str, Any] = {"k": st.floats(0.6, 2.5), "fabric": FABRIC}


def scaled_room(k: float, fabric: str) -> dict[str, float]:
    """Relative deviations from luminance / k^2 and an unchanged contrast in a room k times as large, without ambient light."""

    def scaled(s: float) -> SeatReading:
        seat = f'[[seat]]\nname = "a"\neye_m = [{0.4 * s}, {3.5 * s}, {1.2 * s}]'
        return read(
            room(
                width=4 * s,
                depth=6 * s,
                height=2.7 * s,
                lens=f"[0.0, {4.5 * s}, {2.2 * s}]",
                screen_width=2.4 * s,
                bottom=0.7 * s,
                gap=0.01 * s,
                fabric=fabric,
                seats=seat,
            )
        )[0]

    one, other = scaled(1.0), scaled(k)
    return {
        "washout": relative(other.washout.value * k**2, one.washout.value),
        "checkerboard": relative(other.checkerboard.value, one.checkerboard.value),
        "black": relative(other.black.value * k**2, one.black.value),
        "direct": relative(other.direct["centre"].value * k**2, one.direct["centre"].value),
    }


@FEW
@given(**SCALED)
def test_scaling_all_lengths_scales_luminance_by_the_inverse_square(k: float, fabric: str) -> None:
    # Without ambient light; contrast stays. Inverse square law; shapes are the same, so the paths are too
    away = scaled_room(k, fabric)
    for name in ("washout", "checkerboard", "black"):
        assert away[name] < 0.02  # the map's cells depend on size in metres where surfaces are near
    assert away["direct"] < 1e-9


BRIGHTER: dict[str, Any] = {"factor": st.floats(0.3, 3.0), "fabric": FABRIC, "of": BOX, "size": SIZE}


def brighter_room(factor: float, fabric: str, of: Box, size: Size) -> dict[str, float]:
    """Relative deviations from luminance times the factor and an unchanged contrast when the lumens are multiplied by it."""
    one, other = (read(room(lumens=1000.0 * f, fabric=fabric, **furnished(of, size)))[0] for f in (1.0, factor))
    return {
        "white": relative(other.white["centre"].value, factor * one.white["centre"].value),
        "washout": relative(other.washout.value, factor * one.washout.value),
        "checkerboard": relative(other.checkerboard.value, one.checkerboard.value),
    }


@FEW
@given(**BRIGHTER)
def test_more_lumens_scale_luminance_and_leave_contrast_alone(factor: float, fabric: str, of: Box, size: Size) -> None:
    for name, away in brighter_room(factor, fabric, of, size).items():
        assert away < 1e-9, name


ALBEDO: dict[str, Any] = {"albedo": st.floats(0.45, 0.95)}
BLACK_ROOM_NATIVE = 2000.0  # the test room's own


def black_room(albedo: float) -> SeatReading:
    """Reading of a black room whose fabric has this albedo."""
    black = dict.fromkeys(SURFACES, 0.0)
    fabric = f'[screen.fabric]\nkind = "angular-reflective"\ngain = 1.4\nhalf_gain_deg = 38\nalbedo = {albedo}'
    return read(room(fabric=fabric, **black))[0]


@FEW
@given(**ALBEDO)
def test_in_a_black_room_contrast_does_not_depend_on_the_albedo(albedo: float) -> None:
    # Nothing comes back, so nothing is left but the projector's own contrast
    reading = black_room(albedo)
    assert reading.washout.value == 0.0
    assert relative(reading.checkerboard.value, BLACK_ROOM_NATIVE) < 1e-12
