"""Side to centre at its two places: a sixth of the picture's width in from the edge, and 5 % in, where cinema standards measure."""

from __future__ import annotations

import csv
import io
import math

import pytest
from halfgain.simulate.measuring.measure import Measurement, measure
from halfgain.simulate.measuring.targets import verdicts
from halfgain.simulate.output.measure.document import document
from halfgain.simulate.output.measure.seats_csv import seats_csv

from tests.rooms import room

BLACK = dict.fromkeys(("front", "back", "left", "right", "ceiling", "floor"), 0.0)
WIDTH, MIDDLE, GAP = 2.4, 0.7 + 1.35 / 2, 0.001
SIDE, EDGE = WIDTH / 2 * 2 / 3, WIDTH / 2 * 0.9  # from the middle to either place [m]


def measured(fabric: str, lens_out: float, eye_out: float, **changes: object) -> Measurement:
    """A black room, lens and eye level with the picture's middle, so many metres out from the screen."""
    eye = f'[[seat]]\nname = "x"\neye_m = [0.0, {eye_out + GAP}, {MIDDLE}]'
    lens = f"[0.0, {lens_out + GAP}, {MIDDLE}]"
    return measure(room(**BLACK, depth=9.0, fabric=fabric, lens=lens, seats=eye, **changes), error=0.3)


def test_a_diffuse_cloth_shows_the_projectors_own_fall_off_at_both_places() -> None:
    # Derived: 1 - (1 - c) r^2 with r = 1 at the corner, c = 0.7; r^2 = x^2 / (1 + (9/16)^2) at half the height, x = 2/3 and 0.9
    fall = [1.0 - 0.3 * x * x / (1.0 + (9 / 16) ** 2) for x in (2 / 3, 0.9)]
    assert fall == [pytest.approx(0.899, abs=5e-4), pytest.approx(0.815, abs=5e-4)]
    diffuse = '[screen.fabric]\nkind = "diffuse"\ngain = 0.9'
    seat = measured(diffuse, 3.5, 4.5, projector="corner_to_centre = 0.7").seats[0]
    assert seat.side_to_centre.value == pytest.approx(fall[0], rel=1e-9)
    assert seat.brighter_side_to_centre.value == pytest.approx(fall[0], rel=1e-9)
    assert seat.edge_to_centre.value == pytest.approx(fall[1], rel=1e-9)
    assert seat.brighter_edge_to_centre.value == pytest.approx(fall[1], rel=1e-9)


@pytest.mark.parametrize("place", [SIDE, EDGE])
def test_a_lobe_is_at_half_its_peak_where_the_eye_is_the_half_gain_angle_off_the_mirror_direction(place: float) -> None:
    # Derived: lens and eye on the axis, so the angle is atan(x / lens) + atan(x / eye); the half-gain angle defines the half
    eye_out = 8.0  # behind the lens: a head before it would shade the middle
    lens_out = place / math.tan(math.radians(25.0) - math.atan(place / eye_out))
    angular = '[screen.fabric]\nkind = "angular-reflective"\ngain = 2.2\nhalf_gain_deg = 25'
    seat = measured(angular, lens_out, eye_out).seats[0]
    at = {SIDE: seat.side_to_centre, EDGE: seat.edge_to_centre}
    assert at[place].value == pytest.approx(0.5, rel=1e-6)
    assert seat.edge_to_centre.value < seat.side_to_centre.value


def test_every_output_says_at_which_place_a_side_was_read() -> None:
    found = measured('[screen.fabric]\nkind = "diffuse"\ngain = 0.9', 3.5, 4.5, projector="corner_to_centre = 0.7")
    (seat,) = document(found)["seats"]
    assert seat["side_to_centre"]["inset_share_of_width"] == pytest.approx(1 / 6)
    assert seat["edge_to_centre"]["inset_share_of_width"] == 0.05
    assert seat["edge_to_centre"]["darker"]["value"] == found.seats[0].edge_to_centre.value
    sides = [verdict for verdict in seat["verdicts"] if verdict["target"].startswith("side to centre")]
    assert all("5 %" in verdict["place"] for verdict in sides)
    assert [v.got.value for v in verdicts(found.scene, found.seats[0], found.geometry[0]) if v.target.reading == "side"] == [
        pytest.approx(100 * found.seats[0].edge_to_centre.value)
    ] * len(sides)
    rows = csv.DictReader(io.StringIO(seats_csv(found)))
    assert (
        next(float(row["value"]) for row in rows if row["figure"] == "edge_to_centre_ratio")
        == found.seats[0].edge_to_centre.value
    )
