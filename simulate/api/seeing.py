"""Pictures of a room: what a seat sees, the room in 3-D, the client's page."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfgain.kinds import PROGRESS, SCENE
from halfgain.materials.dataclass import dataclass
from halfgain.one_blas_thread import in_one_blas_thread
from halfgain.progress import Progress
from halfgain.runs import AnyScene, as_scene, checked, threads_or
from halfgain.scenes.changes import refuse
from halfgain.scenes.cloth.level import LEVELS, Level
from halfgain.scenes.given import FILE, FOLDER, MAPPING, NUMBER, TEXT, THREADS, YES_NO, Kind, between, is_file, takes, whole
from halfgain.scenes.which_seat import which_seat
from halfgain.simulate.light.progress import say
from halfgain.simulate.views.sizes import LARGEST_FIELD_DEG, LARGEST_SIZE, LEAST_FIELD_DEG, LEAST_SIZE
from halfgain.wishing import WISHES, wished

if TYPE_CHECKING:
    import numpy as np
    from halfgain.scenes.model import Light, Scene
    from halfgain.simulate.views.content import Content
    from halfgain.simulate.views.render import SeatPicture
    from halfgain.simulate.views.room3d import Shown
    from halfgain.simulate.views.shade import PictureSetup
    from numpy.typing import NDArray


_SHOWN = Kind(is_file, "the name of a picture, a level such as 30%, or an image file's path")


@dataclass(frozen=True, eq=False, repr=False)
class Picture:
    """What a seat sees.

    seat, scene   whose it is;  cd_m2  (height, width, 3) linear RGB (BT.709) whose luminance is in cd/m2
    """

    scene: Scene
    seat: str
    _seen: SeatPicture
    _stage: PictureSetup
    _index: int

    @property
    def cd_m2(self) -> NDArray[np.float64]:
        """(height, width, 3) linear RGB, BT.709 primaries [cd/m2]."""
        return self._seen.cd_m2

    @property
    def luminance(self) -> NDArray[np.float64]:
        """(height, width) [cd/m2]."""
        return self._seen.luminance

    @property
    def screen(self) -> NDArray[np.bool_]:
        """(height, width) True where the pixel's middle lies on the cloth."""
        return self._seen.screen

    @takes(adaptation_cd_m2=NUMBER.optional)
    def files(self, *, adaptation_cd_m2: float | None = None) -> dict[str, bytes]:
        """EXR in cd/m2, PNG for the eye and PNG in false colour by file name; adaptation level of the tone curve [cd/m2]."""
        from halfgain.simulate.output.file_names import file_stems
        from halfgain.simulate.output.picture.seat_files import seat_files

        stem = file_stems(each.name for each in self.scene.seats)[self._index]
        return seat_files(self._stage, self._index, self._seen, stem, adaptation=adaptation_cd_m2)

    @takes(folder=FOLDER)
    def save(self, folder: str | Path) -> None:
        """Write the files into a folder, whole or not at all. raises OSError"""
        from halfgain.simulate.output.writing import write_folder

        write_folder(Path(folder), self.files(), inputs=self.scene.files)

    def _repr_png_(self) -> bytes:
        return next(data for name, data in self.files().items() if name.endswith(".png") and not name.endswith("-luminance.png"))

    def __repr__(self) -> str:
        high, wide = self.luminance.shape
        return f"<Picture from {self.seat!r}: {wide} x {high} pixels, mean of the picture {self._seen.picture_mean:.4g} cd/m2>"


@takes(
    scene=SCENE,
    show=_SHOWN,
    light=TEXT.optional,
    width=whole(LEAST_SIZE, LARGEST_SIZE),
    height=whole(LEAST_SIZE, LARGEST_SIZE),
    field_deg=between(LEAST_FIELD_DEG, LARGEST_FIELD_DEG).optional,
    threads=THREADS,
    progress=PROGRESS,
)
@in_one_blas_thread
def picture(
    scene: AnyScene,
    seat: str | int = 0,
    *,
    show: str | Path = "white",
    light: str | None = None,
    width: int = 960,
    height: int = 540,
    field_deg: float | None = None,
    seed: int = 1,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Picture:
    """What a seat sees, in cd/m2; shows itself in a notebook.

    Parameters
    ----------
    scene : Scene, or name or file of one
    seat : str or int
        Name, or place in the scene's order from 0.
    show : str or path
        "white", "black", "checkerboard", "grid", "steps", "letters", "gradient", a level such as "30%", or an image file.
    light : str, optional
        A light state of the scene; left out: dark.
    width, height : int
        Pixels.
    field_deg : float, optional
        Horizontal field of view [deg]; left out: the screen with room around it.

    Raises
    ------
    halfgain.Error
        No such seat, light state or picture.
    """
    from halfgain.simulate.views.content import content_of
    from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage

    checked(seed, 0.5)
    loaded, many = as_scene(scene), threads_or(threads)
    index, state, content = (
        which_seat([each.name for each in loaded.seats], seat),
        _state(loaded, light),
        content_of(loaded, str(show)),
    )
    say(progress, "light on the room's surfaces")
    stage = set_the_stage(loaded, content, light=state, seed=seed, threads=many)
    say(progress, f"what {loaded.seats[index].name} sees")
    seen = seat_picture(stage, seat_camera(loaded, index, width=width, height=height, field_deg=field_deg), threads=many)
    return Picture(loaded, loaded.seats[index].name, seen, stage, index)


def _state(scene: Scene, name: str | None) -> Light | None:
    if name is None or name == "dark":
        return None
    found = next((each for each in scene.lights if each.name == name), None)
    if found is None:
        raise refuse("light", f'no light state "{name}"', allowed=", ".join(["dark", *(each.name for each in scene.lights)]))
    return found


class View:
    """The room in 3-D: `show()` opens it (inline in a notebook), `save()` writes PNG or GLB; `plotter` is pyvista's own."""

    def __init__(self, scene: Scene, content: Content, level: Level, options: dict[str, Any]) -> None:
        self.scene, self._content, self._level, self._options = scene, content, level, options
        self._shown: Shown | None = None

    @property
    def plotter(self) -> Any:
        """The pyvista Plotter, to add to; made when first asked for. raises halfgain.Error where the machine cannot draw"""
        from halfgain.simulate.views.graphics import check_graphics
        from halfgain.simulate.views.room3d import show_room

        if self._shown is None:
            check_graphics()
            self._shown = show_room(self.scene, self._content, level=self._level, **self._options)
        return self._shown.plotter

    def show(self, **options: Any) -> Any:
        """Open it; options go to pyvista's `Plotter.show`."""
        return self.plotter.show(title=f"halfgain: {self.scene.title}", **options)

    @takes(file=FILE)
    def save(self, file: str | Path) -> None:
        """Write a picture (.png), or the room itself (.glb: metres, y up, a named mesh a thing), which needs no graphics.

        raises  halfgain.Error for another ending, or where the machine cannot draw; OSError
        """
        from halfgain.simulate.output.writing import write_file

        path = Path(file)
        write_file(path, self._bytes(path.suffix.lower()), inputs=self.scene.files)

    def _bytes(self, suffix: str) -> bytes:
        from halfgain.simulate.views.room_glb import room_glb

        if suffix == ".glb":
            return room_glb(self.scene, level=self._level)
        if suffix != ".png":
            raise refuse("view", f'"{suffix}" is not written', allowed="a file name that ends in .png or .glb")
        data = io.BytesIO()
        self.plotter.screenshot(data)
        return data.getvalue()

    def __repr__(self) -> str:
        return f"<View of {self.scene.title!r}>"


@takes(scene=SCENE, show=_SHOWN, folds=TEXT, threads=THREADS, off_screen=YES_NO)
@in_one_blas_thread
def view(
    scene: AnyScene,
    *,
    show: str | Path = "gradient",
    folds: str = "typical",
    seed: int = 1,
    threads: int | None = None,
    off_screen: bool = True,
) -> View:
    """The room in 3-D: walls coloured by illuminance, the screen with its folds, beam and seats.

    Parameters
    ----------
    scene : Scene, or name or file of one
    show : str or path
        What the screen shows, as for `picture`; it lights the walls.
    folds : str
        Estimated folds of the hang: "low", "typical", "high".
    off_screen : bool
        True for files and notebooks; False for a window.

    Raises
    ------
    halfgain.Error
        No such picture or level of folds.
    """
    from halfgain.simulate.views.content import content_of

    checked(seed, 0.5)
    loaded = as_scene(scene)
    level = next((each for each in LEVELS if each == folds), None)
    if level is None:
        raise refuse("folds", f'"{folds}" is not allowed', allowed=", ".join(LEVELS))
    options = {"seed": seed, "threads": threads_or(threads), "off_screen": off_screen}
    return View(loaded, content_of(loaded, str(show)), level, options)


@takes(scene=SCENE, offer=MAPPING.optional, **WISHES, threads=THREADS, progress=PROGRESS)
@in_one_blas_thread
def report(
    scene: AnyScene,
    *,
    offer: Mapping[str, Any] | None = None,
    seed: int = 1,
    error: float = 0.01,
    threads: int | None = None,
    progress: Progress | None = None,
    **wishes: Any,
) -> str:
    """The client's page as one HTML text; what a scene does not say as for `advise`.

    Parameters
    ----------
    offer
        Fields of the first sheet, all optional: client, project, designer, date (texts), logo (a path), not_included (texts).

    Raises
    ------
    halfgain.Error
        A scene that cannot be, unknown wishes, texts or a logo that cannot stand on the page.
    """
    from halfgain.simulate.choices.variants import document_of_scene
    from halfgain.simulate.page.drawing_process import drawn_beside
    from halfgain.simulate.page.evidence import collect
    from halfgain.simulate.page.offer import offer_from
    from halfgain.simulate.page.page import page_html

    checked(seed, error)
    loaded, many, sheet = as_scene(scene), threads_or(threads), offer_from(offer or {})
    document = document_of_scene(loaded)
    asked = wished(document, **wishes)
    told = (lambda _: None) if progress is None else lambda stage: say(progress, stage)
    with drawn_beside(loaded, threads=many) as room:
        return page_html(collect(document, [], asked, room, seed=seed, error=error, threads=many, told=told), sheet)
