"""Maps of folded cloth against a plain-Python trace of single rays, written apart: scalar loops, bisection, differences."""

import math
import random

import numpy as np
import pytest
from halfgain.materials.solving.solve import fabric_from_pair
from halfgain.scenes.cloth.surface import cloth_of
from halfgain.scenes.library import scene_path
from halfgain.scenes.load import scene_from_text
from halfgain.simulate.folds.maps import on_screen, picture_grid, seat_maps

FOLDS = {
    "gentle waves": 'kind = "wave"\namplitude_mm = 2\nwavelength_mm = 300\ncrests = 20',
    "steep waves": 'kind = "wave"\namplitude_mm = 15\nwavelength_mm = 130\ncrests = 80',
    "random": 'kind = "random"\namplitude_mm = 3\nwavelength_mm = 200\nseed = 9',
    "v-groove": 'kind = "v-groove"\namplitude_mm = 8',
}
FABRICS = {
    "diffuse": 'fabric = "matt white"\n',
    "angular": '[screen.fabric]\nkind = "angular-reflective"\ngain = 1.4\nhalf_gain_deg = 30\n',
    "retro": '[screen.fabric]\nkind = "retro-reflective"\ngain = 1.8\nhalf_gain_deg = 20\n',
}


def scene(fold, fabric, name="short-throw-wall"):
    text = scene_path(name).read_text(encoding="utf-8")
    assert text.count('fabric = "matt white"\n') == 1
    tables = FABRICS[fabric] + f"[[screen.fold]]\n{fold}\n"
    text = text.replace('fabric = "matt white"\n', tables).replace("gap_to_wall_m = 0.03", "gap_to_wall_m = 0.05")
    return scene_from_text(text)


def height(cloth, x, y):
    return float(cloth.at(x, y).height)


def trace(cloth, lens, q):
    """First meeting of a ray with the cloth: small steps down from above, all asked at once, then bisection."""
    high, low = 0.03, -0.03
    n = 400
    steps = (high + (low - high) * np.arange(n + 1) / n) / lens[2]
    heights = cloth.at(q[0] + steps * (lens[0] - q[0]), q[1] + steps * (lens[1] - q[1])).height
    met = np.flatnonzero(steps[1:] * lens[2] <= heights[1:])
    i = met[0] if len(met) else n - 1
    a, b = steps[i], steps[i + 1]
    for _ in range(60):
        m = 0.5 * (a + b)
        x, y = q[0] + m * (lens[0] - q[0]), q[1] + m * (lens[1] - q[1])
        a, b = (m, b) if m * lens[2] > height(cloth, x, y) else (a, m)
    return np.array([q[0] + a * (lens[0] - q[0]), q[1] + a * (lens[1] - q[1]), a * lens[2]])


def hidden(cloth, p, eye):
    """Whether the line from a place to an eye goes through the cloth, in small steps until it is above all of it."""
    x = p + np.linspace(2e-5, 1.0, 20000)[:, None] * (eye - p)
    above = np.flatnonzero(x[:, 2] > 0.03)
    x = x[: above[0] if len(above) else len(x)]
    return bool((x[:, 2] < cloth.at(x[:, 0], x[:, 1]).height - 1e-7).any())


def unit(v):
    return v / math.sqrt(v @ v)


def gain(fabric, d, e, n):
    """Base and Gaussian lobes about the mirrored or the source direction."""
    if d @ n <= 0 or e @ n <= 0:
        return 0.0
    total = fabric.base_gain
    for lobe in fabric.lobes:
        row = lobe.row()
        assert row[0] == 1, "the plain trace knows Gaussian lobes only"
        axis = 2 * (d @ n) * n - d if row[1] > 0 else d
        t = 2 * math.asin(min(1.0, 0.5 * math.sqrt((axis - e) @ (axis - e))))
        total += row[2] * math.exp(-row[3] * t * t)
    return total


@pytest.mark.parametrize("fabric", FABRICS)
@pytest.mark.parametrize("fold", FOLDS)
def test_maps_agree_with_single_rays(fold, fabric):
    """Luminance = pi f_r E / pi with E from the ray's own flux on its own bit of cloth; displacement as an angle at the eye."""
    got_scene = scene(FOLDS[fold], fabric)
    cloth, sheet = cloth_of(got_scene.screen), got_scene.screen.fabric
    grid = picture_grid(got_scene, 64, 36)
    maps = seat_maps(got_scene, cloth, grid)
    lens = np.array(on_screen(got_scene, got_scene.projector.lens_m))
    draw = random.Random(4)
    for seat_index in (0, 2):
        eye = np.array(on_screen(got_scene, got_scene.seats[seat_index].eye_m))
        for _ in range(5):
            j, i = draw.randrange(36), draw.randrange(64)
            q = np.array([grid.right_m[i], grid.up_m[j], 0.0])
            p = trace(cloth, lens, q)
            e = 1e-6
            hx = (height(cloth, p[0] + e, p[1]) - height(cloth, p[0] - e, p[1])) / (2 * e)
            hy = (height(cloth, p[0], p[1] + e) - height(cloth, p[0], p[1] - e)) / (2 * e)
            n = unit(np.array([-hx, -hy, 1.0]))
            d, e_p, d0, e0 = unit(lens - p), unit(eye - p), unit(lens - q), unit(eye - q)
            if hidden(cloth, p, eye) or not cloth.covers(p[0], p[1]):
                assert np.isnan(maps[seat_index].luminance_ratio[j, i])
                continue
            illuminance = (d @ n) / ((lens - p) @ (lens - p))
            nominal = d0[2] / ((lens - q) @ (lens - q))
            flat = gain(sheet, d0, e0, np.array([0.0, 0.0, 1.0]))
            expected = gain(sheet, d, e_p, n) * illuminance / (flat * nominal)
            assert maps[seat_index].luminance_ratio[j, i] == pytest.approx(expected, rel=1e-6)
            angle = math.degrees(math.atan2(np.linalg.norm(np.cross(e0, e_p)), e0 @ e_p)) * 60
            shift = maps[seat_index].shift_arcmin[j, i]
            assert math.hypot(*shift) == pytest.approx(angle, rel=1e-4, abs=1e-6)
            if angle > 0.01:
                away = (p - eye) / ((p - eye) @ -e0) + e0  # where the place seems to lie across the old line of sight
                assert np.sign(shift[0]) == np.sign(away[0]) or abs(away[0]) < 0.1 * abs(away[1])
                assert np.sign(shift[1]) == np.sign(away[1]) or abs(away[1]) < 0.1 * abs(away[0])


def test_places_off_the_cloth_are_no_numbers():
    """Concave edges: light falls past them on the border."""
    got_scene = scene('kind = "concave edges"\ndepth_mm = 40', "diffuse")
    grid = picture_grid(got_scene, 200, 9)
    (first, *_) = seat_maps(got_scene, cloth_of(got_scene.screen), grid)
    middle = first.luminance_ratio[4]
    off = np.isnan(middle)
    assert 0 < off.sum() < 20
    assert off[0]
    assert off[-1]
    assert np.all(middle[~off] == 1.0)


def test_a_fold_hides_what_lies_behind_it():
    """Waves of slope 0.73 seen from nearly along the cloth: places behind crests are hidden, those on their fronts are not."""
    got_scene = scene(FOLDS["steep waves"], "diffuse")
    cloth = cloth_of(got_scene.screen)
    from halfgain.simulate.folds.landing import land_on
    from halfgain.simulate.folds.maps import hidden_from

    grid = picture_grid(got_scene, 8, 90).nominal
    lens = on_screen(got_scene, got_scene.projector.lens_m)
    landing = land_on(cloth, lens, grid[:, 0], grid[:, 1])
    eye = (0.0, 9.0, 1.0)
    found = hidden_from(cloth, landing, eye)
    assert 0.05 < found.mean() < 0.95
    for k in range(0, len(found), 37):  # march from the place to the eye in small steps
        p = np.array([landing.right[k], landing.up[k], landing.out[k]])
        assert hidden(cloth, p, np.array(eye)) == found[k]


def test_threads_change_nothing():
    got_scene = scene(FOLDS["random"], "angular")
    grid, cloth = picture_grid(got_scene, 160, 90), cloth_of(got_scene.screen)
    for a, b in zip(seat_maps(got_scene, cloth, grid), seat_maps(got_scene, cloth, grid, threads=4), strict=True):
        assert np.array_equal(a.luminance_ratio, b.luminance_ratio, equal_nan=True)
        assert np.array_equal(a.shift_arcmin, b.shift_arcmin, equal_nan=True)


def test_the_fabric_is_turned_with_the_cloth():
    """A retro lobe does not move when the cloth turns: only the cosine of incidence is left (lobes on tilted cloth, derived)."""
    fabric = fabric_from_pair(name="r", gain=2.0, half_gain_deg=20, kind="retro-reflective")
    assert fabric.lobes
