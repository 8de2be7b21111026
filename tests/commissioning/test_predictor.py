"""Predictions for a meter against `measure`'s own readings and against changed scenes; slopes against finite differences."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.commissioning.meters import Meter
from halfgain.simulate.commissioning.parameters import parameters_of
from halfgain.simulate.commissioning.predictor import Knobs, Predictor
from halfgain.simulate.commissioning.site_reading import BLACK_PATCHES, BOARDS, WHITE_PATCHES, ShownPicture, SiteReading

from tests.commissioning.site import illuminances, luminances, readings, site_room
from tests.lamps.lit_scene import lit
from tests.rooms import RETRO, box_object

CRATE = box_object("crate", [0.8, 2.0, 0.0], [1.4, 2.6, 0.9], 0.4)
SPILLS = 'pixels = [1920, 1200]\nfit = "width"\ncorner_to_centre = 0.7\ncheckerboard_contrast = 300'  # light beside the screen
ROOMS = {
    "angular": site_room(),
    "diffuse": site_room(fabric='[screen.fabric]\nkind = "diffuse"\ngain = 0.9'),
    "coloured, spilling, furnished": site_room(front="{ reflectance = [0.6, 0.4, 0.2] }", projector=SPILLS, objects=CRATE),
}
PATHS = 8


def every_kind() -> list[SiteReading]:
    """Also complement, checkerboard in lx, and the lamps."""
    lit = [
        SiteReading(Meter.LUMINANCE, shown, place, seat, "lamps on", 1.0, 0.01)
        for seat in ("middle", "side")
        for shown, place in (
            (ShownPicture.WHITE, "centre"),
            (ShownPicture.BLACK, "2"),
            *((board, where) for board in BOARDS for where in (WHITE_PATCHES, "r3c1")),
        )
    ]
    return [
        *luminances(),
        *illuminances(),
        *lit,
        SiteReading(Meter.ILLUMINANCE, ShownPicture.COMPLEMENT, "r2c2", "", "dark", 1.0, 0.01),
    ]


def moved(knobs: Knobs) -> Knobs:
    """Everything other than stated."""
    return knobs._replace(
        lumens=0.8,
        gain=0.93,
        reflectance=knobs.reflectance * np.linspace(0.8, 1.1, len(knobs.reflectance)),
        fall=knobs.fall + 0.1,
        veil=knobs.veil + 0.001,
        ambient=np.array([0.05, 4.0]),
        meters=np.array([1.02, 0.97]),
    )


@pytest.mark.parametrize("name", ROOMS)
def test_predictions_are_the_readings_of_measure(name: str) -> None:
    # Expected: Answers.readings, another way to the same figures on the same paths
    answers = Answers.of(ROOMS[name], seed=3, paths=PATHS)
    boards = [(board, where) for board in BOARDS for where in (WHITE_PATCHES, BLACK_PATCHES)]
    for seat, expected in zip(answers.scene.seats, answers.readings(), strict=True):
        for light, state in (("dark", expected), ("lamps on", expected.states[0])):
            asked = [(ShownPicture.WHITE, "centre"), (ShownPicture.BLACK, "centre"), *boards]
            found = Predictor(answers, [SiteReading(Meter.LUMINANCE, *each, seat.name, light, 1.0, 0.01) for each in asked])
            white, black, plain_lit, plain_dark, other_lit, other_dark = found.predict(found.stated)[0]
            assert white == pytest.approx(expected.white["centre"].value if light == "dark" else state.white.value, rel=1e-9)
            assert black == pytest.approx(state.black.value, rel=1e-9)
            assert (plain_lit + other_lit) / (plain_dark + other_dark) == pytest.approx(state.checkerboard.value, rel=1e-9)


def test_illuminance_without_a_room_is_the_projectors_own() -> None:
    # Expected: 1000 lm over the picture's area is the mean of nine points, by definition of the light output (ISO/IEC 21118)
    black = site_room(front=0.0, back=0.0, left=0.0, right=0.0, ceiling=0.0, floor=0.0)
    found = Predictor(Answers.of(black, seed=1, paths=1), illuminances()[:9])
    nine = found.predict(found.stated)[0]
    assert nine.mean() == pytest.approx(1000.0 / (2.4 * 1.35), rel=1e-9)
    assert nine[0] / nine[4] == pytest.approx((1 - 0.15 * 4 / 9), rel=1e-9)


def test_returned_illuminance_is_the_luminance_of_a_diffuse_screen_over_its_gain() -> None:
    # Expected: L = g E / pi of a diffuse fabric (CIE S 017), whatever comes back from the room
    answers = Answers.of(ROOMS["diffuse"], seed=3, paths=PATHS)
    asked = [(ShownPicture.WHITE, "1"), (ShownPicture.WHITE, "6"), (ShownPicture.CHECKERBOARD, "r2c3")]
    lux = Predictor(answers, [SiteReading(Meter.ILLUMINANCE, *each, "", "dark", 1.0, 0.01) for each in asked])
    seen = Predictor(answers, [SiteReading(Meter.LUMINANCE, *each, "side", "dark", 1.0, 0.01) for each in asked])
    np.testing.assert_allclose(seen.predict(seen.stated)[0], 0.9 / np.pi * lux.predict(lux.stated)[0], rtol=1e-6)


CHANGES = {
    "in_use": ({"projector.in_use": 0.6}, lambda k: k._replace(lumens=0.6)),
    "fall-off": ({"projector.corner_to_centre": 0.55}, lambda k: k._replace(fall=0.45)),
    "gain": ({"screen.fabric.gain": 1.6 * 0.9, "screen.fabric.albedo": 0.85 * 0.9}, lambda k: k._replace(gain=0.9)),
    "contrasts": (
        {"projector.native_contrast": 1500, "projector.checkerboard_contrast": 200},
        lambda k: k._replace(black=1 / 1500, veil=1 / 200 - 1 / 1500),
    ),
    "lamps": ({'light."lamps on".screen_lx': 7.0}, lambda k: k._replace(ambient=np.array([0.0, 7.0]))),
}


@pytest.mark.parametrize("projector", [SPILLS, "corner_to_centre = 0.7\ncheckerboard_contrast = 300"], ids=["spills", "fits"])
@pytest.mark.parametrize("what", CHANGES)
def test_a_knob_is_the_scene_with_that_key_changed(what: str, projector: str) -> None:
    # Expected: the changed scene itself on the same paths; the ledger holds single-precision numbers
    scene = site_room(projector=projector)
    keys, turn = CHANGES[what]
    found, expected = (Predictor(Answers.of(each, seed=3, paths=PATHS), every_kind()) for each in (scene, scene.change(keys)))
    np.testing.assert_allclose(found.predict(turn(found.stated))[0], expected.predict(expected.stated)[0], rtol=2e-6)


def test_a_reflectance_is_the_scene_with_that_finish_changed() -> None:
    scene = ROOMS["angular"]
    found = Predictor(Answers.of(scene, seed=3, paths=PATHS), every_kind())
    expected = Predictor(Answers.of(scene.with_finish("ceiling", 0.5), seed=3, paths=PATHS), every_kind())
    ratios = found.stated.reflectance
    ratios[found.answers.arrays.surfaces.index("ceiling")] = 2.0
    np.testing.assert_allclose(
        found.predict(found.stated._replace(reflectance=ratios))[0], expected.predict(expected.stated)[0], rtol=1e-9
    )


@pytest.mark.parametrize("name", [*ROOMS, "beaded"])
def test_slopes_are_finite_differences(name: str) -> None:
    # Expected: central difference, definition; on the same paths, so only its own h^2 and single precision are left
    scene: Scene = ROOMS.get(name) or site_room(fabric=RETRO)
    found = Predictor(Answers.of(scene, seed=5, paths=PATHS), every_kind(), pooling=False)
    at, h = moved(found.stated), 1e-3
    slopes = found.slopes(at)

    def difference(turned: object) -> np.ndarray:
        return (found.predict(turned(h))[0] - found.predict(turned(-h))[0]) / (2.0 * h)  # type: ignore[operator]

    rows = {
        "lumens": (slopes["lumens"], lambda d: at._replace(lumens=at.lumens * np.exp(d))),
        "gain": (slopes["gain"], lambda d: at._replace(gain=at.gain * np.exp(d))),
        "fall": (slopes["fall"], lambda d: at._replace(fall=at.fall + d)),
        "black": (slopes["black"], lambda d: at._replace(black=at.black + d)),
        "veil": (slopes["veil"], lambda d: at._replace(veil=at.veil + d)),
    }
    for i in range(2):
        unit = np.eye(2)[i]
        rows[f"ambient {i}"] = (slopes["ambient"][i], lambda d, u=unit: at._replace(ambient=at.ambient + d * u))
        rows[f"meter {i}"] = (slopes["meters"][i], lambda d, u=unit: at._replace(meters=at.meters * np.exp(d * u)))
    for i, surface in enumerate(found.answers.arrays.surfaces[:-1]):
        unit = np.eye(len(at.reflectance))[i]
        rows[surface] = (slopes["reflectance"][i], lambda d, u=unit: at._replace(reflectance=at.reflectance * np.exp(d * u)))
    for key, (slope, turned) in rows.items():
        expected = difference(turned)
        np.testing.assert_allclose(slope, expected, rtol=0, atol=1e-5 * max(np.abs(expected).max(), 1e-12), err_msg=key)
    assert np.abs(slopes["reflectance"][:6]).max(axis=1).min() > 0.0, "every wall is met by paths"


def test_lamps_of_a_state_are_read_as_measure_reads_them() -> None:
    # Expected: Answers.readings and Seats.lit_lux, the same lamps by way of measure
    answers = Answers.of(scene_from_text(lit()), seed=3, paths=PATHS)
    state = "film"
    asked = [
        SiteReading(Meter.LUMINANCE, shown, "centre", seat, state, 1.0, 0.01)
        for seat in ("front", "rear")
        for shown in (ShownPicture.WHITE, ShownPicture.BLACK)
    ]
    asked += [SiteReading(Meter.ILLUMINANCE, ShownPicture.OFF, str(i), "", state, 1.0, 0.01) for i in range(1, 10)]
    predictor = Predictor(answers, asked)
    found = predictor.predict(predictor.stated)
    for k, seat in enumerate(answers.readings()):
        lit_state = next(each for each in seat.states if each.name == state)
        assert found[0][2 * k] == pytest.approx(lit_state.white.value, rel=1e-9)
        assert found[0][2 * k + 1] == pytest.approx(lit_state.black.value, rel=1e-9)
    light = next(each for each in answers.scene.lights if each.name == state)
    expected = answers.seats(whole=False).lit_lux_points(0, light)[:, 16:]
    np.testing.assert_allclose(found[:, 4:], expected, rtol=1e-9)
    at = predictor.stated
    more = at._replace(ambient=2.0 * at.ambient)
    np.testing.assert_allclose(predictor.predict(more)[0][4:], 2.0 * expected[0], rtol=1e-9)
    slope = predictor.slopes(at)["ambient"][predictor.states.index(state)]
    np.testing.assert_allclose(slope[4:] * at.ambient[predictor.states.index(state)], expected[0], rtol=1e-9)


def test_a_film_with_bars_is_read_as_measure_reads_it() -> None:
    bars = 'pixels = [1920, 1080]\ncheckerboard_contrast = 300\n[projector.film]\naspect = "2.35:1"\nshown = "letterbox"'
    answers = Answers.of(site_room(projector=bars), seed=3, paths=PATHS)
    boards = [(board, where) for board in BOARDS for where in (WHITE_PATCHES, BLACK_PATCHES)]
    asked = [(ShownPicture.WHITE, "centre"), (ShownPicture.BLACK, "centre"), *boards]
    predictor = Predictor(answers, [SiteReading(Meter.LUMINANCE, *each, "side", "dark", 1.0, 0.01) for each in asked])
    white, black, plain_lit, plain_dark, other_lit, other_dark = predictor.predict(predictor.stated)[0]
    expected = answers.readings()[1]
    assert white == pytest.approx(expected.white["centre"].value, rel=1e-9)
    assert black == pytest.approx(expected.black.value, rel=1e-9)
    assert (plain_lit + other_lit) / (plain_dark + other_dark) == pytest.approx(expected.checkerboard.value, rel=1e-9)
    site = readings(predictor)
    lens = next(each for each in parameters_of(predictor, site) if each.key == "lens_contrast")
    assert lens.put(predictor.stated, lens.mean).veil == pytest.approx(predictor.stated.veil, rel=1e-12)
