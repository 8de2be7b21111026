"""A film's own picture: illuminance by area, the same light as a screen of just its size, bars by the lens's black."""

from __future__ import annotations

import json
import math

import halfgain as hg
import numpy as np
import pytest
from halfgain.scenes.geometry import film_area, open_area, picture, raster
from halfgain.scenes.model import Scene
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.picture_readings import picture_readings
from halfgain.simulate.answers.pictures import from_levels
from halfgain.simulate.measuring.bars import Onto
from halfgain.simulate.measuring.estimate import Estimate
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.measure import Measurement, measure

from tests.rooms import ANGULAR, RETRO, room

SCOPE = 2.35
BLACK = {name: 0.0 for name in ("front", "back", "left", "right", "ceiling", "floor")}


def filmed(
    shown: str = "letterbox",
    *,
    masked: bool = False,
    aspect: str = "16:9",
    film: str = "2.35:1",
    own: str = "",
    **changes: object,
) -> Scene:
    """The test room with a film; `own` are further keys of [projector]."""
    keys = f'pixels = [1920, 1080]\n{own}\n[projector.film]\naspect = "{film}"\nshown = "{shown}"\nmasked = {str(masked).lower()}'
    return room(projector=keys, aspect=aspect, **changes)


def alike(a: Estimate, b: Estimate, *, slack: float = 0.0) -> bool:
    """Within four standard errors of both, bias bounds and a stated slack [1]."""
    room_for = 4.0 * math.hypot(a.standard_error, b.standard_error) + a.bias_bound + b.bias_bound + slack * abs(b.value)
    return abs(a.value - b.value) <= room_for


def test_rasters_and_films_are_what_the_words_say() -> None:
    """16:9 of 2.4 m: letterbox 2.4 x 1.021 m in 2.4 x 1.35 m. On a 2.35:1 screen of 2.4 m: zoomed to 2.4 m wide, the raster 1.35 m high."""
    wide = 2.4 / SCOPE
    for shown, aspect, light, film in (
        ("letterbox", "16:9", (2.4, 1.35), (2.4, wide)),
        ("letterbox", "2.35:1", (wide * 16 / 9, wide), (wide * 16 / 9, wide * 16 / 9 / SCOPE)),
        ("zoomed", "2.35:1", (2.4, 1.35), (2.4, wide)),
        ("zoomed", "16:9", (2.4, 1.35), (2.4, wide)),
        ("anamorphic", "2.35:1", (2.4, wide), (2.4, wide)),
        ("anamorphic", "16:9", (2.4, wide), (2.4, wide)),
    ):
        scene = filmed(shown, aspect=aspect)
        assert (raster(scene).width_m, raster(scene).height_m) == pytest.approx(light)
        assert (film_area(scene).width_m, film_area(scene).height_m) == pytest.approx(film)
    narrow = filmed("zoomed", film="4:3")
    assert (film_area(narrow).width_m, film_area(narrow).height_m) == pytest.approx((1.8, 1.35))
    assert (raster(narrow).width_m, raster(narrow).height_m) == pytest.approx((2.4, 1.35)), (
        "its height fills the screen, and so does the raster's"
    )


@pytest.mark.parametrize("aspect", ["16:9", "2.35:1"])
def test_illuminance_goes_by_the_area_that_the_lumens_are_spread_over(aspect: str) -> None:
    """Even light: lux = lumens / raster area. A zoomed raster is the film's area x 2.35 / (16 / 9); an anamorphic lens wastes none."""
    area = 2.4 * 2.4 / SCOPE
    zoomed, drawn = (measure(filmed(shown, aspect=aspect), error=0.1).illuminance_lx for shown in ("zoomed", "anamorphic"))
    assert zoomed["centre"] == pytest.approx(1000 / (area * SCOPE * 9 / 16))
    assert drawn["centre"] == pytest.approx(1000 / area)
    lossy = filmed("anamorphic", aspect=aspect).change("projector.film.transmission", 0.9)
    assert measure(lossy, error=0.1).illuminance_lx["centre"] == pytest.approx(900 / area)


def test_light_that_falls_off_keeps_the_rasters_own_fall_off_in_the_film() -> None:
    """E = Ec (1 - 0.4 r^2), r = 1 at the raster's corner; the nine-point mean of the raster is lumens / area: Ec = mean / (1 - 0.4 x 8 / 27)."""
    scene = filmed(own="corner_to_centre = 0.6", border=0.1)
    found = measure(scene, error=0.1)
    centre = 1000 / (2.4 * 1.35) / (1 - 0.4 * 8 / 27)
    assert found.illuminance_lx["centre"] == pytest.approx(centre)
    half = 2.4 / SCOPE / 2
    edge = 1 - 0.4 * (half * 35 / 36) ** 2 / (1.2**2 + 0.675**2)
    row = found.maps[0].direct_cd_m2[0, 31:33].mean() / found.maps[0].direct_cd_m2[17:19, 31:33].mean()
    assert row == pytest.approx(edge, rel=2e-3)


def just_its_size(masked: Scene, lumens: float) -> Scene:
    """A room with a screen of just the film's size, lit by a raster of that shape."""
    area = picture(masked)
    share = area.area_m2 / raster(masked).area_m2
    bottom = masked.screen.bottom_m + 0.5 * (masked.screen.height_m - area.height_m)
    levels = 1 / masked.projector.native_contrast
    own = f"checkerboard_contrast = {1 / (levels + share * (1 / 300 - levels))!r}"
    return room(
        lumens=lumens * share, screen_width=area.width_m, aspect=f"{SCOPE}:1", bottom=bottom, projector=own,
        fabric=ANGULAR, border=0.0,
    )  # fmt: skip


@pytest.mark.parametrize("aspect", ["16:9", "4:3"])
def test_a_masked_film_is_a_screen_of_just_its_size(aspect: str) -> None:
    """Traced anew; the masking has the screen wall's own finish and lies 1 mm before it, so the rooms are the same to that mm."""
    masked = filmed(
        masked=True,
        aspect=aspect,
        own='checkerboard_contrast = 300\nfit = "width"',
        border=0.0,
        fabric="border_finish = 0.5\n" + ANGULAR,
    )
    small = just_its_size(masked, 1000.0)
    a, b = measure(masked, error=0.004), measure(small, seed=2, error=0.004)
    assert open_area(masked).area_m2 == pytest.approx(small.screen.width_m * small.screen.height_m)
    for one, other, here, there in zip(a.seats, b.seats, a.geometry, b.geometry, strict=True):
        for key in ("white_cd_m2", "checkerboard_ratio", "washout_cd_m2", "uniformity_ratio"):
            assert alike(one.values[key], other.values[key], slack=0.001), key
        assert other.black.value < one.black.value < 1.01 * other.black.value, (
            "what the bars send back: the small raster has none"
        )
        assert here.picture_width_deg == pytest.approx(there.picture_width_deg)
        assert here.picture_top_deg == pytest.approx(there.picture_top_deg)
        assert one.direct["centre"].value == pytest.approx(other.direct["centre"].value, rel=1e-9)


ROWS = 16 / 9 * 12 / 8  # a film of this shape fills just 8 of the 12 rows of zones


@pytest.mark.parametrize("fabric", [ANGULAR, '[screen.fabric]\nkind = "diffuse"\ngain = 0.9'])
def test_a_letterbox_sends_back_what_those_zones_of_the_whole_raster_do(fabric: str) -> None:
    """The film's rows lit in a full raster, by linearity from a ledger: white at the middle, and the light on the bars."""
    levels = np.zeros((120, 160))
    levels[20:100] = 1.0
    whole = room(projector="pixels = [1920, 1080]", fabric=fabric, native=1e9, left=0.3, ceiling=0.8)
    answer = Answers.of(whole, seed=5, paths=512, cells=48).with_picture(from_levels(levels))
    film = measure(filmed(film=f"{ROWS}:1", fabric=fabric, native=1e9, left=0.3, ceiling=0.8), error=0.003)
    assert film.film is not None
    for i, read in enumerate(picture_readings(answer)):
        assert alike(film.seats[i].white["centre"], read.white, slack=1e-4)
        top = next(bar for bar in film.film.bars if bar.side == "top").seats[i][1]
        beside = float(read.shown[1:3].mean())  # patch centres of the top row, inside the bar
        assert top.value == pytest.approx(beside, rel=0.12), "taken from the film's own upper row, not from the bar"


def test_a_black_frame_is_that_of_the_whole_raster() -> None:
    """All the raster is black alike, so black at the middle is the whole raster's white over the native contrast; bars told by lumens."""
    whole, film = (
        measure(room(projector="pixels = [1920, 1080]", ceiling=0.8), error=0.003),
        measure(filmed(ceiling=0.8), error=0.003),
    )
    for one, other in zip(film.seats, whole.seats, strict=True):
        assert alike(one.black, other.black, slack=3e-4)
        without = one.white["centre"].value / 2000
        assert one.black.value > without * 1.003, "the bars' part is seen"
        assert one.full_on_off.value == pytest.approx(one.white["centre"].value / one.black.value)


@pytest.mark.parametrize("fabric", [ANGULAR, RETRO])
def test_bars_in_a_black_room_show_the_lenss_black_and_veil(fabric: str) -> None:
    """L = g E / pi x level: 1 / Cn in a black frame, 1 / Cn + 2 s (1 / Cc - 1 / Cn) in a white one of s of the raster."""
    scene = filmed(fabric=fabric, own="checkerboard_contrast = 300", **BLACK)
    found = measure(scene, error=0.1)
    assert found.film is not None
    share = 16 / 9 / SCOPE
    assert found.film.share == pytest.approx(share)
    levels = (1 / 2000, 1 / 2000 + 2 * share * (1 / 300 - 1 / 2000))
    up = 0.5 * (2.4 / SCOPE / 2 + 0.675)
    bar = next(each for each in found.film.bars if each.side == "top")
    assert (bar.onto, bar.width_m) == (Onto.SCREEN, pytest.approx(0.675 - 2.4 / SCOPE / 2))
    middle = room(
        projector="pixels = [1920, 1080]", fabric=fabric, bottom=0.7 + up, **BLACK
    )  # its middle stands where the bar's does
    moved = measure(middle, error=0.1)
    for (black, white), reading in zip(bar.seats, moved.seats, strict=True):
        assert black.value == pytest.approx(levels[0] * reading.direct["centre"].value, rel=1e-9)
        assert white.value == pytest.approx(levels[1] * reading.direct["centre"].value, rel=1e-9)


def test_bars_on_masking_and_border_show_their_cloth() -> None:
    """Black cloth of 0.02 in a black room: L = 0.02 E / pi over the native contrast; an anamorphic picture has no raster there."""
    dark = {"border": 0.3, "fabric": 'border_finish = 0.02\n[screen.fabric]\nkind = "diffuse"\ngain = 0.9', **BLACK}
    lux = 1000 / (2.4 * 1.35)
    for scene, onto, lit in (
        (filmed(masked=True, **dark), Onto.MASKING, lux),
        (filmed("zoomed", aspect="2.35:1", **dark), Onto.BORDER, lux),
        (filmed("anamorphic", masked=True, **dark), Onto.MASKING, 0.0),
    ):
        film = measure(scene, error=0.1).film
        assert film is not None
        assert {bar.onto for bar in film.bars} == {onto}
        for bar in film.bars:
            assert bar.lens_lx == pytest.approx(lit / 2000)
            for black, _ in bar.seats:
                assert black.value == pytest.approx(0.02 * lit / math.pi / 2000, rel=1e-9, abs=1e-15)


def test_the_lenss_stray_light_is_less_by_the_films_share() -> None:
    """Black room, contrast 300 with half the raster lit: with half a film of s of it the checkerboard has 1 / (1/Cn + s (1/Cc - 1/Cn))."""
    found = measure(filmed(own="checkerboard_contrast = 300", **BLACK), error=0.1)
    share = 16 / 9 / SCOPE
    for reading in found.seats:
        assert reading.checkerboard.value == pytest.approx(1 / (1 / 2000 + share * (1 / 300 - 1 / 2000)), rel=1e-6)


def same(a: Measurement, b: Measurement) -> bool:
    return all(np.array_equal(a.replicates[key], b.replicates[key]) for key in a.replicates)


def test_a_film_of_the_rasters_own_shape_changes_no_bit() -> None:
    own = {"own": "checkerboard_contrast = 300\ncorner_to_centre = 0.7", "border": 0.1, "fabric": ANGULAR}
    plain = measure(room(projector=f"pixels = [1920, 1080]\n{own['own']}", border=0.1, fabric=ANGULAR), error=0.02)
    film = measure(filmed(film="16:9", **own), error=0.02)
    assert same(plain, film)
    assert plain.film is None
    assert "film" not in json.loads(plain.to_json())
    assert json.loads(film.to_json())["film"]["bars"] == []


def test_a_masked_motorised_cloth_keeps_its_folds_and_loses_its_hidden_edges() -> None:
    hung = 'hang = "motorised"\n' + ANGULAR
    scene, whole = filmed(masked=True, fabric=hung, gap=0.1), filmed(fabric=hung, gap=0.1)
    cut, full = flatten(scene).geometry.relief, flatten(whole).geometry.relief
    assert tuple(cut.size) == pytest.approx((2.4, 2.4 / SCOPE))
    assert tuple(full.size) == pytest.approx((2.4, 1.35))
    assert tuple(cut.outline) == (0.0, 0.0)
    a, b = measure(scene, error=0.02), measure(whole, error=0.02)
    for one, other in zip(a.seats, b.seats, strict=True):
        assert one.white["centre"].value == pytest.approx(other.white["centre"].value, rel=5e-3), (
            "only what the bare bars reflect differs"
        )


def test_a_ledger_belongs_to_its_film(tmp_path) -> None:
    scene = filmed(masked=True)
    ledger = hg.trace(scene, error=0.1)
    assert ledger.with_scene(scene.with_finish("ceiling", 0.1)).readings()
    for change, named in (
        ({"projector.film.masked": False}, r"the film \(projector.film\) differs"),
        ({"projector.film.aspect": "2:1"}, r"the film \(projector.film\) differs"),
        ({"projector.film.shown": "anamorphic"}, r"the raster \(projector.pixels, projector.fit\) is"),
    ):
        with pytest.raises(hg.Error, match=named):
            ledger.with_scene(scene.change(change))
    bare = hg.trace(scene.change("projector.film", None), error=0.1)
    with pytest.raises(hg.Error, match=r"the film \(projector.film\) is in the scene and not in the ledger"):
        bare.with_scene(scene)
    file = tmp_path / "film.npz"
    hg.save_ledger(ledger, file)
    assert hg.open_ledger(file, scene).readings()
