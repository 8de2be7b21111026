"""The runs: measure, trace, compare, advise, flatness. Each takes a Scene, a library name or a file, and tells where it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfgain.kinds import PROGRESS, SCENE
from halfgain.one_blas_thread import in_one_blas_thread
from halfgain.progress import Progress
from halfgain.scenes.given import FILE, NUMBER, THREADS, Kind, is_list, is_number, takes
from halfgain.scenes.load import load_scene
from halfgain.scenes.model import Scene
from halfgain.simulate.light.progress import say
from halfgain.wishing import WISHES, wished

if TYPE_CHECKING:
    from halfgain.materials.fabric import Fabric
    from halfgain.materials.finish import Finish
    from halfgain.simulate.answers.answers import Answers
    from halfgain.simulate.choices.advice import Advice
    from halfgain.simulate.choices.comparison import Comparison
    from halfgain.simulate.folds.flatness import Flatness
    from halfgain.simulate.measuring.measure import Measurement

AnyScene = Scene | str | Path
_ANSWERS = Kind(lambda value: hasattr(value, "stage"), "what trace or open_ledger gave")
_NAMES = Kind(
    lambda value: isinstance(value, str) or (is_list(value) and all(isinstance(each, str) for each in value)), "a list of names"
)
_VALUES = Kind(lambda value: isinstance(value, str) or is_list(value), "a list of names or values")
_VARIED = Kind(
    lambda value: (
        isinstance(value, Mapping)
        and all(isinstance(key, str) and (isinstance(each, str) or is_list(each)) for key, each in value.items())
    ),
    "a mapping of names to lists of values",
).optional


def as_scene(scene: AnyScene) -> Scene:
    """A scene as it is, or loaded by its name or from its file. raises halfgain.Error"""
    return scene if isinstance(scene, Scene) else load_scene(scene)


def threads_or(threads: int | None) -> int:
    """Threads asked for, or those that this process may use."""
    from halfgain.simulate.light.workers import default_threads

    return threads or default_threads()


@takes(scene=SCENE, threads=THREADS, progress=PROGRESS)
@in_one_blas_thread
def measure(
    scene: AnyScene, *, seed: int = 1, error: float = 0.01, threads: int | None = None, progress: Progress | None = None
) -> Measurement:
    """Luminance, contrast and wash-out at every seat of a scene.

    Parameters
    ----------
    scene : Scene, or name or file of one
    seed : int
        Not negative. The same seed and scene give the same bits at any number of threads.
    error : float
        Asked relative standard error [1], above 0 and below 1.
    threads : int, optional
        Left out: all that this process may use.
    progress : callable, optional
        Called with a `Step` after each round.

    Returns
    -------
    Measurement
        `met` is False where the cap on paths left it short of the error.

    Raises
    ------
    halfgain.Error
        A scene that cannot be, a seed or an error out of range.
    """
    from halfgain.simulate.measuring.measure import measure as run

    checked(seed, error)
    return run(as_scene(scene), seed=seed, error=error, threads=threads_or(threads), progress=progress)


def checked(seed: int, error: float) -> None:
    """Refuses a seed or an error out of range. raises halfgain.Error"""
    from halfgain.scenes.errors import SceneError, SceneErrors

    wrong = []
    if isinstance(seed, bool) or not hasattr(seed, "__index__") or not 0 <= int(seed) < 2**64:
        wrong.append(SceneError("halfgain", 0, "seed", seed, "is no seed", "a whole number from 0 to 2^64 - 1"))
    if not (is_number(error) and 0.0 < error < 1.0):
        wrong.append(SceneError("halfgain", 0, "error", error, "is no relative standard error", "above 0, below 1"))
    if wrong:
        raise SceneErrors(wrong)


@takes(scene=SCENE, lightest=NUMBER, threads=THREADS, progress=PROGRESS)
@in_one_blas_thread
def trace(
    scene: AnyScene,
    *,
    seed: int = 1,
    error: float = 0.01,
    lightest: float = 0.85,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Answers:
    """Light paths of a scene, traced once: the Answers then give other finishes, fabrics, pictures and lamps without new paths.

    Parameters
    ----------
    scene : Scene, or name or file of one
    seed, error, threads, progress
        As for `measure`; the paths are as many as the scene itself needs for the error, twice over.
    lightest : float
        The lightest finish to be tried later [1], up to 0.97; paths go on long enough for it.

    Raises
    ------
    halfgain.Error
        As `measure`, and a lightest finish out of range.
    """
    from halfgain.simulate.answers.trace import traced_answers

    checked(seed, error)
    say(progress, "light paths")
    return traced_answers(as_scene(scene), seed=seed, error=error, lightest=lightest, threads=threads_or(threads))


@takes(file=FILE, scene=SCENE, threads=THREADS)
@in_one_blas_thread
def open_ledger(file: str | Path, scene: AnyScene, *, threads: int | None = None) -> Answers:
    """Answers for a scene from a ledger file, as `halfgain trace` or `save_ledger` wrote it.

    Raises
    ------
    halfgain.Error
        A file that is no ledger, or one of another geometry, with what differs.
    """
    from halfgain.simulate.answers.answers import Answers
    from halfgain.simulate.answers.ledger_file import load

    return Answers.of(as_scene(scene), load(Path(file)), where=str(file), threads=threads_or(threads))


@takes(answers=_ANSWERS, file=FILE)
def save_ledger(answers: Answers, file: str | Path) -> None:
    """Keep the light paths of answers in a file (.npz) for `open_ledger` and the commands' `--ledger`.

    Raises
    ------
    halfgain.Error
        A file stands there that is no ledger.
    OSError
        The disk or the rights fail; what stood there before stays.
    """
    from halfgain.simulate.answers.ledger_file import to_bytes
    from halfgain.simulate.output.own_kind import LEDGER, check_replaceable
    from halfgain.simulate.output.writing import write_file

    path = Path(file)
    check_replaceable(path.parent, {path.name: LEDGER}, answers.scene.files)
    write_file(path, to_bytes(answers.stage.kept), inputs=answers.scene.files)


@takes(scene=SCENE, fabric=_VALUES, hang=_VALUES, finish=_VARIED, vary=_VARIED, threads=THREADS, progress=PROGRESS)
@in_one_blas_thread
def compare(
    scene: AnyScene,
    *,
    fabric: Sequence[str | Fabric] = (),
    hang: Sequence[str] = (),
    finish: Mapping[str, Sequence[str | float | Finish]] | None = None,
    vary: Mapping[str, Sequence[Any]] | None = None,
    seed: int = 1,
    error: float = 0.01,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """One scene in several variants on the same light paths, so that differences are far surer than the values.

    Parameters
    ----------
    scene : Scene, or name or file of one
    fabric, hang : sequences
        What to try; one value is compared with the scene as it stands.
    finish : mapping
        Surface to finishes: ``{"ceiling": [0.8, "charcoal matt paint"]}``.
    vary : mapping
        Any key of the scene file to values: ``{"projector.light_output_lm": [1500, 2600]}``. All combinations are made.
    seed, error, threads, progress
        As for `measure`.

    Raises
    ------
    halfgain.Error
        Nothing to vary, unknown names, a variant that cannot be.
    """
    from halfgain.scenes.change import surface_key
    from halfgain.scenes.changes import refuse
    from halfgain.simulate.choices.axes import axes_of_values
    from halfgain.simulate.choices.comparison import compare as run
    from halfgain.simulate.choices.variants import document_of_scene, variants_of

    checked(seed, error)
    loaded = as_scene(scene)
    document = document_of_scene(loaded)
    keys: dict[str, tuple[str, Sequence[Any]]] = {}
    if fabric:
        keys["screen.fabric"] = ("fabric", fabric)
    if hang:
        keys["screen.hang"] = ("hang", hang)
    for surface, values in (finish or {}).items():
        keys[surface_key(loaded, surface)] = (surface, values)
    for key, values in (vary or {}).items():
        keys[key] = (key, values)
    if not keys:
        raise refuse("compare", "nothing is varied", allowed="fabric, hang, finish or vary")
    axes = axes_of_values(keys)
    variants = variants_of(document, axes)
    return run(axes, variants, seed=seed, error=error, threads=threads_or(threads), progress=progress)


@takes(scene=SCENE, fabrics=_NAMES, **WISHES, threads=THREADS, progress=PROGRESS)
@in_one_blas_thread
def advise(
    scene: AnyScene,
    *,
    fabrics: Sequence[str] = (),
    use: str | None = None,
    speakers_behind: bool = False,
    free_hanging: bool | None = None,
    clear_wall: bool = False,
    children: bool = False,
    dust: bool = False,
    prices: Mapping[str, float] | None = None,
    first_aim: str | None = None,
    weights: Mapping[str, float] | None = None,
    seed: int = 1,
    error: float = 0.02,
    threads: int | None = None,
    progress: Progress | None = None,
) -> Advice:
    """Which hang and which fabrics serve in a room, by measured evidence, the rules of the trade apart.

    Parameters
    ----------
    scene : Scene, or name or file of one
    fabrics : sequence of names
        Choose among these; left out: the whole library.
    use, speakers_behind, free_hanging, clear_wall, children, dust
        What a scene file does not say; see `halfgain advise --help`.
    prices : mapping
        By hang or fabric name, in one currency.
    first_aim, weights
        What counts before all else, and how much an aim counts: white, evenness, contrast, lights-on.
    seed, error, threads, progress
        As for `measure`.

    Raises
    ------
    halfgain.Error
        Unknown names, prices that are none, or no fabric left.
    """
    from halfgain.simulate.choices.advice import advise as run
    from halfgain.simulate.choices.variants import document_of_scene

    checked(seed, error)
    document = document_of_scene(as_scene(scene))
    wishes = wished(
        document,
        use=use,
        speakers_behind=speakers_behind,
        free_hanging=free_hanging,
        clear_wall=clear_wall,
        children=children,
        dust=dust,
        prices=prices,
        first_aim=first_aim,
        weights=weights,
    )
    names = [fabrics] if isinstance(fabrics, str) else list(fabrics)
    return run(document, wishes, fabrics=names, seed=seed, error=error, threads=threads_or(threads), progress=progress)


@takes(scene=SCENE, threads=THREADS, progress=PROGRESS)
@in_one_blas_thread
def flatness(scene: AnyScene, *, threads: int | None = None, progress: Progress | None = None) -> Flatness:
    """How flat the screen must be: the largest amplitude of waves that no seat sees, by wavelength and direction.

    Raises
    ------
    halfgain.Error
        A scene that cannot be.
    """
    from halfgain.simulate.folds.flatness import flatness as run
    from halfgain.simulate.measuring.flat_white import flat_white

    loaded = as_scene(scene)
    return run(loaded, flat_white(loaded), threads=threads_or(threads), progress=progress)


@takes(progress=PROGRESS)
def warm_up(*, progress: Progress | None = None) -> None:
    """Compile the light code now, so that the first `measure` of a session does not wait for it; later sessions find it cached."""
    from halfgain.materials.kernels.numbas import when_compiling
    from halfgain.simulate.measuring.first_run import compiling_beside
    from halfgain.simulate.measuring.measure import measure as run

    def told() -> None:
        say(progress, "compiling the light code, once after an installation (about 20 s)")

    name = "light-lounge"
    with when_compiling(told), compiling_beside(name, threads=threads_or(None)) as ready:
        run(load_scene(name), error=0.5, threads=1, before_paths=ready)
    say(progress, "ready")
