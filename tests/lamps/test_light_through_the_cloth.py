"""Light through a cloth: closed forms for a window behind it, an independent path tracer for all reflections, energy, black backing."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from halfgain.materials.fabric_error import FabricError
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.text.toml_text import toml_text
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.lamps.generic import even
from halfgain.scenes.lamps.model import Lamp, Light, Window
from halfgain.scenes.library import scene_path
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.through_cloth import as_backed
from halfgain.simulate.choices.fabric_models import fabric_models
from halfgain.simulate.command.app import run
from halfgain.simulate.measuring.colour import luminance
from halfgain.simulate.measuring.estimate import estimate
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.measuring.readings import Seats
from halfgain.simulate.measuring.solver import measuring_points, stacked, traced_sums
from halfgain.simulate.views.content import content_of
from halfgain.simulate.views.shade import set_the_stage

from tests.outside.translucent_screen import Box, Sheet, Shines, illuminance
from tests.outside.view_factors import point_facing
from tests.rooms import lowered, room

from .lit_scene import lit

BLACK = dict.fromkeys(("front", "back", "left", "right", "ceiling", "floor"), 0.0)
LIGHT = dict.fromkeys(("front", "back", "left", "right", "ceiling", "floor"), 0.6)
GAIN, THROUGH, BACK, GAP = 0.6, 0.25, 0.5, 0.2
SHEET = f'[screen.fabric]\nkind = "diffuse"\ngain = {GAIN}\n'
CLOTH = f"{SHEET}transmittance = {THROUGH}\nback_reflectance = {BACK}\n"
WINDOW = Window("w", "front", 500.0, right_m=(-0.9, 0.5), up_m=(0.9, 1.9))
OPPOSITE = Window("o", "back", 500.0, right_m=(-1.5, 1.0), up_m=(0.5, 2.2))
WIDTH, HEIGHT, BOTTOM = 2.4, 1.35, 0.7


def lit_from_behind(fabric: str = CLOTH, walls: dict = BLACK, **rest: object) -> Scene:
    """A window behind the screen of the test room; `day` lets its light in."""
    scene = room(fabric=fabric, gap=GAP, **walls, **rest)
    return replace(scene, windows=(WINDOW,), lights=(Light("day", windows={"w": 1.0}),))


def window_lx(right: np.ndarray, up: np.ndarray) -> np.ndarray:
    """Illuminance (n,) [lx] on the cloth's back at places from the floor's middle [m]. Source: configuration factor, point to rectangle."""
    a, b = [WINDOW.right_m[k] - right for k in (0, 1)], [WINDOW.up_m[k] - up for k in (0, 1)]  # type: ignore[index]
    corners = [point_facing(a_m=a[i], b_m=b[j], c_m=GAP) * (1 if i == j else -1) for i in (0, 1) for j in (0, 1)]
    return np.pi * WINDOW.luminance_cd_m2 * np.sum(corners, axis=0)


def test_a_window_behind_a_translucent_sheet_is_the_closed_form() -> None:
    """L = transmittance E / pi, E by the configuration factor of a rectangle parallel to a point; walls are black."""
    points = measuring_points(flatten(lit_from_behind()))
    expected = THROUGH / np.pi * window_lx(points.right, points.up + BOTTOM + HEIGHT / 2)
    assert points.lamps is not None
    for seat in (0, 1):
        off = np.abs(points.lamps.luminance[:, seat, 0] - expected)
        assert (off <= points.lamps.off[:, seat, 0] + 1e-9).all(), "within its own bound, which is small"
        assert (points.lamps.off[:, seat, 0] < 2e-3 * expected.max()).all()
    assert not points.lamps.lux.any(), "nothing of it falls on the front"


def test_a_window_is_seen_straight_through_holes() -> None:
    """An eye sees the window's luminance times the open area, less at an angle, where its line meets the window, and nothing beside it."""
    holes = f"{SHEET}hole_pitch_mm = 2\nhole_diameter_mm = 0.6\nsheet_thickness_mm = 0.4\n"
    scene = lit_from_behind(holes)
    points = measuring_points(flatten(scene))
    perforation = scene.screen.fabric.perforation
    assert points.lamps is not None
    assert perforation is not None
    for seat, eye in enumerate(each.eye_m for each in scene.seats):
        up = points.up + BOTTOM + HEIGHT / 2
        stretch = eye[1] / (eye[1] - GAP)  # where the line from the eye through the cloth meets the wall
        x, z = eye[0] + (points.right - eye[0]) * stretch, eye[2] + (up - eye[2]) * stretch
        seen = (x > WINDOW.right_m[0]) & (x < WINDOW.right_m[1]) & (z > WINDOW.up_m[0]) & (z < WINDOW.up_m[1])  # type: ignore[index]
        angle = np.degrees(np.arctan(np.hypot(points.right - eye[0], up - eye[2]) / (eye[1] - GAP)))
        expected = np.where(seen, WINDOW.luminance_cd_m2 * perforation.transmittance(angle), 0.0)
        assert seen.any()
        assert not seen.all()
        assert points.lamps.luminance[:, seat, 0] == pytest.approx(expected, rel=1e-9)


@cache
def traced() -> Seats:
    """The light room with the window behind the cloth, another opposite, all reflections."""
    lights = (Light("day", windows={"w": 1.0}), Light("opposite", windows={"o": 1.0}))
    scene = replace(lit_from_behind(walls=LIGHT), windows=(WINDOW, OPPOSITE), lights=lights)
    arrays, points, prepared = lowered(scene)
    sums = traced_sums(prepared, seed=3, low_path=0, paths=256, threads=2)
    return Seats(scene, arrays, points, None, stacked(sums, 256))  # type: ignore[arg-type]


def shining(window: Window, kind: int) -> Shines:
    """A window's own radiance as one of four kinds of light."""

    def radiance(x: np.ndarray, z: np.ndarray) -> np.ndarray:
        (a, b), (c, d) = window.right_m, window.up_m  # type: ignore[misc]
        out = np.zeros((len(x), 4))
        out[:, kind] = np.where((x > a) & (x < b) & (z > c) & (z < d), window.luminance_cd_m2, 0.0)
        return out

    return radiance


def pictures(radiance: float) -> Shines:
    """A side of the cloth that shows the white picture and the checkerboard as second and third kind of light."""

    def shines(x: np.ndarray, z: np.ndarray) -> np.ndarray:
        column, line = np.floor((x / WIDTH + 0.5) * 4), np.floor((BOTTOM + HEIGHT - z) / HEIGHT * 4)
        white = radiance * np.ones(len(x))
        return np.stack([0.0 * white, white, np.where((column + line) % 2 == 0, white, 0.0), 0.0 * white], axis=1)

    return shines


def path_traced(point: int) -> tuple[np.ndarray, np.ndarray]:
    """Luminance of a measuring point by the four kinds of light, and its standard error, (4,) each [cd/m2]."""
    seats = traced()
    lux = float(seats.points.direct_lx.mean()) / np.pi
    sheet = Sheet(GAP, WIDTH, BOTTOM, HEIGHT, GAIN, BACK, THROUGH, pictures(GAIN * lux), pictures(THROUGH * lux))
    box = Box(4.0, 6.0, 2.7, 0.6, shining(WINDOW, 0), shining(OPPOSITE, 3))
    place = float(seats.points.right[point]), float(seats.points.up[point] + BOTTOM + HEIGHT / 2)
    front, front_error = illuminance(box, sheet, place, 1, 4, paths=100_000, seed=1)
    back, back_error = illuminance(box, sheet, place, -1, 4, paths=100_000, seed=2)
    expected = (GAIN * front + THROUGH * back) / np.pi
    error = np.hypot(GAIN * front_error, THROUGH * back_error) / np.pi
    return expected, error


@pytest.mark.parametrize("point", [20, 1], ids=["centre", "black patch"])
def test_all_reflections_behind_and_before_the_cloth_are_the_path_tracers(point: int) -> None:
    """A window behind, white picture, checkerboard, a window opposite: the cloth as a seat sees it, within 3 standard errors and 1 %.

    The 1 % is for what is scaled from the white picture's return (behind.py).
    """
    seats = traced()
    expected, error = path_traced(point)
    day, opposite = (seats.lit(0, light)[:, point] for light in seats.scene.lights)
    white, board = luminance(seats.white[:, point, 0]), luminance(seats.board[:, point, 0])
    for k, found in enumerate((day, white, board, opposite)):
        both = np.hypot(estimate(found).standard_error, error[k])
        assert both < 0.02 * expected[k]
        assert abs(found[0] - expected[k]) <= 3.0 * both + 0.01 * expected[k], (found[0] / expected[k], both / expected[k])


def test_a_wall_behind_an_unbacked_cloth_costs_contrast_and_black_cloth_does_not() -> None:
    """With black cloth behind it the sheet is one that lets nothing through, to the last bit."""
    scenes = {
        "bare": room(fabric=CLOTH, gap=GAP, front=0.6),
        "backed": scene_from_text(_text(room(fabric=CLOTH, gap=GAP, front=0.6), backed=True)),
        "closed": room(fabric=SHEET, gap=GAP, front=0.6),
    }
    found = {name: measure(scene, error=1e-9, most_paths=32) for name, scene in scenes.items()}
    assert found["backed"].seats[0].values == found["closed"].seats[0].values
    bare, closed = found["bare"].seats[0], found["closed"].seats[0]
    assert bare.checkerboard.value < 0.8 * closed.checkerboard.value
    assert bare.share["front"].value > closed.share["front"].value + 0.2
    # what comes back is at least one bounce off the wall, at most an endless series between wall and back, all of it caught
    extra = bare.white["centre"].value - closed.white["centre"].value
    direct = closed.direct["centre"].value / GAIN
    assert 0.3 * THROUGH**2 * 0.6 * direct < extra < THROUGH**2 * 0.6 / (1.0 - 0.6 * BACK) * direct


def _text(scene: Scene, **keys: object) -> str:
    """The text of a test room with keys under [screen]."""
    assert scene.document is not None
    table = {**scene.document.table, "screen": {**scene.document.table["screen"], **keys}}
    return toml_text(table)


def test_a_lamp_behind_a_translucent_cloth_is_counted_and_dims() -> None:
    lamp = Lamp("bias", (0.3, 0.1, 1.4), even(200.0), "")
    scene = replace(
        room(fabric=CLOTH, gap=GAP), lamps=(lamp,), lights=(Light("on", lamps={"bias": 1.0}), Light("dim", lamps={"bias": 0.25}))
    )
    found = measure(scene, error=0.05)
    dark, on, dim = found.seats[0].black.value, *(each.black.value for each in found.seats[0].states)
    assert on > 10.0 * dark
    assert dim - dark == pytest.approx(0.25 * (on - dark), rel=1e-9)
    # a point lamp 0.1 m behind the cloth, 0.3 m aside of its middle: Source: E = I cos / r^2
    r2 = 0.3**2 + 0.1**2 + (1.4 - BOTTOM - HEIGHT / 2) ** 2
    direct = 200.0 / (4.0 * np.pi) * 0.1 / r2**1.5
    assert on - dark > THROUGH * direct / np.pi


def test_rooms_that_are_no_box_have_a_back_of_the_screen_too() -> None:
    """A box given as an outline, with a part on its wall, is the box."""
    box = room(fabric=CLOTH, gap=GAP)
    assert box.document is not None
    plan = {
        "outline_m": [[-2, 0], [2, 0], [2, 6], [-2, 6]],
        "walls": ["front", "right", "back", "left"],
        "height_m": 2.7,
        "finish": box.document.table["room"]["finish"],
        "part": [{"name": "patch", "on": "front", "right_m": [-0.5, 0.5], "finish": 0.5}],
    }
    lamp = Lamp("bias", (0.3, 0.1, 1.4), even(200.0), "")
    found = []
    for each in (box, scene_from_text(toml_text({**box.document.table, "room": plan}))):
        scene = replace(each, lamps=(lamp,), lights=(Light("on", lamps={"bias": 1.0}),))
        seat = measure(scene, error=0.02, most_paths=128).seats[0]
        found.append([seat.washout, seat.states[0].black])
    for one, other in zip(*found, strict=True):
        assert abs(one.value - other.value) <= 3.0 * np.hypot(one.standard_error, other.standard_error) + 0.01 * one.value


def test_the_back_of_a_folded_cloth_lies_behind_its_folds() -> None:
    """Between the deepest fold and the wall, so that a ray from the seats meets the cloth first; from behind it is flat."""
    scene = scene_from_text(_text(room(fabric=CLOTH, gap=GAP), hang="motorised"))
    arrays = flatten(scene)
    assert arrays.behind is not None
    assert arrays.geometry.relief
    assert not arrays.behind.geometry.relief
    (back,) = np.flatnonzero(arrays.geometry.surface == arrays.surfaces.index("back of the screen"))
    deepest = float(arrays.geometry.relief.reach[0])
    assert deepest < 0.0
    assert -GAP + 0.001 < arrays.geometry.corner[back, 1] - -GAP < GAP
    assert arrays.geometry.corner[back, 1] > -GAP - deepest


SHARES = (
    ("transmittance = 0.5\n", "transmittance", 0.5, "at most 0.4"),
    ("transmittance = 0.3\nopen_area = 0.2\n", "transmittance", 0.3, "at most 0.2"),
    ("transmittance = 0.3\nback_reflectance = 0.8\n", "back_reflectance", 0.8, "at most 0.7"),
    ("back_reflectance = 0.8\n", "back_reflectance", 0.8, "beside transmittance"),
    ("transmittance = 0.1\nopen_area = 0.1\nbehind_reflectance = 0.3\n", "behind_reflectance", 0.3, "leave it out"),
)


@pytest.mark.parametrize(("keys", "key", "value", "allowed"), SHARES)
def test_more_light_than_falls_on_a_side_leaves_none(keys: str, key: str, value: float, allowed: str) -> None:
    with pytest.raises(FabricError) as caught:
        FabricTable(**tomllib.loads(f'kind = "diffuse"\ngain = {GAIN}\n{keys}')).to_fabric()
    assert (caught.value.key, caught.value.value, caught.value.allowed) == (key, value, allowed)


def test_models_of_a_translucent_fabric_let_as_much_light_through() -> None:
    fabric = FabricTable(gain=1.0, half_gain_deg=40.0, kind="angular-reflective", transmittance=0.3).to_fabric()
    models = fabric_models(fabric)
    assert len(models) > 2
    for _, each in models:
        assert each.transmittance == 0.3
        assert each.albedo + 0.3 <= 1.0 + 1e-6


def test_kept_paths_refuse_a_cloth_that_lets_light_through() -> None:
    """Scene, fabric on kept paths, and what to write instead, in one line."""
    line = 'screen.backed: light comes through the cloth ("own fabric"): kept paths do not follow it'
    with pytest.raises(SceneErrors, match="kept paths do not follow it") as caught:
        Answers.of(room(fabric=CLOTH, gap=GAP), paths=8)
    assert line in str(caught.value)
    backed = as_backed(room(fabric=CLOTH, gap=GAP))  # what the order of repaints is read from
    assert (Answers.of(backed, paths=8).quick().white[0] > 0.0).all()
    closed = Answers.of(room(fabric=SHEET, gap=GAP), paths=8)
    with pytest.raises(SceneErrors, match="kept paths"):
        closed.with_fabric(room(fabric=CLOTH, gap=GAP).screen.fabric)


@pytest.mark.parametrize("command", [["report", "--out", "page"], ["measure", "--tolerances"], ["advise", "--tolerances"]])
def test_commands_that_need_kept_paths_refuse_it_before_any_work(
    command: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in ("page.evidence", "measuring.measure"):
        monkeypatch.setattr(f"halfgain.simulate.{module}.measure", lambda *_, **__: pytest.fail("worked in vain"))
    monkeypatch.setattr("halfgain.simulate.choices.advice.advise", lambda *_, **__: pytest.fail("worked in vain"))
    monkeypatch.chdir(tmp_path)
    text = scene_path("long-lounge").read_text(encoding="utf-8")
    text = text.replace('fabric = "matt white"', "fabric = { gain = 0.6, transmittance = 0.2 }")
    (tmp_path / "room.toml").write_text(text, encoding="utf-8")
    assert run([command[0], "room.toml", *command[1:]]) == 2
    assert "room.toml: screen.backed: light comes through the cloth" in capsys.readouterr().err
    assert not (tmp_path / "page").exists()


def test_what_is_taken_of_light_behind_a_screen_is_said() -> None:
    strip = (
        'kind = "strip"\nplace_m = [-2.0, 5.9, 2.3]\nend_m = [2.0, 5.9, 2.3]\naim = [0.0, -0.2, 1.0]',
        'kind = "strip"\nplace_m = [-1.0, 0.05, 1.4]\nend_m = [1.0, 0.05, 1.4]\naim = [0.0, -1.0, 0.0]',
    )
    cloth = ('fabric = "matt white"', "fabric = { gain = 0.6, transmittance = 0.2 }")
    notes = scene_from_text(lit(strip, cloth)).notes
    assert "cornice behind the screen: what comes through its cloth is counted" in notes
    holes = scene_from_text(lit(strip, ('fabric = "matt white"', 'fabric = "micro-perforated white"'))).notes
    assert "cornice: through the holes the lamp itself is seen as a point of glare, which no luminance tells" in holes
    assert "transmittance is left out: light behind the screen comes through the holes alone" in holes


def test_pictures_of_lamps_behind_a_translucent_cloth_are_refused_with_the_reason() -> None:
    scene = lit_from_behind()
    with pytest.raises(SceneErrors, match=r'screen\.backed: pictures do not show light .* as that of light state "day" may'):
        set_the_stage(scene, content_of(scene, "white"), light=scene.lights[0])
