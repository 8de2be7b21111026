"""`halfgain compare`: one scene in several variants on the same light paths, and what differs between them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .files import check_out, image_files, write_told
from .ledger_option import LedgerFile, tell
from .options import AsJson, ErrorAsked, Folder, Names, SceneName, Seed, Threads, Verbose, file_to_read, out_to, repeated
from .seen_option import SeenFrom, Show, seat_to_draw, seen_from
from .stdout import note

if TYPE_CHECKING:
    from ..answers.ledger_file import Kept
    from ..choices.axes import Axis
    from ..choices.comparison import Comparison
    from ..choices.fabric_models import ModelSpread
    from ..choices.variants import Variant
    from ..output.compare.views import SeenVariants

Vary = Annotated[Names, repeated("--vary", "KEY=VALUE[,VALUE...]", "Any key of the scene file by its dotted path.")]
Fabrics = Annotated[Names, repeated("--fabric", "NAME", "A fabric of the library.")]
Hangs = Annotated[Names, repeated("--hang", "HANG", "pull-down, motorised, tab-tensioned or fixed frame.")]
FinishOption = Annotated[Names, repeated("--finish", "SURFACE=NAME", "A finish for a wall, ceiling, floor, object or border.")]
LightOutput = Annotated[list[float] | None, repeated("--light-output", "LM", "Light output of the projector.")]
Size = Annotated[Names, repeated("--size", "SIZE", 'Screen size: "width 2.4 m" or "diagonal 100 in".')]
SeatPosition = Annotated[Names, repeated("--seat-position", "SEAT=PLACE", "A seat's eye: [right, out, up] in metres.")]
LightState = Annotated[Names, repeated("--light", "STATE=LX", "A light state's illuminance at the screen.")]
VariantFile = Annotated[Path | None, file_to_read("--variants", "A list of variants, CSV or TOML.")]
FabricModels = Annotated[bool, typer.Option("--fabric-models", help="Run all models with the fabric's gain and half-gain angle.")]
Out = Annotated[Folder, out_to("compare.json, compare.csv and pictures")]


def compare(
    scene: SceneName,
    fabric: Fabrics = None,
    hang: Hangs = None,
    finish: FinishOption = None,
    light_output: LightOutput = None,
    size: Size = None,
    seat_position: SeatPosition = None,
    light: LightState = None,
    vary: Vary = None,
    variants: VariantFile = None,
    fabric_models: FabricModels = False,
    ledger: LedgerFile = None,
    seat: SeenFrom = None,
    show: Show = "checkerboard",
    as_json: AsJson = False,
    out: Out = None,
    seed: Seed = 1,
    error: ErrorAsked = 0.01,
    threads: Threads = None,
    verbose: Verbose = False,
) -> None:
    """Fabrics, hangs, finishes, projectors, sizes, seats in one room, on the same light paths.

    Give an option twice to compare two values, once to compare with the scene as it stands; several options make every
    combination. The first of each is the reference; "as it stands" is a value too. The ranking of fabrics can turn with
    the paint of one wall:

    halfgain compare dark-room --fabric beaded --fabric silver --finish back="charcoal matt paint" --finish back="white
    matt paint"

    halfgain compare light-lounge --vary projector.light_output_lm=1500,2600 --vary 'seat."sofa left".eye_m=[-0.7,3,1.1]'

    --ledger FILE answers from a traced ledger what keeps room, size and hang (and, of folded cloth, the lens).
    """
    from ..choices.axes import axes_of
    from ..choices.variants import read_document

    axes = axes_of(
        vary=vary or (),
        fabric=fabric or (),
        hang=hang or (),
        finish=finish or (),
        light_output=light_output or (),
        size=size or (),
        seat_position=seat_position or (),
        light=light or (),
        document=read_document(scene).table if finish else None,
    )
    axes, found = _variants(scene, axes, variants, fabric_models)
    chosen = seat_to_draw(found, seat, show, out)
    inputs = _inputs(found, variants, ledger, show if chosen else "")
    check_out(out, _names(found, chosen, fabric_models), inputs, command="compare")
    kept = _kept(ledger, found)
    comparison = _measured(axes, found, name=scene, seed=seed, error=error, threads=threads, kept=kept, pictures=out is not None)
    seen = None if chosen is None else seen_from(found, chosen, show, seed=seed, threads=threads)
    _tell(comparison, _spreads(comparison, fabric_models), seen, as_json=as_json, out=out, inputs=inputs, verbose=verbose)


def _names(found: list[Variant], seat: str | None, models: bool) -> list[str]:
    """Names of the files to come."""
    from ..output.compare.pictures import picture_names

    return ["compare.json", "compare.csv", *picture_names(found, seat, models=models)]


def _inputs(found: list[Variant], listed: Path | None, ledger: Path | None, show: str) -> list[Path]:
    """Files that this run reads."""
    own = dict.fromkeys(file for variant in found for file in variant.scene.files)
    return [*own, *(file for file in (listed, ledger) if file is not None), *image_files(None, show)]


def _variants(name: str, axes: list[Axis], listed: Path | None, models: bool) -> tuple[list[Axis], list[Variant]]:
    """Axes and variants of what was asked. raises BadInput where nothing is varied"""
    from ..choices.fabric_models import model_variants, why
    from ..choices.listed import listed_variants
    from ..choices.variants import read_document, variants_of
    from .errors import BadInput

    document = read_document(name)
    if models:
        if axes or listed is not None:
            raise BadInput("--fabric-models stands alone: leave out what else is varied")
        axis, found = model_variants(document.scene)
        if len(found) < 2:
            fabric = document.scene.screen.fabric
            raise BadInput(f'--fabric-models: "{fabric.name}" ({fabric.kind}) has one model only: {why(fabric)}')
        return [axis], found
    if listed is not None:
        axes = [listed_variants(listed), *axes]
    if not axes:
        raise BadInput('nothing is varied: give --fabric, --hang, --finish, --size ..., such as --fabric "matt white"')
    return axes, variants_of(document, axes)


def _kept(file: Path | None, found: list[Variant]) -> tuple[Kept, str] | None:
    """The ledger for these variants, and its name; None where none is given. raises BadInput where it cannot answer for one"""
    if file is None:
        return None
    from ..answers.ledger_file import LedgerError
    from ..choices.from_ledger import load_for
    from .errors import BadInput

    try:
        return load_for(file, found), str(file)
    except LedgerError as fault:
        raise BadInput(*str(fault).splitlines()) from None


def _measured(
    axes: list[Axis],
    found: list[Variant],
    *,
    name: str,
    seed: int,
    error: float,
    threads: int | None,
    kept: tuple[Kept, str] | None,
    pictures: bool,
) -> Comparison:
    from .background import interruptible
    from .progress import progress

    with progress(f"{name}, {len(found)} variants", error) as report:

        def run() -> Comparison:
            from ..choices.comparison import compare as run_compare
            from ..light.workers import default_threads

            return run_compare(
                axes,
                found,
                seed=seed,
                error=error,
                threads=threads or default_threads(),
                progress=report,
                ledger=kept,
                with_multiples=pictures,
            )

        comparison = interruptible(run)
    if comparison.ledger is not None:
        tell(comparison.ledger.retraced, Path(comparison.ledger.file))
    return comparison


def _spreads(comparison: Comparison, models: bool) -> tuple[ModelSpread, ...]:
    from ..choices.fabric_models import model_spreads

    return model_spreads(comparison.variants, comparison.paired) if models else ()


def _tell(
    comparison: Comparison,
    spreads: tuple[ModelSpread, ...],
    seen: SeenVariants | None,
    *,
    as_json: bool,
    out: Path | None,
    inputs: list[Path],
    verbose: bool,
) -> None:
    """Print, and write the files."""
    from ..output.compare.document import compare_document
    from ..output.measure.document import to_json
    from .stdout import say

    json_text = to_json(compare_document(comparison, spreads)) if as_json or out is not None else ""
    if as_json:
        text = json_text
    else:
        from ..output.compare.table import compare_report
        from .talk import console

        text = compare_report(comparison, console(), spreads)
    if out is not None:
        from ..output.compare.csv import compare_csv
        from ..output.compare.pictures import compare_pictures

        files = {
            "compare.json": json_text.encode(),
            "compare.csv": compare_csv(comparison).encode(),
            **compare_pictures(comparison, spreads, seen),
        }
        write_told(out, files, inputs, command="compare")
    if not comparison.met:
        reached = f"{100 * comparison.error_reached:.2g} % was reached, {100 * comparison.error_asked:.2g} % asked"
        note(f"halfgain: the cap on paths was met before the error: {reached}")
    if verbose:
        paths = sum(each.measurement.paths for each in comparison.paired)
        note(f"halfgain: {paths:,} paths in {comparison.elapsed_s:.2f} s")
    say(text)
