"""`halfgain fit`: a fabric from gain and half-gain angle, or from a measured curve; judged, shown, and written to a file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from ...materials.text.plain import plain, plain_path
from .errors import BAD_INPUT, BadInput
from .options import AsJson, place_to_write
from .stdout import note

if TYPE_CHECKING:
    from ...materials.solving.fit_report import FitReport

LONGEST_NAME = 200
Number = float | None
_GAIN = typer.Option("--gain", metavar="G", help="Peak gain of the sheet.")
_HALF = typer.Option("--half-gain-deg", metavar="DEG", help="From the normal to where the gain is half.")
_HALF_UP = typer.Option("--half-gain-up-deg", metavar="DEG", help="The same up and down, if it differs.")
_ANGLE = typer.Option("--viewing-angle-deg", metavar="DEG", help="The sheet's viewing angle, with --viewing-angle-is.")
_MEANING = typer.Option("--viewing-angle-is", metavar="WHAT", help="half-gain | full-cone | one-plane | third | full-cone-third.")
_ALBEDO = typer.Option("--albedo", metavar="R", help="Total reflectance at normal incidence, if known.")
_KIND = typer.Option("--kind", metavar="KIND", help="diffuse | angular-reflective | retro-reflective.")
_OPEN = typer.Option("--open-area", metavar="T", help="Share of holes, 0 to below 1.")
_TILE = typer.Option("--tile-reflectance", metavar="R", help="Reflectance of the tile that the gains were measured against.")
_CURVE = typer.Option("--curve", metavar="FILE", help="CSV: view_deg,gain and, if known, incidence_deg,azimuth_deg,gain_sd.")
_ANGLES = typer.Option("--angles-are", metavar="UNIT", help="degrees | radians, where the curve leaves a doubt.")
_FAMILY = typer.Option("--family", metavar="NAME", help="Family that the file gets; left out: the best; measured: the points.")
_NAME = typer.Option("--name", metavar="NAME", help="Name of the fabric in the file.")
_OUT = typer.Option("--out", metavar="FILE", help="Library file to write, or to add the fabric to.", parser=place_to_write)
_PICTURES = typer.Option("--pictures", metavar="DIR", help="Folder for pictures.", parser=place_to_write)


def fit(
    gain: Annotated[Number, _GAIN] = None,
    half_gain_deg: Annotated[Number, _HALF] = None,
    half_gain_up_deg: Annotated[Number, _HALF_UP] = None,
    viewing_angle_deg: Annotated[Number, _ANGLE] = None,
    viewing_angle_is: Annotated[str | None, _MEANING] = None,
    albedo: Annotated[Number, _ALBEDO] = None,
    kind: Annotated[str | None, _KIND] = None,
    open_area: Annotated[float, _OPEN] = 0.0,
    tile_reflectance: Annotated[float, _TILE] = 1.0,
    curve: Annotated[Path | None, _CURVE] = None,
    angles_are: Annotated[str | None, _ANGLES] = None,
    family: Annotated[str | None, _FAMILY] = None,
    name: Annotated[str | None, _NAME] = None,
    out: Annotated[Path | None, _OUT] = None,
    pictures: Annotated[Path | None, _PICTURES] = None,
    as_json: AsJson = False,
) -> None:
    """A fabric from gain and half-gain angle, or from a measured gain curve: what it can be, and a file that scenes use."""
    from ...materials.fabric_error import FabricError
    from ...materials.solving.curve import CurveErrors

    _check_options(curve, gain, half_gain_deg, viewing_angle_deg, out, name)
    _check_places(out, pictures, curve)
    if not 0.5 <= tile_reflectance <= 1.0:
        raise BadInput(f"--tile-reflectance {tile_reflectance:g} is not allowed; allowed 0.5 to 1")
    try:
        if curve is not None:
            stray = {
                "--gain": gain,
                "--half-gain-deg": half_gain_deg,
                "--albedo": albedo,
                "--half-gain-up-deg": half_gain_up_deg,
                "--viewing-angle-deg": viewing_angle_deg,
            }
            report = _of_curve(curve, angles_are, kind, open_area, tile_reflectance, family, stray)
        else:
            report = _of_numbers(
                gain,
                half_gain_deg,
                half_gain_up_deg,
                viewing_angle_deg,
                viewing_angle_is,
                albedo,
                kind,
                open_area,
                tile_reflectance,
                {"--angles-are": angles_are, "--family": family},
            )
    except CurveErrors as wrong:
        raise BadInput(*str(wrong).splitlines()) from None
    except FabricError as wrong:
        raise BadInput(_in_options(wrong)) from None
    _finish(report, name, out, pictures, as_json, curve)


def _check_options(
    curve: Path | None, gain: Number, half_gain_deg: Number, viewing_angle_deg: Number, out: Path | None, name: str | None
) -> None:
    if curve is None and gain is None:
        raise BadInput("fit needs --gain (and --half-gain-deg), or --curve FILE")
    if half_gain_deg is not None and viewing_angle_deg is not None:
        raise BadInput("--half-gain-deg stands beside --viewing-angle-deg: give one")
    if out is not None and not (name or "").strip():
        raise BadInput("--out needs --name: what the fabric is called in the file")
    if name is not None and (name != plain(name, LONGEST_NAME)):
        raise BadInput(
            f'--name: "{plain(name)}" cannot serve as a name; allowed up to {LONGEST_NAME} letters and signs that can be shown'
        )


def _check_places(out: Path | None, pictures: Path | None, curve: Path | None) -> None:
    """Refuse before any work what would be lost: a file that is no library, pictures that are none, the curve itself."""
    from .files import check_file, check_out

    inputs = [] if curve is None else [curve]
    if out is not None:
        from ...materials.library import LibraryErrors, load_library
        from ..output.own_kind import LIBRARY

        try:
            load_library(out if out.exists() else None)
        except LibraryErrors as wrong:
            raise BadInput(*(f"{line}: nothing is added to it" for line in str(wrong).splitlines())) from None
        check_file(out, LIBRARY, inputs)
    drawn = ("gain.png", "reflectance.png", "lobe.png") if curve is None else ("gain.png", "residuals.png")
    check_out(pictures, drawn, inputs, command="fit")
    if out is not None and pictures is not None and out.resolve() in [(pictures / name).resolve() for name in drawn]:
        raise BadInput(f"--out {plain_path(out)}: is the name of a picture of --pictures: choose another")


def _no_stray(stray: dict[str, Any], beside: str) -> None:
    for option, value in stray.items():
        if value is not None:
            raise BadInput(f"{option} has no meaning beside {beside}")


def _of_numbers(
    gain: Number,
    half_gain_deg: Number,
    half_gain_up_deg: Number,
    viewing_angle_deg: Number,
    viewing_angle_is: str | None,
    albedo: Number,
    kind: str | None,
    open_area: float,
    tile_reflectance: float,
    stray: dict[str, Any],
) -> FitReport:
    from ...materials.solving.fit_report import report_pair
    from ...materials.solving.viewing_angle import half_gain_of

    assert gain is not None
    _no_stray(stray, "--gain: it belongs to --curve")
    if viewing_angle_is is not None and viewing_angle_deg is None:
        raise BadInput("--viewing-angle-is needs --viewing-angle-deg")
    notes, no_base = _tile_notes(tile_reflectance), False
    if viewing_angle_deg is not None:
        found = half_gain_of(viewing_angle_deg, viewing_angle_is)
        half_gain_deg, no_base, notes = found.half_gain_deg, found.no_base, (*notes, *found.notes)
    if half_gain_up_deg is not None and half_gain_deg is None:
        raise BadInput("--half-gain-up-deg needs --half-gain-deg")
    return report_pair(
        gain=gain * tile_reflectance,
        half_gain_deg=half_gain_deg,
        albedo=albedo,
        kind=kind,
        half_gain_up_deg=half_gain_up_deg,
        open_area=open_area,
        no_base=no_base,
        notes=notes,
    )


def _of_curve(
    curve: Path,
    angles_are: str | None,
    kind: str | None,
    open_area: float,
    tile_reflectance: float,
    family: str | None,
    stray: dict[str, Any],
) -> FitReport:
    from ...materials.lobes.profile import MIRROR, SOURCE
    from ...materials.solving.curve import read_curve
    from ...materials.solving.fit_report import report_curve

    _no_stray(stray, "--curve")
    if angles_are not in (None, "degrees", "radians"):
        raise BadInput(f"--angles-are {plain(angles_are)} is not allowed; allowed degrees | radians")
    axes = {None: None, "angular-reflective": MIRROR, "retro-reflective": SOURCE}
    if kind not in axes:
        raise BadInput(f"--kind {plain(kind or '')} is not allowed with --curve; allowed angular-reflective | retro-reflective")
    if not 0.0 <= open_area < 1.0:
        raise BadInput(f"--open-area {open_area:g} is not allowed; allowed 0 to below 1")
    points = read_curve(curve, angles_are).scaled(tile_reflectance)
    return report_curve(points, axis=axes[kind], open_area=open_area, family=family, notes=_tile_notes(tile_reflectance))


def _tile_notes(tile_reflectance: float) -> tuple[str, ...]:
    if tile_reflectance == 1.0:
        return ()
    return (f"gains corrected by the tile's reflectance, {tile_reflectance:g}",)


def _in_options(wrong: Any) -> str:
    """A FabricError with its key as the option that the user typed."""
    got = "" if wrong.value is None else f"got {wrong.value}; "
    return f"--{wrong.key.replace('_', '-')}: {wrong.message} ({got}allowed {wrong.allowed})"


def _finish(
    report: FitReport, name: str | None, out: Path | None, pictures: Path | None, as_json: bool, curve: Path | None
) -> None:
    """Everything is made first and written last; an impossible fabric writes nothing and ends with status 2."""
    from ..output.fabric.fit_document import fit_document, fit_text
    from ..output.in_turn import in_turn
    from ..output.writing import write_file
    from .files import write_told
    from .stdout import say

    text = json.dumps(fit_document(report), indent=2, allow_nan=False) + "\n" if as_json else fit_text(report)
    if report.verdict == "impossible":
        say(text)
        note(f"halfgain: impossible: {report.reason}; nothing is written")
        raise typer.Exit(BAD_INPUT)
    if pictures is not None:
        from ..output.fabric.pictures import fit_pictures

        drawn = fit_pictures(report)
    inputs = [] if curve is None else [curve]
    if out is not None:
        with in_turn(out.parent):
            write_file(out, _library(report, name, out), inputs=inputs)
        note(f'halfgain: "{name}" written to {out}')
    if pictures is not None:
        write_told(pictures, drawn, inputs, command="fit", what="pictures")
    say(text)


def _library(report: FitReport, name: str | None, out: Path) -> bytes:
    from ...materials.fabric_error import FabricError
    from ...materials.fabric_file import FabricFileError, library_with

    assert report.table is not None
    source = "fitted to a measured curve" if report.curve is not None else "gain and half-gain angle of a specification sheet"
    try:
        return library_with(out, {"name": name, **report.table, "source": source})
    except FabricFileError as wrong:
        raise BadInput(*str(wrong).splitlines()) from None
    except FabricError as wrong:
        raise BadInput(f"this fit cannot be written as a fabric: {wrong}; choose another --family") from None
