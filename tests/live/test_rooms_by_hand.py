"""Rooms that are no box by hand in a real browser: seats and lens in plan, the room in 3-D; and a cloth that lets light through is refused."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.read import parse

from .desk import Desk

REFUSED = 'screen.backed: light comes through the cloth ("own fabric"): kept paths do not follow it'


ROOM = """
format = 1
title = "An L"

[room]
outline_m = [[-2.4, 0], [2.1, 0], [2.1, 2.9], [4.6, 2.9], [4.6, 6.2], [-2.4, 6.2]]
walls = ["front", "right", "bay front", "bay", "back", "left"]
height_m = 2.55

[room.finish]
front = 0
back = 0.5
left = 0
right = 0
"bay front" = 0
bay = 0
ceiling = 0
floor = 0

[projector]
light_output_lm = 2400
native_contrast = 2500
lens_m = [0, 4.4, 2.25]

[screen]
width_m = 2.3
aspect = "16:9"
bottom_m = 0.75
gap_to_wall_m = 0.06
fabric = "matt white"

[[seat]]
name = "sofa left"
eye_m = [-0.6, 3.45, 1.08]

[[seat]]
name = "sofa right"
eye_m = [0.6, 3.45, 1.08]

[[seat]]
name = "table"
eye_m = [2.45, 4.5, 1.2]
"""


@pytest.fixture(scope="module")
def desk(one_desk: Desk) -> Iterator[Desk]:
    """The page of all controls on an L whose walls hardly send light on, so that its light is soon there."""
    one_desk.said.clear()
    one_desk.do(lambda: one_desk.page.evaluate("(text) => window.halfgain.begin(text, 'l.toml', '')", ROOM))
    yield one_desk
    assert one_desk.said == []


def _middle(desk: Desk, name: str) -> tuple[float, float]:
    mark = desk.page.get_by_role("button", name=re.compile(f"^{name}"))
    mark.scroll_into_view_if_needed()
    box = mark.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def _drag(desk: Desk, name: str, right: float, down: float) -> None:
    """Drag a mark of the plan by so many metres."""
    x, y = _middle(desk, name)
    scale = desk.page.evaluate("document.querySelector('.plan-drawing').getScreenCTM().a")
    mouse = desk.page.mouse
    mouse.move(x, y)
    mouse.down()
    for k in range(1, 4):
        mouse.move(x + scale * right * k / 3, y + scale * down * k / 3)
        desk.page.wait_for_timeout(20)
    mouse.up()
    desk.answered()


def _within(desk: Desk, place: Any) -> bool:
    """Whether [right, out] lies within the walls from above, by the winding of the outline round it."""
    turns = 0.0
    for ring in desk.scene()["room"]["rings"]:
        ways = np.array(ring) - np.array(place[:2])
        angle = np.arctan2(ways[:, 1], ways[:, 0])
        turns += float(((np.diff(np.append(angle, angle[0])) + np.pi) % (2 * np.pi) - np.pi).sum())
    return abs(turns) > np.pi


def test_seats_and_lens_of_a_room_that_is_no_box_move_by_keys_and_pointer_and_stay_inside_its_walls(desk: Desk) -> None:
    page = desk.page
    table = page.get_by_role("button", name=re.compile("^Seat 3, table"))
    before = desk.scene()["seats"][2]["eye_m"]
    table.focus()
    desk.do(lambda: page.keyboard.press("ArrowLeft"))
    assert desk.scene()["seats"][2]["eye_m"] == pytest.approx([before[0] - 0.05, before[1], before[2]])
    assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith("Seat 3")
    _drag(desk, "Seat 3, table", 0.8, -1.9)  # out of the bay through its front wall, at 2.9 m: up to it, no farther
    seat = desk.scene()["seats"][2]["eye_m"]
    assert page.locator(".errors").is_hidden()
    assert _within(desk, seat)
    assert seat == pytest.approx([before[0] + 0.75, 2.92, before[2]], abs=0.02)
    lens = desk.scene()["projector"]["lens_m"]
    _drag(desk, "Lens", 0.3, -0.2)
    moved = desk.scene()["projector"]["lens_m"]
    assert _within(desk, moved)
    assert moved[0] > lens[0] + 0.1
    assert moved[2] == lens[2]
    desk.do(lambda: page.get_by_role("button", name=re.compile("^Lens")).press("ArrowDown"))
    assert desk.scene()["projector"]["lens_m"][1] == pytest.approx(moved[1] + 0.05)
    assert scene_from_text(desk.text()).seats[2].eye_m == pytest.approx(seat)


def test_the_whole_room_is_in_its_picture_from_every_side(desk: Desk) -> None:
    page = desk.page
    page.locator(".room-canvas").scroll_into_view_if_needed()
    desk.until("window.halfgain.layout.roomPanel.view?.model", "the room in 3-D")
    page.get_by_label("Shows", exact=True).select_option("light")
    for look in ("from behind", "from a corner", "from above", "from the side"):
        page.get_by_role("button", name=look, exact=True).click()
        ends = page.evaluate("""(() => { const view = window.halfgain.layout.roomPanel.view;
          view.render(); view.camera.updateMatrixWorld();
          const mesh = view.lit.getObjectByName('room'), { array } = mesh.geometry.getAttribute('position'), at = view.middle.clone();
          let most = 0;
          for (let k = 0; k < array.length; k += 3) {
            at.set(array[k], array[k + 1], array[k + 2]).project(view.camera);
            most = Math.max(most, Math.abs(at.x), Math.abs(at.y));
          }
          return most; })()""")
        assert 0.8 < ends < 0.99, look
    page.get_by_label("Shows", exact=True).select_option("finishes")


def test_a_cloth_that_lets_light_through_is_refused_with_what_would_serve(desk: Desk) -> None:
    page, good = desk.page, desk.text()
    page.evaluate("window.halfgain.set('screen.fabric', { kind: 'diffuse', gain: 0.8, transmittance: 0.1 }, null)")
    page.locator(".errors").wait_for()
    said = page.locator(".errors").inner_text()
    assert REFUSED in said
    assert "the room stays as it was" in said
    assert "backed = true" in said
    assert desk.text() == good
    fabric = '{ kind = "diffuse", gain = 0.8, transmittance = 0.1 }'
    through = good.replace('fabric = "matt white"', f"fabric = {fabric}", 1)
    assert parse(through, "x.toml") != parse(good, "x.toml")
    page.evaluate("(text) => window.halfgain.typed(text)", through.replace(fabric, f"{fabric}\nbacked = true", 1))
    desk.until(
        "!window.halfgain.variant.errors.length && window.halfgain.variant.text.includes('backed = true')", "the backed cloth"
    )
    desk.answered()
    assert page.locator(".errors").is_hidden()
