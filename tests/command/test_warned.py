"""Many warnings about the same thing are told in a line; a few one by one."""

from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene
from halfgain.scenes.warning import SceneWarning, WarningCode
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.output.measure.document import document
from halfgain.simulate.output.measure.table import report
from halfgain.simulate.output.warned import MOST, WORST, gathered
from rich.console import Console

from tests.scenes.scene_texts import GOOD

ROWS, ACROSS = 3, 10


def hall() -> Scene:
    """Three level rows of ten seats: each head of the second and third row looks past those before it."""
    head = GOOD[: GOOD.index("[[seat]]")]
    eyes = [(f"r{row} s{i}", -1.35 + 0.3 * i, 2.0 + 0.6 * row) for row in range(ROWS) for i in range(ACROSS)]
    return scene_from_text(head + "".join(f'[[seat]]\nname = "{name}"\neye_m = [{x}, {y}, 1.1]\n' for name, x, y in eyes))


def in_sight(warnings: tuple[SceneWarning, ...]) -> list[SceneWarning]:
    return [warning for warning in warnings if warning.code is WarningCode.IN_SIGHT]


def test_many_hidden_pictures_are_one_line_that_names_the_worst() -> None:
    scene = hall()
    found = in_sight(scene.warnings)
    assert len(found) > MOST
    hidden = [0.0] * len(scene.seats)
    worst = [found[i].seat for i in (-1, 0, 5)]
    names = [seat.name for seat in scene.seats]
    for name, share in zip(worst, (0.31, 0.24, 0.12), strict=True):
        hidden[names.index(str(name))] = share
    (told,) = in_sight(gathered(scene.warnings, scene.seats, hidden))
    a, b, c = worst
    assert told.text == (
        f"heads may hide part of the picture from {len(found)} of {len(scene.seats)} seats, "
        f'most from "{a}" (31.0 % of it), "{b}" (24.0 % of it) and "{c}" (12.0 % of it)'
    )
    (counted,) = in_sight(gathered(scene.warnings, scene.seats))
    most = max(len(each.things) for each in found)
    first = next(each.seat for each in found if len(each.things) == most)
    assert counted.text.split(", most from ")[1].startswith(f'"{first}"')


def test_a_few_are_told_one_by_one() -> None:
    scene = hall()
    few = tuple(in_sight(scene.warnings)[:MOST])
    assert gathered(few, scene.seats) == few


def test_many_of_another_kind_are_counted() -> None:
    scene = hall()
    alike = tuple(SceneWarning(WarningCode.OVERLAP, f"pair {i}") for i in range(9))
    told = gathered((*alike, SceneWarning(WarningCode.THIN, "thin")), scene.seats)
    assert [each.text for each in told] == ["pair 0", "pair 1", "pair 2", f"and {9 - WORST} more of this kind", "thin"]


def test_the_short_report_gathers_and_the_document_keeps_all() -> None:
    measurement = measure(hall(), error=0.1)
    found = measurement.scene.warnings
    lines = report(measurement, Console(width=80)).split("Warnings")[1].split("\n\n")[0].splitlines()
    assert len(lines) <= 4 + len(found) - len(in_sight(found))
    said = " ".join(" ".join(lines).split())
    worst = max(measurement.geometry, key=lambda place: place.hidden_share).hidden_share
    assert f"({100.0 * worst:.1f} % of it)" in said
    assert document(measurement)["warnings"] == [each.text for each in found]
