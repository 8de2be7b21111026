"""Lamps through the whole of `measure`: linearity, fabrics, repaints on kept ledgers, the same bits at any number of threads."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.finish import Finish
from halfgain.materials.lobes.albedo import directional_albedos
from halfgain.scenes.lamps.generic import even
from halfgain.scenes.lamps.model import Lamp, Light, Window
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.slopes import log_slopes
from halfgain.simulate.choices.advice import _lux_of_states
from halfgain.simulate.light.lamphits import lamp_key
from halfgain.simulate.light.ledger import trace
from halfgain.simulate.measuring import measure as measuring_module
from halfgain.simulate.measuring.estimate import jackknife_error
from halfgain.simulate.measuring.lamp_sums import lamp_sums, lamps_on_hits, once_reflected
from halfgain.simulate.measuring.measure import Measurement, measure
from halfgain.simulate.measuring.solver import CENTRE, returned_light, traced_sums

from tests.rooms import ANGULAR, RETRO, lowered, room

from .lit_scene import lit

PATHS = 128  # a replication and start
BLACK = dict.fromkeys(("front", "back", "left", "right", "ceiling", "floor"), 0.0)
LOUVRED = "[screen.fabric]\n" + "\n".join(
    f"{key} = {value}"
    for key, value in {
        "kind": '"louvred"', "facet_up_deg": 30, "facet_down_deg": 60, "facet_up_reflectance": 0.05, "facet_down_reflectance": 0.8,
    }.items()
)  # fmt: skip
FABRICS = {"diffuse": '[screen.fabric]\nkind = "diffuse"\ngain = 0.9', "angular": ANGULAR, "retro": RETRO, "louvred": LOUVRED}


def state(found: Measurement, name: str, seat: int = 0) -> dict:
    return next(each.values for each in found.seats[seat].states if each.name == name)


def test_dimming_is_linear_and_light_adds_up() -> None:
    """Source: light is linear; the same paths serve all states, so to the last digits."""
    scene = scene_from_text(lit())
    lights = (
        Light("a", lamps={"table lamp": 1.0}),
        Light("b", windows={"garden": 1.0}),
        Light("both", lamps={"table lamp": 0.25}, windows={"garden": 0.5}),
        Light("blind", windows={"garden": 1.0}, blinds_down=("garden",)),
        Light("even too", screen_lx=3.0, lamps={"table lamp": 1.0}),
    )
    found = measure(replace(scene, lights=lights), error=0.05)
    black = {light.name: state(found, light.name)["black_cd_m2"].value for light in lights}
    dark = found.seats[0].black.value
    assert black["both"] - dark == pytest.approx(0.25 * (black["a"] - dark) + 0.5 * (black["b"] - dark), rel=1e-9)
    assert black["blind"] - dark == pytest.approx(0.02 * (black["b"] - dark), rel=1e-9)
    assert black["even too"] - black["a"] == pytest.approx(3.0 * 0.92 / math.pi, rel=1e-6)  # matt white gives back 0.92


def test_the_dark_does_not_know_of_lamps() -> None:
    """A scene's figures in the dark are those of the scene without lamps, to the last bit."""
    scene = scene_from_text(lit())
    with_lamps = measure(scene, error=1e-9, most_paths=64)
    without = measure(replace(scene, lights=(), lamps=(), windows=()), error=1e-9, most_paths=64)
    assert with_lamps.paths == without.paths
    assert with_lamps.seats[0].values == without.seats[0].values


def test_slopes_do_not_know_of_lamps() -> None:
    """Figures of the picture read no lamps, so the same paths give the same slopes."""
    scene = scene_from_text(lit())
    without = replace(scene, lights=(), lamps=(), windows=())
    found, expected = (log_slopes(Answers.of(each, paths=16), ("white", "checkerboard")) for each in (scene, without))
    assert found == expected


@pytest.mark.parametrize("threads", [2, 3])
def test_lamps_give_the_same_bits_at_any_number_of_threads(threads: int) -> None:
    arrays, _, prepared = lowered(scene_from_text(lit()))
    assert len(arrays.lamps.names) == 4
    one, many = (traced_sums(prepared, seed=3, low_path=0, paths=16, threads=each) for each in (1, threads))
    assert np.array_equal(one, many)


@pytest.mark.parametrize("fabric", FABRICS)
def test_walls_that_shine_alike_show_the_fabrics_albedo(fabric: str) -> None:
    """Six windows of one luminance as large as their walls: a cloth of albedo rho(w) looks rho(w) times as bright. Source: definition."""
    spans = {"right_m": (-2.0, 2.0), "out_m": (0.0, 6.0), "up_m": (0.0, 2.7)}
    keys = {"front": ("right_m", "up_m"), "left": ("out_m", "up_m"), "ceiling": ("right_m", "out_m")}
    keys |= {"back": keys["front"], "right": keys["left"], "floor": keys["ceiling"]}
    windows = tuple(Window(name, name, 100.0, **{key: spans[key] for key in keys[name]}) for name in keys)
    scene = replace(
        room(fabric=FABRICS[fabric], **BLACK), windows=windows, lights=(Light("all", windows=dict.fromkeys(keys, 1.0)),)
    )
    _, points, _ = lowered(scene)
    albedo = directional_albedos(scene.screen.fabric.arrays(), points.seats.reshape(-1, 3)).reshape(points.seats.shape[:2])
    got = points.lamps.luminance.sum(axis=2) / 100.0
    assert got == pytest.approx(albedo, rel=6e-3)
    assert points.lamps.lux.sum(axis=1) == pytest.approx(np.full(25, math.pi * 100.0), rel=2e-3)


@pytest.mark.parametrize(("rise_deg", "gain"), [(45.0, 0.0468), (-45.0, 0.298), (-65.0, 0.4134), (0.0, 0.1394)])
def test_a_louvre_rejects_what_comes_from_above(rise_deg: float, gain: float) -> None:
    """Library-like louvre, 30 deg black up, 60 deg white down, seat on the normal. Source: facet Monte Carlo (computed apart)."""
    towards = (0.0, 12.0 * math.cos(math.radians(rise_deg)), 20.0 + 12.0 * math.sin(math.radians(rise_deg)))
    scene = room(
        fabric=LOUVRED, width=20.0, depth=30.0, height=40.0, bottom=20.0 - 0.1125, screen_width=0.4, lens="[0.0, 3.0, 20.0]",
        seats='[[seat]]\nname = "a"\neye_m = [0.0, 25.0, 20.0]', **BLACK,
    )  # fmt: skip
    scene = replace(scene, lamps=(Lamp("l", towards, even(1e4), ""),), lights=(Light("on", lamps={"l": 1.0}),))
    _, points, _ = lowered(scene)
    assert math.pi * points.lamps.luminance[CENTRE, 0, 0] / points.lamps.lux[CENTRE, 0] == pytest.approx(gain, rel=0.01)


def test_even_light_on_a_louvre() -> None:
    """0.1636 towards the normal. Source: facet Monte Carlo (computed apart)."""
    table = {
        "kind": "louvred",
        "facet_up_deg": 30,
        "facet_down_deg": 60,
        "facet_up_reflectance": 0.05,
        "facet_down_reflectance": 0.8,
    }
    fabric = FabricTable.model_validate(table).to_fabric()
    assert directional_albedos(fabric.arrays(), np.array([[0.0, 0.0, 1.0]]))[0] == pytest.approx(0.1636, rel=0.01)


def test_a_coloured_lamp_meets_the_finishes_of_its_own_colour() -> None:
    """A red lamp in a room of red reflectance 0.6 is the white lamp in a grey room of 0.6. Source: linear RGB, channel by channel."""
    grey, red = scene_from_text(lit()), scene_from_text(lit())
    walls = {name: Finish(name, (0.6, 0.6, 0.6)) for name in grey.room.finish}
    reds = {name: Finish(name, (0.6, 0.1, 0.3)) for name in grey.room.finish}
    lamp = replace(grey.lamps[0], colour=(1.0, 1.0, 1.0))
    lights = (Light("on", lamps={lamp.name: 1.0}),)
    one = measure(replace(grey, room=replace(grey.room, finish=walls, objects=()), lamps=(lamp,), lights=lights), error=0.02)
    lamp = replace(lamp, colour=(1.0 / 0.2126, 0.0, 0.0))
    other = measure(replace(red, room=replace(red.room, finish=reds, objects=()), lamps=(lamp,), lights=lights), error=0.02)
    a, b = (state(found, "on")["ambient_lx"] for found in (one, other))
    assert b.value == pytest.approx(a.value, abs=4.0 * math.hypot(a.standard_error, b.standard_error) + 1e-3 * a.value)


def agree(one: Measurement, other: Measurement, scene: Scene) -> None:
    """All light states within 4 errors of the difference, on the same paths, and the bias bounds."""
    for place, light in enumerate(scene.lights, start=1):  # in replicates the dark comes first
        errors = {}
        for key in ("white_cd_m2", "black_cd_m2", "checkerboard_ratio"):
            a, b = state(one, light.name)[key], state(other, light.name)[key]
            errors[key] = float(jackknife_error(one.replicates[key][0, place] - other.replicates[key][0, place]))
            assert abs(a.value - b.value) <= 4.0 * errors[key] + a.bias_bound + b.bias_bound + 1e-12, (light.name, key, a, b)
        a, b = state(one, light.name)["ambient_lx"], state(other, light.name)["ambient_lx"]
        of_it = state(one, light.name)["black_cd_m2"].value - one.seats[0].black.value  # all of black that the dark has not
        assert abs(a.value - b.value) <= 4.0 * errors["black_cd_m2"] / of_it * a.value + a.bias_bound + b.bias_bound, (
            light.name,
            a,
            b,
        )


def test_a_kept_ledger_answers_repaints_fabrics_and_dimming_with_lamps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Expected: the same scene traced afresh, on the same paths: nothing is traced again for it.

    All paths are one round, so lamps are asked with the same random numbers as well. On the same paths a difference is known to 0.9 %
    of a lamp's light at most with 128 of them, as well as with 512 and others.
    """
    monkeypatch.setattr(measuring_module, "returned_light", partial(returned_light, first_paths=PATHS))
    scene = scene_from_text(lit())
    kept = Answers.of(scene, paths=PATHS, seed=7)
    silver = scene.change("screen.fabric", {"kind": "angular-reflective", "gain": 1.6, "half_gain_deg": 32, "albedo": 0.85})
    changed = silver.change(
        {"room.finish.ceiling": 0.2, "room.finish.back": 0.8, "light.film.lamps.cornice": 0.5}
    )  # paths go on as often
    for each in (scene, silver, changed):
        answers = kept.with_scene(each)
        assert answers.stage.kept is kept.stage.kept
        agree(answers.measurement(0.05)[0], measure(each, error=1e-9, most_paths=PATHS, seed=7), each)


def test_hot_spots_of_a_lamp_on_a_shiny_cloth_are_told() -> None:
    """A lamp behind the seat: an angular lobe shows it as a spot, a diffuse cloth does not. Source: the fabrics' own kinds."""
    lamp = (Lamp("l", (0.0, 4.5, 1.4), even(800.0), ""),)
    found = {}
    for name in ("diffuse", "angular"):
        scene = replace(room(fabric=FABRICS[name], **BLACK), lamps=lamp, lights=(Light("on", lamps={"l": 1.0}),))
        found[name] = state(measure(scene, error=0.05), "on")
    assert found["angular"]["ambient_hot_spot_ratio"].value > 1.2 * found["diffuse"]["ambient_hot_spot_ratio"].value
    assert found["angular"]["ambient_uniformity_ratio"].value < found["diffuse"]["ambient_uniformity_ratio"].value < 1.0
    assert found["diffuse"]["ambient_hot_spot_ratio"].value > 1.0


def test_advice_knows_which_state_is_the_brightest_by_its_light() -> None:
    """A window of 1,100 cd/m2 puts more light on the screen than 12 lx; states are asked for by name, the brightest last."""
    scene = scene_from_text(lit(('blinds_down = ["garden"]\n', "")))
    lux = _lux_of_states(measure(scene, error=0.05))
    assert max(lux, key=lux.__getitem__) == "day, blind down"
    assert lux["even"] == 12.0


def test_pieces_and_paths_find_the_same_first_reflection() -> None:
    """The stratified sum over pieces against the paths alone, each point within 4 of both errors. Source: two estimators of one integral."""
    arrays, points, prepared = lowered(scene_from_text(lit()))
    ledger = trace(
        arrays.geometry, prepared.starts, seed=9, replications=16, low_path=0, paths=256, survival=prepared.survival, threads=2
    )  # fmt: skip
    found = []
    for cells in (prepared.lamp_cells, ()):
        key = lamp_key(9, 0)
        lux = lamps_on_hits(arrays, ledger, cells, key, threads=2)
        once = once_reflected(arrays, prepared.starts, points.seats, cells, key, replications=16, threads=2)
        sums = lamp_sums(
            arrays, prepared.starts, points.seats, prepared.grid.pool, prepared.finishes, ledger, key, lux, once, threads=2
        )  # fmt: skip
        found.append(sums.reshape(16, 25, 2, -1, 16, 1)[:, :, 0, :, :4, 0].sum(axis=2) / 256)
    pieces, paths = found
    error = np.hypot(*(each.std(axis=0, ddof=1) / 4.0 for each in found))
    difference = np.abs(pieces.mean(axis=0) - paths.mean(axis=0))
    assert (difference <= 4.0 * error + 1e-3 * paths.mean(axis=0)).all()
    assert pieces[:, :, 2].std(axis=0).mean() < 0.5 * paths[:, :, 2].std(axis=0).mean()  # the strip: what the pieces are for
