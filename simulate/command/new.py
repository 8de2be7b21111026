"""`halfgain new`: asks for the measures of a room in the order one takes them, and writes its scene; or prints the sheet for the site."""

from __future__ import annotations

import sys
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Annotated

import typer

from .errors import BadInput
from .options import AsJson, Folder, file_to_read, place_to_write
from .stdout import note

if TYPE_CHECKING:
    from ...scenes.survey.question import Given, Question, RefusedAnswer
    from ...scenes.survey.survey import Source

UNITS = ("m", "cm", "mm", "in", "ft")


def _unit(value: str | None) -> str | None:
    if value is not None and value not in UNITS:
        raise typer.BadParameter(f"{value} is not allowed; allowed {', '.join(UNITS)}")
    return value


File = Annotated[
    Path | None, typer.Argument(metavar="[FILE]", help="The scene file to write; left out: called by the room's name.")
]
Answers = Annotated[Folder, file_to_read("--answers", "Take the answers from this TOML file; nothing is asked.")]
Form = Annotated[
    Path | None,
    typer.Option("--answers-form", metavar="FILE", help="Write an empty file of answers instead.", parser=place_to_write),
]
Sheet = Annotated[
    Path | None,
    typer.Option(
        "--sheet",
        metavar="FILE.html",
        help="Write the one-page sheet to print and fill in on site instead.",
        parser=place_to_write,
    ),
]
UnitName = Annotated[
    str | None,
    typer.Option(
        "--unit", metavar="UNIT", callback=_unit, help="Of a number that names none, and of the sheet: m, cm, mm, in, ft."
    ),
]
Replace = Annotated[bool, typer.Option("--replace", help="Replace a scene that is there already.")]


def new(
    file: File = None,
    answers: Answers = None,
    unit: UnitName = None,
    replace: Replace = False,
    sheet: Sheet = None,
    answers_form: Form = None,
    as_json: AsJson = False,
) -> None:
    """A scene from a tape measure: asks in the order one walks through a room, judges each answer at once, writes a commented file.

    Lengths as you say them: 4.2, 420 cm, 165 in, 13 ft 6 in, 13' 6 1/2". An empty answer takes what stands in brackets. Answers may
    also come from a pipe, a line each, or from --answers FILE. Nothing is written before the last answer, and never over a file that
    is there, unless --replace says so and it is a scene.

    halfgain new my-room.toml

    halfgain new --sheet site.html --unit in

    halfgain new my-room.toml --answers answers.toml
    """
    if sheet is not None or answers_form is not None:
        _write_forms(sheet, answers_form, unit, file=file, answers=answers)
        return
    from ...scenes.survey.answers_file import AnswersFile

    _check_target(file, replace=replace)
    source: Source
    if answers is not None:
        source = read = AnswersFile(answers)
        unit = unit or _unit_of_file(read, answers)
    else:
        source = Asking()
    given = _surveyed(source, f"_{unit or 'm'}")
    target = file or _named(given)
    _check_target(target, replace=replace)
    _write(target, given, replace=replace, as_json=as_json)


def _unit_of_file(read: object, file: Path) -> str | None:
    stated: str | None = read.unit  # type: ignore[attr-defined]
    if stated is not None and stated not in UNITS:
        raise BadInput(f"{file}: unit: is no unit (got {stated[:20]}; allowed {', '.join(UNITS)})")
    return stated


class Back(Exception):
    """The person wants the question before this one again."""


BACK = "<"


def _surveyed(source: Source, unit: str) -> Given:
    """The answers; where a person goes back, all before that are taken again without asking."""
    from ...scenes.survey.survey import survey

    while True:
        try:
            return survey(source, unit=unit)
        except Back:
            continue


class Asking:
    """A person at a terminal, who is asked again and may go back, or a pipe, which is not and may not."""

    def __init__(self) -> None:
        self.person = sys.stdin.isatty()
        self.line = 0
        self._said: set[str] = set()
        self._given: list[tuple[str, tuple[str, int] | None, str]] = []  # key, place and text of each answer so far
        self._again: list[str] = []  # answers that are taken again after going back
        if self.person:
            self._tell(
                f"An empty answer takes what stands in brackets; {BACK} goes back; Ctrl-C ends it, and nothing is written."
            )

    def begin(self, title: str) -> None:
        """Headings, for a person alone."""
        self._tell(f"\n{title}")

    def answer(self, question: Question, given: Given, place: tuple[str, int] | None) -> str:
        """As `Source`. raises BadInput where the answers end, Back where a person goes back"""
        text = self._again.pop(0) if self._again else self._asked(question, given)
        self._given.append((question.key, place, text))
        return text

    def _asked(self, question: Question, given: Given) -> str:
        if question.hint and question.key not in self._said:
            self._said.add(question.key)
            self._tell(fill(f"({question.hint})", 78, initial_indent="  ", subsequent_indent="   "))
        default = question.default_text(given)
        shown = f" [{default}]" if default is not None else f" [{question.empty}]" if question.empty is not None else ""
        if self.person:
            sys.stderr.write(f"{question.ask}{shown}: ")
            sys.stderr.flush()
        while True:
            text = sys.stdin.readline()
            self.line += 1
            if not text:
                self._tell("")
                raise BadInput(f'the answers end before "{question.ask}": nothing is written')
            if self.person and text.strip() == BACK:
                self._again = [said for *_, said in self._given[:-1]]
                self._given.clear()
                raise Back
            if self.person or not text.startswith("#"):
                return text.strip()

    def refuse(self, question: Question, text: str, fault: RefusedAnswer, place: tuple[str, int] | None) -> None:
        """As `Source`. raises BadInput for a pipe"""
        from ...materials.text.plain import plain

        allowed = f" (allowed: {plain(fault.allowed)})" if fault.allowed else ""
        if not self.person:
            got = f'got "{plain(text, 60)}"; ' if text else ""
            allowed = (
                f" ({got}allowed: {plain(fault.allowed)})" if fault.allowed else f' (got "{plain(text, 60)}")' if text else ""
            )
            raise BadInput(f"answers, line {self.line}: {question.ask}: {fault}{allowed}")
        self._tell(f"  {plain(str(fault))}{allowed}")
        while self._given.pop()[:2] != (question.key, place):  # of an entry that cannot be, all its answers go
            pass

    def _tell(self, text: str) -> None:
        if self.person and not self._again:
            sys.stderr.write(f"{text}\n")
            sys.stderr.flush()


def _named(given: Given) -> Path:
    """A file by the room's name, in the current folder."""
    from ..output.file_names import file_stems

    return Path(f"{file_stems([str(given['title'])])[0].lower()}.toml")


def _check_target(file: Path | None, *, replace: bool) -> None:
    """Refuse a name that is taken before anything is asked; with --replace only what is no scene. raises SceneErrors, BadInput"""
    from ...materials.text.plain import plain_path
    from ...scenes.errors import SceneErrors
    from ...scenes.load import load_scene
    from ...scenes.new_file import check_new

    if file is None:
        return
    if not replace or not file.exists():
        check_new(file)
        return
    try:
        if file.stat().st_size:
            load_scene(file)
    except SceneErrors:
        raise BadInput(f"{plain_path(file)}: is no scene, so --replace does not replace it: choose another name") from None


def _write(target: Path, given: Given, *, replace: bool, as_json: bool) -> None:
    from ...materials.text.plain import plain_path
    from ...scenes.load import scene_from_text
    from ...scenes.new_file import write_new, write_over
    from ...scenes.survey.scene_text import scene_text
    from ..output.warned import gathered
    from .stdout import say

    text = scene_text(given)
    scene = scene_from_text(text, str(target))
    if replace and target.exists():
        write_over(target, text.encode())
    else:
        write_new(target, text.encode())
    note(f"halfgain: wrote {plain_path(target)}; next: halfgain measure {plain_path(target)}")
    note(*(f"halfgain: {warning.text}" for warning in gathered(scene.warnings, scene.seats)))
    if as_json:
        from ..output.measure.document import to_json

        document = {"format": "halfgain.new/1", "file": str(target), "scene": {"title": scene.title, "sha256": scene.sha256}}
        say(to_json({**document, "warnings": [warning.text for warning in scene.warnings]}))


def _write_forms(sheet: Path | None, form: Path | None, unit: str | None, *, file: Path | None, answers: Path | None) -> None:
    from ...materials.text.plain import plain_path

    if file is not None or answers is not None or (sheet is not None and form is not None):
        raise BadInput("--sheet and --answers-form each write one form and no scene: leave the rest out")
    if form is not None:
        from ...scenes.new_file import write_new
        from ...scenes.survey.answers_file import answers_form

        write_new(form, answers_form().encode())
        note(f"halfgain: wrote {plain_path(form)}")
        return
    from ..output.own_kind import kind_called
    from ..output.writing import write_file
    from ..page.site_sheet import site_sheet_html
    from .files import check_file

    assert sheet is not None
    check_file(sheet, kind_called("new.html"), [])
    write_file(sheet, site_sheet_html(unit or "m").encode())
    note(f"halfgain: wrote {plain_path(sheet)}: one A4 page to print")
