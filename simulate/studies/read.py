"""A study file, or the same as a mapping in Python, to a Study; everything that is wrong at once, with file, line and key."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path as FilePath
from typing import Any

from pydantic import ValidationError

from ...materials.library import load_library
from ...materials.text.nearest import nearest
from ...materials.text.problem import Problem, dotted, problems_of
from ...materials.text.toml_lines import Path as Place
from ...materials.text.toml_lines import key_lines, line_of
from ...scenes.errors import NOTHING, SceneError, SceneErrors
from ...scenes.library import scene_names
from ...scenes.load import load_scene
from ...scenes.model import Scene
from ...scenes.read import decode, parse, read_bytes
from ..choices.axes import Setting
from ..choices.variants import document_of_scene
from ..measuring.quantities import BY_KEY
from ..measuring.targets import DARK
from .factors import Factor, LevelFactor, SpreadFactor
from .read_factor import factor_of
from .study import SCENE, Base, Design, Study
from .table import MOST_VARIANTS, DesignTable, StudyTable
from .trial import trial_problems

OUTPUTS = ("white_cd_m2", "uniformity_ratio", "checkerboard_ratio", "washout_cd_m2")
RESERVED = (
    "variant",
    "seat",
    "state",
    "figure",
    "value",
    "standard_error",
    "bias_bound",
    "light_paths",
    "met",
    "content",
    "failed",
)  # columns of the results
FORMS = 'a study: scene = "long-lounge" and [[factor]] tables'
IN_CODE = "study"  # what a study without a file is called in messages


def read_study(file: str | FilePath) -> Study:
    """The study of a TOML file. raises SceneErrors with everything that is wrong in it or in its scenes"""
    path, name = FilePath(file), str(file)
    data = read_bytes(path, name, "a study file", FORMS)
    text = decode(data, name, FORMS)
    table = parse(text, name)
    return _study(table, name, key_lines(text), path.parent, hashlib.sha256(data).hexdigest(), (path,))


def study_of(given: Mapping[str, Any], folder: str | FilePath = ".") -> Study:
    """The study of a mapping as the file would parse to; scenes may be Scenes, values fabrics and finishes.

    folder  where its scene files lie;  raises  SceneErrors, without lines
    """
    from ...scenes.digest import digest_of

    try:
        digest = digest_of(given)
    except TypeError:  # with values that no file could hold: the tables refuse them
        digest = ""
    return _study(given, IN_CODE, {}, FilePath(folder), digest, ())


def _study(
    raw: Mapping[str, Any], name: str, lines: Mapping[Place, int], folder: FilePath, sha256: str, files: tuple[FilePath, ...]
) -> Study:
    problems: list[Problem] = []

    def refuse(path: Place, message: str, value: Any = None, allowed: str = "") -> None:
        problems.append(Problem(name, line_of(path, lines), dotted(path), value, message, allowed))

    try:
        table = StudyTable.model_validate(dict(raw))
    except ValidationError as fault:
        raise _errors(problems_of(fault, model=StudyTable, file=name, lines=lines)) from None
    design = _design(table, name, lines, problems)
    factors = [factor_of(each, name, lines, ("factor", i), problems) for i, each in enumerate(table.factor or [])]
    bases, errors = _bases(table, folder, refuse)
    outputs = _outputs(table, refuse)
    _states(table, bases, refuse)
    if table.factor is None and len(bases) < 2:
        refuse(("factor",), "nothing is varied", None, "[[factor]] tables, or several scenes")
    if problems or errors:
        raise SceneErrors([*_errors(problems).errors, *errors])
    known = [each for each in factors if each is not None]
    every: list[Factor] = [_scene_factor(bases, name), *known] if len(bases) > 1 else known
    study = Study(
        title=table.title or (FilePath(name).stem if files else f"study of {bases[0].document.scene.title}"),
        bases=tuple(bases), factors=tuple(every), outputs=outputs, states=None if table.states is None else tuple(table.states),
        error=table.error, seed=table.seed, design=design, name=name,
        files=(*files, *dict.fromkeys(file for base in bases for file in base.document.scene.files)), sha256=sha256,
    )  # fmt: skip
    _agreeing(study, table, refuse)
    if not problems:
        problems += trial_problems(study, len(every) - len(known), lines)
    if problems:
        raise _errors(problems)
    return study


def _errors(problems: list[Problem]) -> SceneErrors:
    found = [SceneError(p.file, p.line, p.key, NOTHING if p.value is None else p.value, p.message, p.allowed) for p in problems]
    return SceneErrors(found)


def _design(table: StudyTable, name: str, lines: Mapping[Place, int], problems: list[Problem]) -> Design:
    given = {} if table.design is None else table.design
    if not isinstance(given, Mapping):
        problems.append(Problem(name, line_of(("design",), lines), "design", given, "should be a table", "[design]"))
        return Design()
    try:
        read = DesignTable.model_validate(dict(given))
    except ValidationError as fault:
        problems += problems_of(fault, model=DesignTable, file=name, lines=lines, prefix=("design",))
        return Design()
    seed = table.seed if read.seed is None else read.seed
    return Design(read.combine, read.method, 0 if read.samples is None else read.samples, seed)


def _bases(table: StudyTable, folder: FilePath, refuse: Any) -> tuple[list[Base], list[SceneError]]:
    """The base scenes, and what their own files say against them."""
    if (table.scene is None) == (table.scenes is None):
        message = "stands beside scenes" if table.scene is not None else "is missing"
        refuse(("scene",), message, None, "scene, or scenes")
        return [], []
    given = (
        [(("scene",), table.scene)] if table.scenes is None else [(("scenes", i), each) for i, each in enumerate(table.scenes)]
    )
    bases: list[Base] = []
    errors: list[SceneError] = []
    for path, each in given:
        if not isinstance(each, str | FilePath | Scene):
            message = "takes one scene, several stand under scenes" if isinstance(each, list | tuple) else "should be a text"
            refuse(path, message, each, "a scene file, or a name of the library")
            continue
        try:
            scene = _scene(each, folder)
            document = document_of_scene(scene)
            library = load_library([document.folder / name for name in document.table.get("libraries", [])] or None)
        except SceneErrors as fault:
            first = fault.errors[0]
            if first.line == 0 and not first.key:  # the file itself: the study names it
                refuse(path, first.message, str(each), first.allowed)
            else:
                errors += fault.errors
            continue
        bases.append(Base(_base_name(each, scene, bases), document, library))
    return bases, errors


def _scene(given: str | FilePath | Scene, folder: FilePath) -> Scene:
    if isinstance(given, Scene):
        return given
    if str(given) in scene_names() or (not FilePath(given).suffix and FilePath(given).name == str(given)):
        return load_scene(str(given))
    return load_scene(folder / given)


def _base_name(given: str | FilePath | Scene, scene: Scene, others: list[Base]) -> str:
    name = scene.title if isinstance(given, Scene) else FilePath(given).stem
    taken = [base.name for base in others]
    return name if name not in taken else next(f"{name} {i}" for i in range(2, 100) if f"{name} {i}" not in taken)


def _scene_factor(bases: list[Base], name: str) -> LevelFactor:
    names = tuple(base.name for base in bases)
    return LevelFactor(SCENE, name, tuple(Setting(each) for each in names), names)


def _outputs(table: StudyTable, refuse: Any) -> tuple[str, ...]:
    given = OUTPUTS if table.outputs is None else tuple(table.outputs)
    for i, key in enumerate(given):
        if key not in BY_KEY:
            close = nearest(key, BY_KEY)
            refuse(("outputs", i), "is no figure" + (f', did you mean "{close[0]}"?' if close else ""), key, ", ".join(BY_KEY))
    return tuple(dict.fromkeys(given))


def _states(table: StudyTable, bases: list[Base], refuse: Any) -> None:
    known = dict.fromkeys([DARK, *(light.name for base in bases for light in base.document.scene.lights)])
    for i, state in enumerate(table.states or []):
        if state not in known and bases:
            close = nearest(state, known)
            hint = f', did you mean "{close[0]}"?' if close else ""
            refuse(("states", i), f"is no light state of any of the scenes{hint}", state, ", ".join(known))


def _agreeing(study: Study, table: StudyTable, refuse: Any) -> None:
    """What keys of several tables must agree on."""
    names = [factor.name for factor in study.factors]
    first = len(names) - len(table.factor or [])
    twice = next((name for i, name in enumerate(names) if name in names[:i]), None)
    if twice is not None:
        place = len(names) - 1 - names[::-1].index(twice) - first
        refuse(("factor", place), f'two factors are called "{twice}"', None, "name = another")
    for i, name in enumerate(names[first:]):
        if name in RESERVED:
            refuse(("factor", i, "name"), "is the name of another column", name, "another name")
    design, levels = study.design, [factor for factor in study.factors if isinstance(factor, LevelFactor)]
    if design.combine == "rows" and len({factor.count for factor in levels}) > 1:
        counts = ", ".join(f"{factor.name} {factor.count}" for factor in levels)
        refuse(
            ("design", "combine"), f"factors have different numbers of levels ({counts})", "rows", "as many levels of each factor"
        )
    if study.drawn and design.samples == 0:
        what = "spreads are" if any(isinstance(factor, SpreadFactor) for factor in study.factors) else "factors are"
        refuse(("design", "samples"), f"is missing: {what} drawn", None, "[design] samples = 64")
    if study.drawn and design.method in ("sobol", "sobol indices") and design.samples & (design.samples - 1):
        refuse(
            ("design", "samples"),
            "should be a power of two: Sobol's points are even only then",
            design.samples,
            "64, 128, 256 ...",
        )
    if design.method == "sobol indices" and study.drawn and 0 < design.samples < 16:
        refuse(("design", "samples"), "are too few for indices with an error", design.samples, "16 or more")
    if not study.drawn and (design.samples or design.method != "latin hypercube"):
        refuse(("design",), "nothing is drawn: all factors have levels", None, 'combine = "sampled", or a factor with a spread')
    if study.count > MOST_VARIANTS:
        refuse(("design",), "makes too many variants", study.count, f"at most {MOST_VARIANTS}")
