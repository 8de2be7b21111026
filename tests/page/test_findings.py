"""Findings of the page from made-up evidence."""

from __future__ import annotations

from types import SimpleNamespace

import halfgain as hg
from halfgain.scenes.throw import throw
from halfgain.simulate.page.findings import _throw


def test_what_does_not_fit_is_told_with_the_place_that_would_do() -> None:
    scene = hg.load_scene("light-lounge")
    found = throw(scene)
    said = _throw(SimpleNamespace(measurement=SimpleNamespace(throw=found, scene=scene)))  # type: ignore[arg-type]
    assert said.blocks
    (remedy,) = found.remedies
    assert f"With the lens {remedy.to_m:.2f} m up it would." in said.text
    place = list(scene.projector.lens_m)
    place[2] = remedy.to_m
    assert throw(scene.change("projector.lens_m", place)).feasible
