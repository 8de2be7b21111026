"""The option `--ledger FILE`, shared by the commands that answer from a traced ledger."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

from ...materials.dataclass import dataclass
from .errors import BadInput
from .files import check_out, write_told
from .options import file_to_read
from .stdout import note

if TYPE_CHECKING:
    from ...scenes.model import Scene
    from ..answers.answers import Answers
    from ..measuring.measure import Measurement

Result = TypeVar("Result")
LedgerFile = Annotated[
    Path | None, file_to_read("--ledger", "Answer from this ledger, made by: halfgain trace SCENE --ledger FILE.")
]


def open_answers(scene: Scene, ledger: Path | None, *, error: float, seed: int, threads: int) -> Answers:
    """Answers for a scene from a ledger file, or from a ledger traced now; precise enough for the scene as it is.

    error   asked relative standard error [1];  seed  of a ledger traced now, a file has its own
    raises  BadInput when the file is no ledger or belongs to another geometry
    Prints on stderr what had to be traced anew.
    """
    from ..answers.answers import Answers
    from ..answers.ledger_file import LedgerError, load
    from ..measuring.solver import map_cells

    try:
        kept = None if ledger is None else load(ledger)
        answers = Answers.of(scene, kept, where=str(ledger), seed=seed, paths=32, threads=threads, cells=map_cells(error))
    except LedgerError as fault:
        raise BadInput(*str(fault).splitlines()) from None
    found = answers.precise(error)
    if ledger is not None:
        tell(found.said, ledger)
    return found.answers


@dataclass(frozen=True)
class OutPlace:
    """Where a command writes, if anywhere: its folder, its name, the names of its files, and what it reads beside scene and ledger."""

    out: Path | None
    command: str
    names: Sequence[str]
    reads: Sequence[Path]

    def check(self, scene: Scene, ledger: Path | None) -> None:
        """Refuse early, as `check_out`."""
        check_out(self.out, self.names, self._inputs(scene, ledger), command=self.command)

    def write(self, scene: Scene, ledger: Path | None, files: Mapping[str, bytes]) -> None:
        """Write and tell, as `write_told`."""
        write_told(self.out, files, self._inputs(scene, ledger), command=self.command)

    def _inputs(self, scene: Scene, ledger: Path | None) -> list[Path]:
        return [*scene.files, *self.reads, *([] if ledger is None else [ledger])]


def with_answers(
    name: str,
    place: OutPlace,
    work: Callable[[Scene, Callable[[], Answers]], Result],
    *,
    ledger: Path | None,
    error: float,
    seed: int,
    threads: int | None,
) -> tuple[Scene, Result]:
    """A scene by name, and what `work` makes of it in the background; Ctrl-C is heard.

    work    gets the scene and a function that opens its answers: what it refuses before, it refuses without tracing
    raises  as `load_scene`, `check_out` and `open_answers`
    """
    from ...scenes.load import load_scene
    from .background import interruptible

    loaded = load_scene(name)
    place.check(loaded, ledger)

    def run() -> Result:
        from ..light.workers import default_threads

        many = threads or default_threads()
        return work(loaded, lambda: open_answers(loaded, ledger, error=error, seed=seed, threads=many))

    return loaded, interruptible(run)


def from_ledger(scene: Scene, ledger: Path, *, error: float, threads: int) -> Measurement:
    """What `measure` gives, from a ledger file; error asked relative standard error [1]. Raises as `open_answers`."""
    return open_answers(scene, ledger, error=error, seed=0, threads=threads).measurement(error)[0]


def tell(said: Iterable[str], ledger: Path) -> None:
    """What had to be traced anew, a line on stderr for each sentence."""
    for sentence in said:
        note(f"halfgain: {ledger}: {sentence}; the file is as it was")
