"""No part of the program reads a sentence that another part wrote: words stand at the edge, decisions go by data."""

from __future__ import annotations

import ast
import dataclasses
import re
from collections.abc import Iterator

import pytest
from halfgain.scenes.cloth.hanging import Hang
from halfgain.simulate.choices.aims import Role, RoleKind, aims_of
from halfgain.simulate.measuring import targets
from halfgain.simulate.measuring.measure import Measurement, measure
from halfgain.simulate.output.advise.role_words import role_words
from halfgain.simulate.output.measure import verdict_table
from halfgain.simulate.output.measure.document import document
from halfgain.simulate.page import tables

from tests.rooms import room
from tests.test_import_direction import ROOT, project_nodes

TEXT_METHODS = {
    "startswith",
    "endswith",
    "removeprefix",
    "removesuffix",
    "partition",
    "rpartition",
    "split",
    "rsplit",
    "replace",
    "find",
}
# What may be looked for in a text, by file: names that a library or a file format gives, never words of our own.
ALLOWED = {
    ("materials/kernels/cache.py", "NUMBA_"): "numba's settings",
    ("materials/kernels/compiling.py", "_ZN"): "how names of functions that numba compiles begin in object files",
    ("materials/kernels/door.py", "llvm."): "how names of LLVM's own functions begin",
    ("materials/text/problem.py", "greater_than"): "kinds of faults, as pydantic names them",
    ("materials/text/problem.py", "less_than"): "the same",
    ("materials/text/problem.py", "string_too_"): "the same",
    ("materials/text/problem.py", "Input "): "how pydantic's message begins; only its looks depend on it",
    ("materials/text/csv_reading.py", "field limit"): "how Python's csv module says it",
    ("simulate/page/svg.py", "<svg"): "the format of the pictures",
    ("scenes/words.py", "union_tag"): "kinds of faults, as pydantic names them",
    ("simulate/output/layout.py", "utf"): "the name of an encoding",
}


def looked_for() -> Iterator[tuple[str, str, int]]:
    """(file, literal, line) of every text of two letters or more, names of files apart, that is searched for in another one."""
    for path, nodes in project_nodes():
        for node in nodes:
            for literal in _literals(node):
                of_a_file = re.fullmatch(r"[\w-]*\.[a-z]+", literal)
                if not of_a_file and len(re.findall("[a-z]", literal, re.IGNORECASE)) >= 2:
                    yield path.relative_to(ROOT).as_posix(), literal, node.lineno  # type: ignore[attr-defined]


def _literals(node: ast.AST) -> Iterator[str]:
    found: list[ast.expr] = []
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in TEXT_METHODS and node.args:
        found = [node.args[0]]
    elif (
        isinstance(node, ast.Compare)
        and isinstance(node.ops[0], ast.In | ast.NotIn)
        and " " in str(getattr(node.left, "value", ""))
    ):
        found = [node.left]  # a sentence in something; a key in a table has no blank
    for part in [each for one in found for each in (one.elts if isinstance(one, ast.Tuple) else [one])]:
        text = (
            "".join(str(p.value) for p in part.values if isinstance(p, ast.Constant))
            if isinstance(part, ast.JoinedStr)
            else (part.value if isinstance(part, ast.Constant) else "")
        )
        if isinstance(text, str):  # bytes are a file's format
            yield text


def test_no_text_is_searched_for_words_of_our_own() -> None:
    found = [f"{file}:{line}: {literal!r}" for file, literal, line in looked_for() if (file, literal) not in ALLOWED]
    assert not found, "make it data, or name in ALLOWED whose words these are:\n" + "\n".join(found)


@pytest.fixture(scope="module")
def measured() -> Measurement:
    lamps = '[[light]]\nname = "lamps on"\nscreen_lx = 5'
    return measure(room(lights=lamps, projector="corner_to_centre = 0.8"), error=0.3)


def test_garbled_words_leave_marks_and_results_as_they_are(measured: Measurement, monkeypatch: pytest.MonkeyPatch) -> None:
    before, marks = document(measured), [table.marks for table in tables.target_tables(measured)]
    assert {mark for each in marks for mark in each} >= {"met", "missed"}
    monkeypatch.setattr(targets, "_REASON_WORDS", dict.fromkeys(targets.Reason, "xyzzy"))
    monkeypatch.setattr(verdict_table, "_said", lambda verdict, units: "xyzzy")
    assert [table.marks for table in tables.target_tables(measured)] == marks
    for old, new in zip(before["seats"], document(measured)["seats"], strict=True):
        assert [(v["verdict"], v["reason_code"]) for v in old["verdicts"]] == [
            (v["verdict"], v["reason_code"]) for v in new["verdicts"]
        ]
        assert old["contrast_class"] == new["contrast_class"]


def test_a_fabrics_roles_are_told_apart_by_aim_and_not_by_title() -> None:
    white, even, dark, lit = (dataclasses.replace(aim, title="xyzzy") for aim in aims_of(["lamps on"]))
    roles = (Role(RoleKind.BALANCED), Role(RoleKind.MOST, white), Role(RoleKind.MOST, dark), Role(RoleKind.MOST, lit))
    assert role_words(roles, balanced="b") == ("b", "most xyzzy", "most contrast in the dark, with lamps on at the worst seat")
    assert role_words((Role(RoleKind.MOST, even),)) == ("most xyzzy",)


def test_only_a_frame_is_a_frame() -> None:
    assert [hang for hang in Hang if hang.is_frame] == [Hang.FIXED_FRAME]
