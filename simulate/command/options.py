"""Options that the commands share, with their allowed ranges."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from typer.models import OptionInfo

LEAST_ERROR, LARGEST_ERROR = 0.0005, 0.2
LARGEST_SEED, MOST_THREADS = 2**63 - 1, 256


def _seed_in_range(value: int) -> int:
    if not 0 <= value <= LARGEST_SEED:
        raise typer.BadParameter(f"{value} is not allowed; allowed 0 to {LARGEST_SEED}")
    return value


def _threads_in_range(value: int | None) -> int | None:
    if value is not None and not 1 <= value <= MOST_THREADS:
        raise typer.BadParameter(f"{value} is not allowed; allowed 1 to {MOST_THREADS}")
    return value


def _error_in_range(value: float) -> float:
    if not LEAST_ERROR <= value <= LARGEST_ERROR:  # false for NaN as well
        raise typer.BadParameter(f"{value:g} is not allowed; allowed {LEAST_ERROR:g} to {LARGEST_ERROR:g}")
    return value


def place_to_write(given: str | Path) -> Path:
    """A folder or file to write; without this an empty name, as of a shell variable not set, is the current folder.

    raises  typer.BadParameter: the name is empty or blank
    """
    if not str(given).strip():
        raise typer.BadParameter("the name is empty; allowed a folder or file, . for the current folder")
    return Path(given)


def out_to(files: str) -> OptionInfo:
    """The option --out DIR of a command that writes these files there."""
    return typer.Option("--out", metavar="DIR", help=f"Also write {files} there.", parser=place_to_write)


def repeated(flag: str, metavar: str, text: str) -> OptionInfo:
    """An option that may be given several times."""
    return typer.Option(flag, metavar=metavar, help=text)


def file_to_read(flag: str, text: str) -> OptionInfo:
    """An option that names a file to read."""
    return typer.Option(flag, metavar="FILE", help=text)


Names = list[str] | None
Folder = Path | None


def library_scenes(incomplete: str) -> list[str]:
    """Names of the library for a shell that completes; where none begins so, the shell completes file names."""
    from ...scenes.library import scene_names

    return [name for name in scene_names() if name.startswith(incomplete)]


SceneName = Annotated[
    str, typer.Argument(metavar="SCENE", help="A scene file, or a name of the library.", autocompletion=library_scenes)
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document on stdout, nothing else there.")]
OutFolder = Annotated[Folder, out_to("measure.json, seats.csv and pictures")]
Seed = Annotated[int, typer.Option("--seed", metavar="N", callback=_seed_in_range, help="Same seed, same scene: same numbers.")]
ErrorAsked = Annotated[
    float,
    typer.Option(
        "--error",
        metavar="R",
        callback=_error_in_range,
        help=f"Relative standard error to reach, {LEAST_ERROR:g} to {LARGEST_ERROR:g}.",
    ),
]
Threads = Annotated[
    int | None,
    typer.Option(
        "--threads",
        metavar="N",
        callback=_threads_in_range,
        help=f"1 to {MOST_THREADS}; left out: as many as this process may use.",
    ),
]
Verbose = Annotated[bool, typer.Option("-v", "--verbose", help="Tell what is being done, and how far it got; show tracebacks.")]
Full = Annotated[bool, typer.Option("--full", help="Every figure with its error, and all details and cautions.")]
