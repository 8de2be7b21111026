"""Parameters: their slopes through the whole chain, what is held of them, and what they mean in the scene's own units."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.model import Scene
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.commissioning.belief import Belief, Opened
from halfgain.simulate.commissioning.parameter import ParameterKind
from halfgain.simulate.commissioning.parameters import OTHER_PAINT, PAINT_SHARED, parameters_of, prior_covariance
from halfgain.simulate.commissioning.predictor import Predictor
from scipy import stats

from tests.commissioning.site import illuminances, luminances, readings, site_room

SCENES = {
    "all stated": site_room(),
    "little stated": site_room(projector=""),
    "a lens without stray light": site_room(projector="checkerboard_contrast = 2000"),
}


def _belief(scene: Scene) -> Belief:
    predictor = Predictor(Answers.of(scene, seed=3, paths=8), [*luminances(), *illuminances()], pooling=False)
    site = readings(predictor)
    return Belief(predictor, parameters_of(predictor, site), np.array([each.value for each in site.readings]), OTHER_PAINT)


@pytest.mark.parametrize("name", SCENES)
def test_slopes_by_every_parameter_are_finite_differences(name: str) -> None:
    # Expected: central difference, definition, away from the mean where nothing is nought
    belief = _belief(SCENES[name])
    t = belief.mean + 0.3 * np.array([each.deviation for each in belief.parameters])
    linear = belief.linear(t, Opened())
    for i, parameter in enumerate(belief.parameters):
        step = 1e-3 * np.eye(len(t))[i]
        high, low = (belief.predictor.predict(belief.knobs(t + sign * step))[0] for sign in (1.0, -1.0))
        expected = (high - low) / 2e-3
        np.testing.assert_allclose(
            linear.jacobian[:, i], expected, rtol=0, atol=1e-5 * np.abs(expected).max(), err_msg=parameter.key
        )


def test_at_what_is_stated_every_value_is_the_scene_s() -> None:
    scene = SCENES["all stated"]
    found = {each.key: each for each in _belief(scene).parameters}
    expected = {
        "lumens": 1000.0,
        "gain": 1.6,
        "reflectance.ceiling": 0.25,
        "reflectance.left": 0.5,
        "corner_to_centre": 0.85,
        "native_contrast": 2000.0,
        "lens_contrast": 300.0,
        "ambient.lamps on": 5.0,
        "ambient.dark": 0.0,
        "meter.luminance": 1.0,
    }
    for key, value in expected.items():
        assert found[key].value(found[key].mean) == pytest.approx(value, rel=1e-12, abs=1e-12), key
        assert found[key].stated == pytest.approx(value, rel=1e-12, abs=1e-12), key


def test_another_native_contrast_leaves_the_lens_s_own_as_it_is() -> None:
    # Expected: 1 / checkerboard contrast = black + veil, as the scene file has it
    belief = _belief(SCENES["all stated"])
    native = next(each for each in belief.parameters if each.kind is ParameterKind.NATIVE)
    knobs = native.put(belief.predictor.stated, float(np.log(900.0)))
    assert knobs.black == pytest.approx(1 / 900)
    assert knobs.black + knobs.veil == pytest.approx(1 / 300)


def test_surfaces_of_one_finish_share_part_of_their_doubt() -> None:
    belief = _belief(SCENES["all stated"])
    keys = [each.key for each in belief.parameters]
    covariance = prior_covariance(belief.parameters)
    left, right, ceiling = (keys.index(f"reflectance.{name}") for name in ("left", "right", "ceiling"))
    assert covariance[left, right] == pytest.approx(PAINT_SHARED * covariance[left, left])
    assert covariance[left, ceiling] == 0.0
    assert np.linalg.eigvalsh(covariance).min() > 0.0


def test_what_the_scene_leaves_out_is_held_to_be_usual_and_said_so() -> None:
    found = {each.key: each for each in _belief(site_room(projector="")).parameters}
    assert found["corner_to_centre"].stated is None
    assert "left out" in found["corner_to_centre"].source
    assert "left out" in found["lens_contrast"].source
    assert found["lens_contrast"].stated is None
    assert all("no source" in each.source or each.kind is ParameterKind.METER for each in found.values())


def test_a_reflectance_stays_between_none_and_all() -> None:
    # Expected: the prior of a logit, 95 % of a normal; no paint gives back more than all
    parameter = next(each for each in _belief(SCENES["all stated"]).parameters if each.key == "reflectance.left")
    ends = [parameter.value(parameter.mean + sign * stats.norm.ppf(0.975) * parameter.deviation) for sign in (-1, 1)]
    assert ends == pytest.approx([0.313, 0.687], abs=1e-3)
    assert 0.0 < parameter.value(-30.0) < 1e-6
    assert 1.0 - 1e-6 < parameter.value(30.0) <= 1.0
