"""Bands and indices against closed forms and against sampling, odds of fabrics against an integral and against the advice itself."""

from __future__ import annotations

import json
from functools import partial

import halfgain as hg
import numpy as np
import pytest
from halfgain.scenes.errors import SceneErrors
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.choices.advice import advise
from halfgain.simulate.choices.advice import candidates as candidates_of
from halfgain.simulate.choices.aims import aims_of
from halfgain.simulate.choices.variants import read_document
from halfgain.simulate.choices.wishes import Wishes
from halfgain.simulate.command.app import run as command
from halfgain.simulate.measuring.estimate import REPLICATIONS
from halfgain.simulate.studies.effects import main_effects
from halfgain.simulate.studies.outputs import OutputRow
from halfgain.simulate.studies.tolerances import odds as odds_module
from halfgain.simulate.studies.tolerances.bands import SAMPLES, bands_of, deviations
from halfgain.simulate.studies.tolerances.derivatives import derivatives
from halfgain.simulate.studies.tolerances.odds import _Candidates, _odds, fabric_odds
from halfgain.simulate.studies.tolerances.uncertain import DEFAULTS, Group, Uncertain, limits_given, uncertain_of
from scipy import integrate

from .studies import run, table


def uniform_product(share: float, a: tuple[float, float], b: tuple[float, float]) -> float:
    """Quantile of the product of two even factors, by bisection of an integral (scipy), apart from the program's own way."""

    def below(z: float) -> float:
        inner = lambda x: np.clip((z / x - b[0]) / (b[1] - b[0]), 0.0, 1.0)  # noqa: E731
        return float(
            integrate.quad(inner, *a, points=[z / b[1], z / b[0]] if a[0] < z / b[1] < a[1] else None, limit=200)[0]
            / (a[1] - a[0])
        )

    low, high = a[0] * b[0], a[1] * b[1]
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if below(middle) < share else (low, middle)
    return low


def test_white_in_a_black_room_is_the_product_of_lumens_and_gain() -> None:
    """No light comes back: white = lumens x gain x constant, so band and indices follow from two even factors (derived)."""
    scene = hg.load_scene("black-box").with_fabric({"gain": 0.8, "kind": "diffuse"})
    found = derivatives(Answers.of(scene, paths=8), uncertain_of(scene))
    band = next(each for each in bands_of(found) if each.figure.key == "white_cd_m2" and each.figure.state == "dark")
    ends = [uniform_product(share, (0.7, 1.0), (0.9, 1.1)) for share in (0.05, 0.95)]
    assert (band.low.value, band.high.value) == pytest.approx(ends, rel=2e-3)
    lumens, gain = (np.log(np.linspace(a, b, 200_001)).var() for a, b in ((0.7, 1.0), (0.9, 1.1)))
    shares = {each.name: share.value for each, share in zip(found.uncertain, band.shares, strict=True)}
    assert shares["light output"] == pytest.approx(lumens / (lumens + gain), abs=1e-4)
    assert shares["gain"] == pytest.approx(gain / (lumens + gain), abs=1e-4)
    assert sum(shares.values()) == pytest.approx(1.0, rel=1e-12)


def test_variances_are_those_of_the_deviations() -> None:
    things = uncertain_of(hg.load_scene("long-lounge"))
    drawn = deviations(things, SAMPLES)
    for column, each in zip(drawn.T, things, strict=True):
        assert column.var() == pytest.approx(each.variance, rel=5e-3), each.name


FACTORS = [
    *(
        {"key": f"room.finish.{surface}", "plus_minus": 0.05}
        for surface in ("front", "back", "left", "right", "ceiling", "floor")
    ),
    *({"key": f'room.object."{name}".finish', "plus_minus": 0.05} for name in ("sofa", "riser", "rear sofa")),
    {"key": "screen.border_finish", "plus_minus": 0.05},
    {"key": "screen.fabric.gain", "plus_minus": "10 %"},
    {"key": "projector.light_output_lm", "minus": "30 %"},
    {"key": "projector.native_contrast", "plus_minus": "10 %"},
    {"key": "projector.checkerboard_contrast", "plus_minus": "10 %"},
]
KEYS = ("white_cd_m2", "black_cd_m2", "checkerboard_ratio", "washout_cd_m2")


@pytest.mark.long
@pytest.mark.parametrize("scene", ["long-lounge"])
def test_bands_and_indices_are_those_of_sampling(scene: str) -> None:
    """A study draws the same tolerances 512 times and reads each from light; ends of bands within 4 errors of such a sample's quantiles."""
    room = hg.load_scene(scene).with_fabric("pearl")
    limits = limits_given(["room=0"])
    found = derivatives(Answers.of(room, paths=64).precise(0.02).answers, uncertain_of(room, limits))
    bands = {(each.seat, each.figure.key, each.figure.state): each for each in bands_of(found)}
    result = run(table(*FACTORS, scene=room, error=0.02, outputs=list(KEYS), design={"samples": 512, "method": "sobol"}))
    assert not result.failed
    assert len(found.uncertain) == len(FACTORS)
    shown = result.shown()
    columns = [[row[i] for row in shown] for i in range(len(FACTORS))]
    for key in KEYS:
        for state in ("dark", "lamps on") if key in ("white_cd_m2", "checkerboard_ratio") else ("dark",):
            stack = result.figure(OutputRow("front left", state, key))
            here = np.exp(
                next(
                    log[0]
                    for (seat, figure), log in found.logs.items()
                    if seat == 0 and (figure.key, figure.state) == (key, state)
                )
            )
            ratio = stack[:, 0] / here
            band = bands["front left", key, state]
            for end, share in ((band.low, 0.05), (band.high, 0.95)):
                between = np.quantile(ratio, [share - 0.02, share + 0.02])
                error = np.sqrt(share * (1.0 - share) / len(ratio)) * (between[1] - between[0]) / 0.04  # of a quantile (textbook)
                assert abs(end.value - np.quantile(ratio, share)) < 4.0 * error + 0.01, (
                    key,
                    state,
                )  # 1 %: two traces of other paths
            sampled = {each.factor: each.share for each in main_effects(result.factors, columns, [True] * len(FACTORS), stack)}
            for factor, share in zip(result.factors, band.shares, strict=True):  # in the same order
                if share.value > 0.05:
                    assert abs(sampled[factor].value - share.value) < 4.0 * sampled[factor].standard_error, (key, state, factor)


def candidates(leads: list[float], gains: float) -> _Candidates:
    """Fabrics that are alike in all three aims but for a factor, and whose gain alone is uncertain."""
    count = len(leads)
    logs = np.log(np.array([[[200.0 * lead] * (REPLICATIONS + 2)] * 3 for lead in leads]))
    own = Uncertain("gain", Group.GAIN, "screen.fabric.gain", True, 1.0, -gains, gains)
    nodes = np.log1p([-max(gains, 1e-9), max(gains, 1e-9)])
    curve = nodes, np.broadcast_to(nodes[None, :, None], (3, 2, REPLICATIONS + 2))
    none = np.zeros((count, 0, 3, REPLICATIONS + 2))
    return _Candidates(
        tuple(f"fabric {i}" for i in range(count)), (), (own,) * count, logs, none, (curve,) * count, np.zeros(count)
    )


def test_odds_of_two_fabrics_are_those_of_an_integral() -> None:
    """One is 4 % ahead, each gain is even within 10 %: it stays ahead with the chance that x > y / 1.04 (integrated with scipy)."""
    found = candidates([1.04, 1.0], 0.1)
    odds = _odds(found, deviations(found.gains, SAMPLES), aims_of([]), Wishes())
    chance = integrate.quad(lambda x: np.clip((1.04 * x - 0.9) / 0.2, 0.0, 1.0), 0.9, 1.1, points=[1.1 / 1.04])[0] / 0.2
    assert odds.best == "fabric 0"
    assert abs(odds.stays.value - chance) < 4.0 * odds.stays.standard_error
    assert odds.stays.value + odds.others[0][1] == pytest.approx(1.0, abs=1e-12)
    assert odds.alone[Group.GAIN] == odds.stays.value


def test_what_is_known_exactly_leaves_the_best_the_best() -> None:
    found = candidates([1.04, 1.0, 1.0], 0.0)
    odds = _odds(found, np.zeros((64, 3)), aims_of([]), Wishes())
    assert odds.stays.value == 1.0
    assert odds.others == ()


@pytest.mark.long
def test_the_best_fabric_of_the_odds_is_the_advised_one() -> None:
    names = ["matt white", "matt white 1.1", "pearl", "grey 0.8"]
    for scene in ("long-lounge", "dark-room"):
        odds = fabric_odds(hg.load_scene(scene), names=names)
        assert odds.best == advise(read_document(scene), Wishes(), fabrics=names, error=0.02, all_folds=False).balanced
        assert 0.0 < odds.stays.value <= 1.0
        assert odds.stays.value + sum(share for _, share in odds.others) == pytest.approx(1.0, abs=1e-9)


def test_what_cannot_be_moved_is_left_out_with_its_reason() -> None:
    curve = hg.fit(view_deg=[0, 15, 30, 45, 60], gain=[1.6, 1.42, 0.98, 0.55, 0.33]).to_fabric("mine")
    scene = hg.load_scene("black-box").with_fabric(curve)
    found = derivatives(
        Answers.of(scene, paths=8), [each for each in uncertain_of(scene) if each.group in (Group.GAIN, Group.LUMENS)]
    )
    kept = [each.name for each in found.uncertain]
    assert "light output" in kept
    assert [name for name, _ in found.left_out] in ([], ["gain"])


def test_tolerances_are_read_as_they_are_written() -> None:
    found = limits_given(["paint=0.03", "lumens=-20 %..5 %", "room=2 cm", "gain=0"])
    assert (found[Group.PAINT].low.value, found[Group.PAINT].high.value) == (-0.03, 0.03)
    assert (found[Group.LUMENS].low.of(1800.0, None), found[Group.LUMENS].high.of(1800.0, None)) == pytest.approx((-360.0, 90.0))
    assert found[Group.ROOM].high.of(4.0, 1.0) == pytest.approx(0.02)
    assert found[Group.CONTRAST] == DEFAULTS[Group.CONTRAST]
    assert "gain" not in [each.name for each in uncertain_of(hg.load_scene("long-lounge"), found)]


@pytest.mark.parametrize(
    "text, told",
    [
        ("pant=0.1", 'did you mean "paint"?'),
        ("paint=5 %", "is no difference of reflectance"),
        ("lumens=3 cm", "is a length"),
        ("gain", "is no amount"),
        ("gain=-5 %", "is negative"),
        ("lumens=5 %..-5 %", "ends before it begins"),
        ("room=1 parsec", 'has a unit that is none, "parsec"'),
    ],
)
def test_a_tolerance_that_is_none_is_refused(text: str, told: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SceneErrors, match=told.replace("?", r"\?")):
        limits_given([text])
    assert command(["measure", "black-box", "--tolerance", text]) == 2
    assert told in capsys.readouterr().err


@pytest.mark.long
def test_measure_tells_how_sure_it_is(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    assert command(["measure", "black-box", "--error", "0.1", "--json", "--tolerance", "room=0"]) == 0
    found = json.loads(capsys.readouterr().out)["tolerances"]
    assert found["limits"]["lumens"] == {"low": {"value": -30.0, "unit": "%"}, "high": {"value": 0.0, "unit": "%"}}
    assert found["fabric"]["best"]
    band = found["bands"][0]
    assert band["low_ratio"]["value"] < 1.0 < band["high_ratio"]["value"] + 0.05
    assert len(band["first_order_indices"]) == len(found["uncertain"])
    some = partial(candidates_of, names=("matt white", "pearl"))  # the whole library has been looked at above
    monkeypatch.setattr(odds_module, "candidates", lambda document, _, wishes: some(document, wishes=wishes))
    assert command(["measure", "black-box", "--error", "0.1", "--tolerances"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "How sure: paint ± 0.05, gain ± 10 %, lumens -30 to 0 %" in out
    assert "Measure first: light output" in out
