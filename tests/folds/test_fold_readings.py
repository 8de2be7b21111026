"""Readings, outputs and limits of folds for whole scenes."""

from __future__ import annotations

import csv
import io
import itertools
import math
import time
from types import SimpleNamespace

import numpy as np
import pytest
from halfgain.scenes.cloth.surface import LEVELS, cloth_of
from halfgain.simulate.eye.barten import contrast_sensitivity
from halfgain.simulate.folds.flatness import flatness, single_readings, wave_readings
from halfgain.simulate.folds.maps import picture_grid, seat_maps
from halfgain.simulate.folds.multiples import THROWS, lens_for, multiples
from halfgain.simulate.folds.readings import fold_readings, map_reading, pixel_pitch_m, reading_grid, ready_folds
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.output.folds.document import folds_files
from halfgain.simulate.output.measure.document import document
from halfgain.simulate.output.measure.pictures import pictures
from halfgain.simulate.output.measure.seats_csv import seats_csv, seats_wide_csv
from halfgain.simulate.output.measure.table import report
from rich.console import Console

from tests.coarse import make_folds_coarse
from tests.outside import matched_filter
from tests.rooms import room

WHITE = '[screen.fabric]\nkind = "diffuse"\ngain = 0.9'
SEATS = '[[seat]]\nname = "middle"\neye_m = [0.0, 3.6, 1.375]\n[[seat]]\nname = "side"\neye_m = [-1.4, 3.0, 1.2]'
ON_AXIS = {"gap": 0.1, "lens": "[0.0, 3.6, 1.375]", "projector": "pixels = [1920, 1080]", "seats": SEATS}


def scene(*tables: str, hang: str = "fixed frame", **changes: object):
    """The test room with folds, its lens 3.5 m before the middle of the picture."""
    text = "\n".join([f'hang = "{hang}"', WHITE, *(f"[[screen.fold]]\n{table}" for table in tables)])
    return room(**{**ON_AXIS, "fabric": text, **changes})


WAVE = 'kind = "wave"\namplitude_mm = 2\nwavelength_mm = 300'


def test_a_normal_throw_is_over_threshold_at_its_sides():
    """The first-order law of folds, computed apart: modulation 0.0418879 x / 3.5 at x from the foot of the perpendicular, threshold 1 / S.

    The outermost extremes of slope lie at 0.975 and 1.125 m, half peak-to-peak is that at 1.05 m; field: from 0.6 m outwards.
    """
    found = fold_readings(scene(WAVE), [48.0, 48.0])
    middle = found.seats[0].levels["typical"]
    assert middle.visible.modulation == pytest.approx(0.0418879 * 1.05 / 3.5, rel=0.08)
    assert abs(middle.visible.place_m[0]) > 0.5
    assert middle.visible.cycles_per_deg == pytest.approx(1 / (0.3 * math.degrees(1 / 3.5)), rel=0.1)
    s = contrast_sensitivity(
        middle.visible.cycles_per_deg,
        luminance_cd_m2=48.0,
        width_deg=middle.visible.field_deg[0],
        height_deg=middle.visible.field_deg[1],
    )
    assert middle.visible.ratio == pytest.approx(float(s) * middle.visible.modulation, rel=0.02)
    assert middle.visible.field_deg[0] == pytest.approx(0.6 * math.degrees(1 / 3.5), rel=0.4)


UST = {"lens": "[0.0, 0.4, 0.4]"}


def curl_expected(lift, band, away, field, luminance):
    """Edge curl in one axis, seen from 3.5 m, gone on by reflection, half of its energy counted.

    Luminance (the first-order law of folds, lobes on tilted cloth, derived): (1 + slope x / d) / sqrt(1 + slope^2) + 2 h / d - 1.
    """
    deg = math.degrees(1 / 3.5)

    def profile(t):
        inward = np.abs(t) / deg
        rest = np.maximum(band - inward, 0.0) / band
        slope = 2 * lift * rest / band
        return (1 + slope * (1.2 - inward) / away) / np.sqrt(1 + slope**2) - 1 + 2 * lift * rest**2 / away

    return matched_filter.straight_feature(profile, field[1], luminance, field, span_deg=8.0) / math.sqrt(2)


@pytest.mark.parametrize(("lift_mm", "set_up", "away"), [(1.0, UST, 0.3), (0.3, UST, 0.3), (3.0, {}, 3.5)])
def test_the_curl_of_an_edge_is_seen(lift_mm, set_up, away):
    """The last centimetres of the picture count: by quadrature 11, 3.4 and 2.7 times the threshold at 100 cd/m2."""
    made = scene(f'kind = "edge curl"\namplitude_mm = {lift_mm}\nwidth_mm = 30', **set_up)
    seen = fold_readings(made, [100.0, 100.0]).seats[0].levels["typical"].visible
    deg = math.degrees(1 / 3.5)
    expected = curl_expected(1e-3 * lift_mm, 0.03, away, (2.4 * deg, 1.35 * deg), 100.0)
    assert seen.ratio == pytest.approx(expected, rel=0.15)
    assert seen.at_edge
    assert abs(seen.place_m[0]) > 1.0


def test_a_crease_that_moves_outwards_is_never_seen_less():
    """Its swing grows with the distance from the foot of the lens's perpendicular (the first-order law of folds)."""
    swings, ratios = [], []
    for x in (0.5, 0.7, 0.8, 0.9, 1.0, 1.05, 1.1):
        made = scene(f'kind = "crease"\namplitude_mm = 0.5\nwidth_mm = 60\noffset_m = {x}')
        seats = fold_readings(made, [100.0, 100.0]).seats
        swings.append(seats[0].levels["typical"].visible.peak_to_peak)
        ratios.append([seat.levels["typical"].visible.ratio for seat in seats])
    assert swings == sorted(swings)
    assert all(b > a for a, b in itertools.pairwise(row[0] for row in ratios))
    # from the side seat the far edge takes up less angle, and still the crease there is seen more
    assert all(b > 0.99 * a for a, b in itertools.pairwise(row[1] for row in ratios))


@pytest.mark.parametrize("fold", ['kind = "crease"\nwidth_mm = 60\noffset_m = 1.0', 'kind = "wave"\nwavelength_mm = 200'])
def test_small_folds_of_twice_the_height_are_twice_as_visible(fold):
    ratios = [
        fold_readings(scene(f"{fold}\namplitude_mm = {mm}"), [48.0, 48.0]).seats[1].levels["typical"].visible.ratio
        for mm in (0.1, 0.2)
    ]
    assert ratios[1] == pytest.approx(2 * ratios[0], rel=0.03)


def test_a_flat_cloth_is_not_looked_at(monkeypatch):
    monkeypatch.setattr("halfgain.simulate.folds.readings.seat_maps", None)
    assert fold_readings(scene(), [48.0, 48.0]).flat


def test_the_clock_of_measure_stops_after_the_folds(monkeypatch):
    """elapsed_s holds the readings of folds: an hour of them, on a clock put forward, is an hour more."""
    from halfgain.simulate.measuring import measure as module

    real, ahead = module.fold_readings, [0.0]

    def slow(*args, **keys):
        ahead[0] = 3600.0
        return real(*args, **keys)

    monkeypatch.setattr(module, "fold_readings", slow)
    monkeypatch.setattr(module, "time", SimpleNamespace(perf_counter=lambda: time.perf_counter() + ahead[0]))
    assert measure(scene(), error=0.2, most_paths=64).elapsed_s > 3600.0


@pytest.mark.parametrize("hang", ["motorised", "fixed frame"])
def test_what_hangs_on_no_light_may_be_made_ahead(hang):
    """The same bits, whatever the threads; of a flat cloth nothing is made, of stated folds one map a seat for all levels."""
    made, white = scene(hang=hang), [48.0, 3.0]
    expected = fold_readings(made, white)
    for threads in (1, 3):
        ahead = ready_folds(made, threads=threads)
        assert fold_readings(made, white, threads=threads, ready=lambda ahead=ahead: ahead) == expected
    assert len(ahead.maps) == (0 if expected.flat else 3)
    assert [len(each) for each in ready_folds(scene(WAVE)).maps] == [2]


def test_measure_reads_folds_of_its_own_light():
    made = scene(WAVE)
    found = measure(made, error=0.2, most_paths=64, threads=2)
    assert found.folds == fold_readings(made, [seat.white["mean"].value for seat in found.seats])


def test_stated_folds_are_the_same_at_all_levels():
    found = fold_readings(scene(WAVE), [48.0, 48.0])
    assert found.stated
    for seat in found.seats:
        assert seat.levels["low"] == seat.levels["high"] == seat.levels["typical"]
        assert seat.swing is None


def test_an_eye_at_the_lens_sees_no_warp():
    """The first-order law of folds: the shift is nought for an eye at the lens; the first seat's eye is there, the second one's is not."""
    first, second = fold_readings(scene(WAVE), [48.0, 48.0]).seats
    assert first.levels["typical"].warp.peak_to_peak_arcmin < 1e-6
    assert first.levels["typical"].geometry.word == "not visible"
    assert second.levels["typical"].warp.peak_to_peak_arcmin > 0.5


def test_warp_in_pixels_is_the_shift_on_the_screen():
    """First-order law of folds: h [(p0 - p) / d - (e0 - p) / d_e], here against 2.4 m / 1920 a pixel, largest over the picture."""
    got = fold_readings(scene(WAVE), [48.0, 48.0]).seats[1].levels["typical"].warp
    x = np.linspace(-1.2, 1.2, 2401)
    h = 0.002 * np.cos(2 * np.pi * x / 0.3)
    moved = h * ((0.0 - x) / 3.5 - (-1.4 - x) / 2.9)
    moved -= np.polyval(np.polyfit(x, moved, 2), x)
    assert got.peak_to_peak_px == pytest.approx(np.ptp(moved) / (2.4 / 1920), rel=0.35)  # degrees a pixel vary over the picture


def test_the_reading_grid_is_fine_enough():
    for table in (WAVE, 'kind = "wave"\namplitude_mm = 0.3\nwavelength_mm = 60\ncrests = 30'):
        made = scene(table)
        cloth = cloth_of(made.screen)
        fine, used = picture_grid(made), reading_grid(made, cloth)
        pitch = pixel_pitch_m(made)
        a = map_reading(seat_maps(made, cloth, fine)[1], fine, 48.0, pitch)
        b = map_reading(seat_maps(made, cloth, used)[1], used, 48.0, pitch)
        assert b.visible.ratio == pytest.approx(a.visible.ratio, rel=0.03)
        assert b.warp.peak_to_peak_arcmin == pytest.approx(a.warp.peak_to_peak_arcmin, rel=0.03)


def test_hangs_and_verdicts():
    """Roll-up hangs are judged at three levels and swing, the tensioned one folds least; a fixed frame is taken as flat."""
    loose = fold_readings(scene(hang="motorised"), [48.0, 48.0])
    ratios = [loose.seats[1].levels[level].visible.ratio for level in LEVELS]
    assert ratios == sorted(ratios)
    assert not loose.stated
    tensioned = fold_readings(scene(hang="tab-tensioned"), [48.0, 48.0])
    tight = [tensioned.seats[1].levels[level].visible.ratio for level in LEVELS]
    assert tight == sorted(tight)
    assert tight[2] < ratios[2]
    assert tensioned.seats[1].swing is not None
    frame = fold_readings(scene(), [48.0, 48.0])
    assert frame.flat
    assert frame.seats[0].swing is None
    assert frame.effects == ()


def test_a_swing_moves_the_picture_as_geometry_says():
    """Bar 5 mm out over a drop of 0.1 + 1.35 m: shift at the lower corner by the first-order law of folds, eye at the side."""
    swing = fold_readings(scene(hang="tab-tensioned"), [48.0, 48.0]).seats[1].swing
    right, up = 1.2 * 31 / 32, -0.675 * 17 / 18  # the corner of the grid that is looked at
    out = 0.005 * (0.775 - up) / 1.45
    p = np.array([right, up])
    lens, eye = np.array([0.0, 0.0]), np.array([-1.4, 1.2 - 1.375])
    far = max(
        float(np.linalg.norm(out_ * ((lens - q) / 3.5 - (eye - q) / 2.9)) / np.linalg.norm([*(q - eye), 2.9]))
        for out_, q in ((out, p), (out, p * [-1, 1]))
    )
    assert swing.shift_arcmin == pytest.approx(math.degrees(far) * 60, rel=0.5)
    assert swing.shift_px == pytest.approx(swing.shift_arcmin / 60 / math.degrees(2.4 / 1920 / 3.2), rel=0.5)


def test_the_amplitude_of_flatness_is_at_the_threshold():
    made = scene()
    found = flatness(made, [48.0, 48.0], wavelengths_m=(0.15, 0.3, 2.0))
    assert {(p.crests, p.wavelength_m) for p in found.points} == {
        (name, wave) for name in ("vertical", "diagonal", "horizontal") for wave in (0.15, 0.3)
    }
    assert len(found.left_out) == 3
    for point in found.points:
        angle = {"vertical": 0.0, "diagonal": 45.0, "horizontal": 90.0}[point.crests]
        again = wave_readings(made, [48.0, 48.0], angle_deg=angle, wave_m=point.wavelength_m, amplitude_m=point.amplitude_m)
        assert max(r.visible.ratio for r in again) == pytest.approx(1.0, abs=0.04)
    long, short = (
        next(p.amplitude_m for p in found.points if p.crests == "vertical" and p.wavelength_m == w) for w in (0.3, 0.15)
    )
    assert long > 2 * short  # slopes count, and the eye is keener for the shorter wave


@pytest.mark.parametrize("lens", ["[0.0, 3.6, 1.375]", "[0.0, 0.4, 0.4]"])
def test_the_height_of_a_single_fold_is_at_the_threshold(lens):
    """What `flatness` answers, put back as a fold, reads 1."""
    made = scene(lens=lens)
    for single in flatness(made, [100.0, 100.0], wavelengths_m=()).singles:
        again = single_readings(made, [100.0, 100.0], single.name, single.height_m)
        assert max(r.visible.ratio for r in again) == pytest.approx(1.0, abs=0.04)
        seen = max((r.visible for r in again), key=lambda visible: visible.ratio)
        assert seen.channel == "single feature"


def test_other_set_ups(monkeypatch):
    """Retro lobes do not move with the cloth : they fold as diffuse does; steep light makes all worse."""
    make_folds_coarse(monkeypatch.setattr)  # ratios of like maps
    made = scene()
    found = multiples(made, [48.0, 48.0])
    assert len(found) == 18

    def ratio(throw, fabric, direction="horizontal"):
        return next(m.ratio for m in found if (m.throw, m.fabric, m.direction) == (throw, fabric, direction))[1].max()

    assert ratio("normal throw", "retro-reflective") == pytest.approx(ratio("normal throw", "diffuse"), rel=0.05)
    assert ratio("normal throw", "angular-reflective") > 3 * ratio("normal throw", "diffuse")
    assert ratio("ultra-short throw", "diffuse") > 5 * ratio("normal throw", "diffuse")
    assert lens_for(made, THROWS["ultra-short throw"])[2] < made.screen.bottom_m


@pytest.fixture(scope="module")
def folded():
    return measure(scene(WAVE, lens="[0.0, 0.4, 0.4]"), error=0.1)


@pytest.fixture(scope="module")
def flat():
    return measure(scene(), error=0.1)


def test_the_json_of_folds(folded, flat):
    """Format: modulation, threshold_ratio, place, warp_arcmin, warp_px, two verdicts, for low, typical, high."""
    for seat in document(folded)["seats"]:
        assert set(seat["folds"]) == set(LEVELS)
        typical = seat["folds"]["typical"]
        keys = ("modulation", "threshold_ratio", "place", "warp_arcmin", "warp_px", "verdict_luminance", "verdict_geometry")
        assert all(typical[key] is not None for key in keys)
        assert typical["verdict_luminance"] == "visible"
        assert "times the threshold" in typical["margin_luminance"]
    for seat in document(flat)["seats"]:
        assert seat["folds"]["high"]["threshold_ratio"] == 0.0
        assert seat["folds"]["high"]["verdict_geometry"] == "not judged"


def test_the_arrays_of_folds(folded, flat):
    """Format: right_m (n), up_m (m), luminance_ratio (m, n), shift_arcmin (m, n, 2), top row first; the first-order law of folds in them.

    Lens 0.30 m out and 0.775 m below the middle of the picture, vertical folds: the modulation of a row is 0.154 about 1.1 m
    from the column above the lens (with the inverse square, see test_fold_law.py) and that of the inverse square above it.
    """
    files = folds_files(folded.scene, folded.folds)
    assert sorted(files) == ["folds-middle.npz", "folds-side.npz"]
    with np.load(io.BytesIO(files["folds-side.npz"])) as arrays:
        right, up, ratio, shift = (arrays[k] for k in ("right_m", "up_m", "luminance_ratio", "shift_arcmin"))
    assert (ratio.shape, shift.shape) == ((len(up), len(right)), (len(up), len(right), 2))
    assert up[0] > up[-1]
    assert right[0] < right[-1]
    row = ratio[180]
    near = np.abs(right - 1.05) < 0.15
    assert (row[near].max() - row[near].min()) / 2 == pytest.approx(0.0418879 * 1.1 / 0.3, rel=0.08)
    above = np.abs(right) < 0.08
    assert np.ptp(row[above]) < 0.06
    assert folds_files(flat.scene, flat.folds) == {}


def test_the_table_and_the_csv_of_folds(folded, flat):
    text = report(folded, Console(width=100), full=True)
    assert "Folds as the seats see them" in text
    assert "even bright field" in text
    assert "Folds as the seats see them" not in report(flat, Console(width=100), full=True)
    rows = {(row["seat"], row["figure"]): row for row in csv.DictReader(io.StringIO(seats_csv(folded)))}
    seat = folded.seats[0].name
    ratio = folded.folds.seats[0].levels["typical"].visible.ratio
    assert float(rows[seat, "folds_typical_threshold_ratio"]["value"]) == pytest.approx(ratio)
    assert rows[seat, "folds_high_threshold_ratio"]["verdict"] == "visible"
    assert "folds_high" not in seats_csv(flat)
    wide = next(row for row in csv.DictReader(io.StringIO(seats_wide_csv(folded))) if row["state"] == "dark")
    assert float(wide["folds_typical_threshold_ratio"]) == pytest.approx(ratio)
    assert wide["folds_high_threshold_ratio_verdict"] == "visible"


def test_the_pictures_of_folds(folded, flat, monkeypatch):
    for other in ("plan", "section", "screen_map"):
        monkeypatch.setattr(f"halfgain.simulate.output.measure.{other}.{other}", lambda *_: b"")
    found = pictures(folded)
    assert found["folds-side.png"].startswith(b"\x89PNG")
    assert found["folds-side.png"] != found["folds-middle.png"]
    assert not any(name.startswith("folds") for name in pictures(flat))
