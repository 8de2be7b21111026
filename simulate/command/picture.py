"""`halfgain picture`: what a seat sees, as EXR in cd/m2, as PNG for the eye, and in false colour."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ...materials.text.plain import first_names, plain
from ..views.sizes import LARGEST_FIELD_DEG, LARGEST_SIZE, LEAST_FIELD_DEG, LEAST_SIZE
from .options import AsJson, SceneName, Seed, Threads, place_to_write

if TYPE_CHECKING:
    from ...scenes.model import Light, Scene
    from ..views.content import Content
    from .progress import Told

Seats = Annotated[
    list[str] | None, typer.Option("--seat", metavar="NAME", help="A seat, by name or number; may be repeated; left out: all.")
]
Show = Annotated[
    str,
    typer.Option(
        "--show",
        metavar="PICTURE",
        help="white, black, checkerboard, grid, steps, letters, gradient, a level such as 30%, or an image file.",
    ),
]
LightState = Annotated[str | None, typer.Option("--light", metavar="NAME", help="A light state of the scene; left out: dark.")]
Size = Annotated[str, typer.Option("--size", metavar="WxH", help="Pixels, such as 960x540.")]
FieldDeg = Annotated[
    float | None,
    typer.Option("--field-deg", metavar="DEG", help="Horizontal field of view; left out: the screen with room around it."),
]
Adaptation = Annotated[
    float | None,
    typer.Option(
        "--adaptation", metavar="CD_M2", help="Adaptation level of the PNG's tone curve [cd/m2]; left out: a tenth of white."
    ),
]
Out = Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the files.", parser=place_to_write)]


def picture(
    scene: SceneName,
    seat: Seats = None,
    show: Show = "white",
    light: LightState = None,
    size: Size = "960x540",
    field: FieldDeg = None,
    adaptation: Adaptation = None,
    out: Out = Path(),
    seed: Seed = 1,
    threads: Threads = None,
    as_json: AsJson = False,
) -> None:
    """What a seat sees: NAME.exr in cd/m2, NAME.png, NAME-luminance.png."""
    from ...scenes.load import load_scene
    from ..output.file_names import ENDINGS, file_stems
    from .background import interruptible
    from .files import check_out, image_files, write_told
    from .progress import stages
    from .seats import seat_index
    from .stdout import say

    width, height = _size(size)
    _check(field, adaptation)
    loaded = load_scene(scene)
    chosen = list(dict.fromkeys(seat_index(loaded, name) for name in seat)) if seat else list(range(len(loaded.seats)))
    state = _state(loaded, light)
    content = content_of(loaded, show)
    stems = file_stems(each.name for each in loaded.seats)
    inputs = [*loaded.files, *image_files(None, show)]
    check_out(out, [f"{stems[i]}{ending}" for i in chosen for ending in ENDINGS], inputs, command="picture")

    def run(told: Told) -> tuple[dict[str, bytes], str]:
        from ..light.workers import default_threads
        from ..output.picture.seat_files import report, seat_files
        from ..views.render import seat_camera, seat_picture, set_the_stage

        many = threads or default_threads()
        told("light in the room")
        stage = set_the_stage(loaded, content, light=state, seed=seed, threads=many)
        files: dict[str, bytes] = {}
        text = []
        for i in chosen:
            told(f"seat {loaded.seats[i].name}")
            camera = seat_camera(loaded, i, width=width, height=height, field_deg=field)
            seen = seat_picture(stage, camera, threads=many)
            files.update(seat_files(stage, i, seen, stems[i], adaptation=adaptation))
            text.append(report(stage, i, seen, adaptation=adaptation))
        return files, "".join(text)

    with stages(f"{scene}, pictures") as shown:
        files, text = interruptible(lambda: run(shown))
    write_told(out, files, inputs, command="picture")
    if not as_json:
        say(text)
        return
    from ..output.measure.document import to_json

    seen = {loaded.seats[i].name: [f"{stems[i]}{ending}" for ending in ENDINGS] for i in chosen}
    asked = {"show": show, "light": light or "dark", "width_px": width, "height_px": height, "seed": seed}
    scene_of = {"title": loaded.title, "sha256": loaded.sha256}
    say(
        to_json(
            {
                "format": "halfgain.picture/1",
                "scene": scene_of,
                **asked,
                "folder": str(out),
                "files": seen,
                "said": text.splitlines(),
            }
        )
    )


def _size(text: str) -> tuple[int, int]:
    from .errors import BadInput

    parts = text.lower().split("x")
    if len(parts) == 2 and all(part.isdecimal() and len(part) < 6 and LEAST_SIZE <= int(part) <= LARGEST_SIZE for part in parts):
        return int(parts[0]), int(parts[1])
    raise BadInput(f'--size: "{plain(text)}" is not allowed; allowed WIDTHxHEIGHT, each {LEAST_SIZE} to {LARGEST_SIZE}')


def _check(field: float | None, adaptation: float | None) -> None:
    from .errors import BadInput

    if field is not None and not LEAST_FIELD_DEG <= field <= LARGEST_FIELD_DEG:
        raise BadInput(f"--field-deg: {field:g} is not allowed; allowed {LEAST_FIELD_DEG:g} to {LARGEST_FIELD_DEG:g}")
    if adaptation is not None and not 1e-4 <= adaptation <= 1e6:
        raise BadInput(f"--adaptation: {adaptation:g} is not allowed; allowed 0.0001 to 1000000 cd/m2")


def _state(scene: Scene, name: str | None) -> Light | None:
    from .errors import BadInput

    if name is None or name == "dark":
        return None
    for each in scene.lights:
        if each.name == name:
            return each
    known = first_names(["dark", *(each.name for each in scene.lights)])
    raise BadInput(f'--light: no light state "{plain(name)}" (allowed: {known})')


def content_of(scene: Scene, show: str) -> Content:
    """What --show names, for the shape of the scene's picture; raises BadInput in the user's words."""
    from ..views import content
    from .errors import BadInput

    try:
        return content.content_of(scene, show)
    except content.PictureError as fault:
        raise BadInput(f"--show: {fault}") from fault
