"""A film in a scene: its throw, its warnings, what the first lines say of it."""

from __future__ import annotations

import halfgain as hg
import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.throw import throw
from halfgain.scenes.warning import WarningCode
from halfgain.simulate.command import app
from halfgain.simulate.measuring.targets import ECHO_BESIDE_BARS, echo_note
from halfgain.simulate.placing.bounds import By
from halfgain.simulate.placing.placement import place

from tests.rooms import room
from tests.scenes.scene_texts import edit


def scene(shown: str, *, masked: bool = False, aspect: str = "16:9") -> hg.Scene:
    film = f'lens_shift = [0.1, 0.6]\n[projector.film]\naspect = "2.35:1"\nshown = "{shown}"\nmasked = {str(masked).lower()}'
    return scene_from_text(edit(("lens_shift = [0.1, 0.6]", film), ('aspect = "16:9"', f'aspect = "{aspect}"')))


def test_a_zoomed_raster_needs_a_nearer_lens_and_an_anamorphic_one_its_own_width() -> None:
    """Lens 3.8 m from a 2.35:1 screen of 2.4 m: zoomed 3.8 / 2.4; drawn out from 16:9 of the same height, 2.4 / 2.35 x 16 / 9 m wide."""
    assert throw(scene("zoomed", aspect="2.35:1")).ratio == pytest.approx(3.8 / 2.4)
    assert throw(scene("anamorphic", aspect="2.35:1")).ratio == pytest.approx(3.8 / (2.4 / 2.35 * 16 / 9))
    assert throw(scene("letterbox", aspect="2.35:1")).ratio == pytest.approx(3.8 / (2.4 / 2.35 * 16 / 9))
    out = place(scene("anamorphic", aspect="2.35:1")).lens.ranges[1]
    zoom = next(bound for bound in out.bounds if bound.by is By.ZOOM)
    assert (zoom.low_m, zoom.high_m) == (2.47, 3.91), "1.3 and 2.1 of 1.816 m, and 0.10 m, inwards to the cm"


def codes(scene: hg.Scene) -> list[WarningCode]:
    return [warning.code for warning in scene.warnings]


def test_bars_are_told_once_and_not_as_light_that_is_lost() -> None:
    for shown, masked, aspect, told in (
        ("letterbox", False, "16:9", 1),
        ("letterbox", True, "16:9", 0),
        ("zoomed", False, "2.35:1", 1),
        ("anamorphic", True, "16:9", 0),
        ("anamorphic", False, "2.35:1", 0),
    ):
        found = codes(scene(shown, masked=masked, aspect=aspect))
        assert found.count(WarningCode.BARS) == told, (shown, masked, aspect)
        assert WarningCode.UNLIT not in found
        assert WarningCode.LIGHT_BESIDE not in found


def test_a_film_can_be_changed_compared_and_written_back() -> None:
    plain = scene_from_text(edit())
    film = plain.change({"projector.film.aspect": "2.35:1", "projector.film.masked": True})
    assert film.projector.film is not None
    assert hg.scene_from_text(film.to_toml()) == film
    assert plain.digest != film.digest
    assert plain == film.change(
        "projector", {key: value for key, value in film.document.table["projector"].items() if key != "film"}
    )


def test_the_first_lines_speak_of_the_film(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    file = tmp_path / "scope.toml"
    file.write_text(scene("letterbox").to_toml(), encoding="utf-8")
    assert app.run(["measure", str(file), "--error", "0.1"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "Film 2.35:1 letterbox, 2.40 x 1.02 m, 76 % of the raster; figures are its own. Bars on the screen:" in text
    assert app.run(["explain", str(file), "--error", "0.1"]) == 0
    own = "the projector's own, less what comes back of the bars' black"
    text = " ".join(capsys.readouterr().out.split())
    assert own in text
    assert "white / 3000, and what comes back of the bars' black" in text
    assert app.run(["measure", str(file), "--error", "0.1", "--full"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert text.count(own) == 2
    assert "finishes cannot change it" not in text


@pytest.mark.parametrize(("shown", "barred"), [("letterbox", True), ("zoomed", True), ("anamorphic", False)])
def test_the_projectors_own_contrast_is_called_so_where_the_film_has_no_bars(shown: str, barred: bool) -> None:
    """An anamorphic film fills the raster: the whole of what comes back is of one kind."""
    assert (echo_note(scene(shown)) == ECHO_BESIDE_BARS) is barred
    assert echo_note(room(), scene(shown)) == echo_note(scene(shown), room()) == echo_note(scene(shown))
