"""Bands and indices against closed forms and against sampling, odds of fabrics against an integral and against the advice itself."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import partial

import halfgain as hg
import numpy as np
import pytest
from halfgain.scenes.change import document_of
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.load import scene_from_document
from halfgain.scenes.model import Scene
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.choices import advice as advice_module
from halfgain.simulate.choices.advice import advise
from halfgain.simulate.choices.advice import candidates as candidates_of
from halfgain.simulate.choices.aims import FabricEvidence, aims_of
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


def one_seat(name: str, seat: str) -> Scene:
    """A scene of the library with one of its seats alone."""
    document = document_of(hg.load_scene(name))
    kept = [each for each in document.table["seat"] if each["name"] == seat]
    return scene_from_document(replace(document, table={**document.table, "seat": kept}))


@pytest.mark.long
def test_bands_and_indices_are_those_of_sampling() -> None:
    """What 128 variants read from light follows the lines that bands stand on, and bands are what sampling makes of these lines.

    Variant by variant a figure stays within 2.5 % of its line, so any quantile does: 512 variants alone told one to 3.3 to 5.8 %
    (4 errors and 1 % for two traces). Indices of figures and lines on the same variants differ by less than 0.06 (alone: 0.1 to 0.14).
    """
    room = one_seat("long-lounge", "front left").with_fabric("pearl")
    found = derivatives(Answers.of(room, paths=64).precise(0.02).answers, uncertain_of(room, limits_given(["room=0"])))
    assert len(found.uncertain) == len(FACTORS)
    bands = {(each.figure.key, each.figure.state): each for each in bands_of(found)}
    result = run(table(*FACTORS, scene=room, error=0.02, outputs=list(KEYS), design={"samples": 128, "method": "sobol"}))
    assert not result.failed
    columns = [list(column) for column in zip(*result.shown(), strict=True)]
    assert len(columns) == len(FACTORS)
    drawn = [np.array(column, float) for column in columns]
    moved = [np.log(x / e.value) if e.ratio else x - e.value for x, e in zip(drawn, found.uncertain, strict=True)]
    rng = np.random.default_rng(3)
    many = np.stack([each.deviation(rng.random(SAMPLES)) for each in found.uncertain], axis=1)
    read = {(figure.key, figure.state): log for (_, figure), log in found.logs.items()}
    lines = {(figure.key, figure.state): partial(found.changes, (0, figure)) for _, figure in found.slopes}
    for key in KEYS:
        for state in ("dark", "lamps on") if key in ("white_cd_m2", "checkerboard_ratio") else ("dark",):
            stack, line, band = result.figure(OutputRow("front left", state, key)), lines[key, state], bands[key, state]
            on_line = line(np.stack(moved, axis=1)).sum(axis=0) + read[key, state]  # (variants, R + 2)
            assert np.abs(np.log(stack[:, 0]) - on_line[:, 0]).max() < 0.025, (key, state)
            of_light, of_lines = (
                {each.factor: each.share.value for each in main_effects(result.factors, columns, [True] * len(FACTORS), each)}
                for each in (stack, np.exp(on_line))
            )
            sampled = line(many).sum(axis=0)
            for end, share in ((band.low, 0.05), (band.high, 0.95)):
                ratio = np.exp(sampled[:, 0])
                between = np.quantile(ratio, [share - 0.02, share + 0.02])
                error = np.sqrt(share * (1.0 - share) / SAMPLES) * (between[1] - between[0]) / 0.04  # of a quantile (textbook)
                assert abs(end.value - np.quantile(ratio, share)) < 4.0 * error, (key, state)
            effects = {
                each.factor: each.share for each in main_effects(result.factors, list(many.T), [True] * len(FACTORS), sampled)
            }
            for factor, share in zip(result.factors, band.shares, strict=True):  # in the same order
                if share.value > 0.05:
                    assert abs(of_light[factor] - of_lines[factor]) < 0.06, (key, state, factor)
                    effect = effects[factor]
                    assert abs(effect.value - share.value) < 4.0 * effect.standard_error, (key, state, factor)


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


class Chosen(Exception):
    """The fabric that the advice has chosen, told before hangs are judged and paints looked for, of which no choice is made."""


@pytest.mark.long
def test_the_best_fabric_of_the_odds_is_the_advised_one(monkeypatch: pytest.MonkeyPatch) -> None:
    def chosen(_: object, fabrics: list[FabricEvidence], *__: object) -> None:
        raise Chosen(*(each.name for each in fabrics))

    monkeypatch.setattr(advice_module, "hang_advice", chosen)
    names = ["matt white", "matt white 1.1", "pearl", "grey 0.8"]
    for scene in ("long-lounge", "dark-room"):
        odds = fabric_odds(hg.load_scene(scene), names=names)
        with pytest.raises(Chosen) as advised:
            advise(read_document(scene), Wishes(), fabrics=names, error=0.02, all_folds=False)
        assert advised.value.args == (odds.best,)
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
