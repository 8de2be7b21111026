"""Cells of one room that serve it with another fabric, and what is summed with nothing between: the bits of the long way."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.page.seat_pictures import Stages
from halfgain.simulate.views import roomlight
from halfgain.simulate.views.content import content_of
from halfgain.simulate.views.hidden_ways import maybe_hidden
from halfgain.simulate.views.render import set_the_stage
from halfgain.simulate.views.roomlight import in_fabric, room_cells

from ..rooms import ANGULAR, box_object, room

pytestmark = pytest.mark.usefixtures("coarse")  # bits are compared
CRATE = box_object("crate", [-0.5, 0.6, 0.0], [0.4, 1.2, 0.9], 0.3)
SHINY = 'hang = "fixed frame"\n' + ANGULAR


def test_cells_in_another_fabric_are_those_of_that_room() -> None:
    # Expected: where rays go does not hang on the fabric; what the cloth leaves of them is worked out as it was
    white, shiny = flatten(room(objects=CRATE)), flatten(room(objects=CRATE, fabric=SHINY))
    own, other = room_cells(shiny, seed=3), room_cells(white, seed=3)
    served = in_fabric(other, shiny, seed=3)
    assert own.kept is not None
    assert served.kept is not None
    for mine, theirs in zip(own.kept, served.kept, strict=True):
        assert np.array_equal(mine, theirs)
    assert np.array_equal(own.zones, served.zones)
    assert (own.kept.hits > 0).any()
    assert not np.array_equal(own.kept.weight, other.kept.weight), "the fabrics send light alike"


def test_cells_without_rays_serve_no_other_fabric() -> None:
    arrays = flatten(room())
    with pytest.raises(ValueError, match="without kept rays"):
        in_fabric(room_cells(arrays, light=False), arrays)


def test_stages_trace_the_rays_of_a_room_once_whatever_its_fabric(monkeypatch: pytest.MonkeyPatch) -> None:
    traced: list[int] = []
    true = roomlight.recorded
    monkeypatch.setattr(roomlight, "recorded", lambda *given, **more: traced.append(1) or true(*given, **more))
    stages = Stages(1, 1)
    scenes = [room(), room(fabric=SHINY), room(ceiling=0.2)]
    found = [stages.of(scene, "checkerboard") for scene in scenes]
    assert len(traced) == 1
    for scene, stage in zip(scenes, found, strict=True):
        alone = set_the_stage(scene, content_of(scene, "checkerboard"))
        assert np.array_equal(stage.room.values.radiance.value, alone.room.values.radiance.value)
    assert stages.of(scenes[0], "checkerboard") is found[0]


@pytest.mark.parametrize("fabric", ['hang = "fixed frame"\nfabric = "matt white"', SHINY])
def test_with_nothing_between_is_summed_where_something_may_stand_there_alone(fabric: str) -> None:
    # Expected: the bits of all zones summed with nothing between; the crate stands before a part of the places
    scene = room(objects=CRATE, fabric=fabric)
    lit = set_the_stage(scene, content_of(scene, "white")).room
    cells = room_cells(flatten(scene), light=False)
    place, owner = cells.place[::7], cells.owner[::7]
    whole = lit.zones(lit.lit, place, owner, True, 1)
    hidden = maybe_hidden(lit.arrays.geometry, lit._grid_at(place, owner), lit.lit)
    assert 0.02 < hidden.mean() < 0.98
    free = lit.zones(lit.lit, place, owner, False, 1)
    assert np.array_equal(lit.free_zones(place, owner, whole, 1), free)
    assert (whole < free).any(), "the crate hides nothing"
    assert not (whole < free)[~hidden].any()
