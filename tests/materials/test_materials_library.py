"""Libraries: what is built in, what users add, and every mistake in a file at once."""

from __future__ import annotations

import subprocess
import sys
import warnings

import pytest
from halfgain.materials import library as library_module
from halfgain.materials.fabric_error import FabricError
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.library import LibraryErrors, UnknownName, find_fabric, find_finish, load_library
from halfgain.materials.text.nearest import nearest
from halfgain.materials.text.toml_lines import key_lines

GOOD = """
[[fabric]]
name = "my pearl"
gain = 1.4
half_gain_deg = 35
[[finish]]
name = "oak boards"          # replaces the built-in one
reflectance = 0.25
absorption = { 500 = 0.10, 1000 = 0.07 }
"""

BAD = """[[fabric]]
name = "too much"
gain = 9
half_gain_deg = 30
[[fabric]]
gian = 1
gain = true
albedo = nan
tint = [1, 2]
[[fabric]]
name = "b"
gain = 1.0
kind = "glossy"
[[fabric]]
gain = 1.0
[[fabric]]
name = "b2"
gain = 1.0
[[fabric]]
name = "b2"
gain = 0.9
[[finish]]
name = "w"
reflectance = 1.4
absorption = { 400 = 0.3 }
[[finish]]
reflectance = [0.1, 0.2]
[finnish]
"""

EXPECTED = [
    (3, "fabric[1].gain", "at most 8.0000"),
    (6, "fabric[2].gian", 'did you mean "gain"'),
    (7, "fabric[2].gain", "a number above 0"),
    (8, "fabric[2].albedo", "finite"),
    (9, "fabric[2].tint", "three numbers"),
    (13, "fabric[3].kind", "angular-reflective"),
    (14, "fabric[4].name", "missing key"),
    (20, "fabric[6].name", "taken already"),
    (24, "finish[1].reflectance", "0 to 1"),
    (25, "finish[1].absorption", "400 is not an octave band"),
    (27, "finish[2].reflectance", "a list of three"),
    (28, "finnish", 'did you mean "finish"'),
]


def test_built_in_fabrics_read_as_one_file_are_whole_and_the_same_as_asked_one_by_one():
    """Reading the file as a user's own finds every mistake in it, doubled names included."""
    read, other, problems = library_module._read(library_module.DATA / "fabrics.toml")
    assert problems == []
    assert other == {}
    assert dict(load_library().fabrics) == read
    assert list(load_library().fabrics) == list(read)


def test_built_in_finishes_read_as_one_file_are_whole_and_the_same_as_asked_one_by_one():
    other, read, problems = library_module._read(library_module.DATA / "finishes.toml")
    assert (other, problems) == ({}, [])
    assert dict(load_library().finishes) == read
    assert list(load_library().finishes) == list(read)


def test_a_built_in_finish_that_is_wrong_says_so_when_asked_for(tmp_path):
    text = '[[finish]]\nname = "good"\nreflectance = 0.8\n\n[[finish]]\nname = "bad"\nreflectance = 2\n'
    (tmp_path / "finishes.toml").write_text(text)
    finishes = library_module._Unmade(tmp_path / "finishes.toml", "finish", library_module._add_finish)
    assert finishes["good"].reflectance == (0.8, 0.8, 0.8)
    with pytest.raises(LibraryErrors, match=r"finishes\.toml:7: finish\[2\]\.reflectance"):
        finishes["bad"]


def test_built_in_fabrics_are_solved_only_when_asked_for(monkeypatch):
    library_module._built_in.cache_clear()
    solved = []
    solve = library_module.FabricTable.to_fabric
    monkeypatch.setattr(library_module.FabricTable, "to_fabric", lambda table: solved.append(table.name) or solve(table))
    library = load_library()
    assert "matt white" in library.fabrics
    assert "mat white" not in library.fabrics
    assert library.find_fabric("matt white") is library.find_fabric("matt white")
    assert solved == ["matt white"]


def test_a_built_in_fabric_that_is_wrong_says_so_when_asked_for(monkeypatch, tmp_path):
    (tmp_path / "fabrics.toml").write_text('[[fabric]]\nname = "good"\ngain = 0.8\n\n[[fabric]]\nname = "bad"\ngain = -1\n')
    fabrics = library_module._Unmade(tmp_path / "fabrics.toml", "fabric", library_module._add_fabric)
    assert fabrics["good"].gain == 0.8
    with pytest.raises(LibraryErrors, match=r"fabrics\.toml:7: fabric\[2\]\.gain"):
        fabrics["bad"]


def test_built_in_library_is_large_enough_and_every_entry_names_a_source():
    library = load_library()
    assert len(library.finishes) >= 30
    assert len(library.fabrics) >= 16
    for entry in [*library.finishes.values(), *library.fabrics.values()]:
        assert len(entry.source) > 10, entry.name


@pytest.mark.parametrize(
    "name", ["charcoal matt paint", "warm white emulsion", "white ceiling paint", "oak boards", "dark upholstery"]
)
def test_names_of_the_example_scene_exist(name):
    assert find_finish(name).name == name


# Source: EN 12464-1:2011 4.2.2, reflectances of work places: ceiling 0.7-0.9, walls 0.5-0.8, floor 0.2-0.4; two
# secondary texts: white matt paint 0.80-0.85; safety-training glossary: light wood 0.5, dark wood at most 0.26;
# black velvet 0.003-0.02, from memory.
RANGES = [
    ("white ceiling paint", 0.7, 0.9),
    ("warm white emulsion", 0.5, 0.8),
    ("oak boards", 0.2, 0.4),
    ("white matt paint", 0.80, 0.85),
    ("light wood", 0.49, 0.51),
    ("walnut boards", 0.05, 0.26),
    ("black masking velvet", 0.003, 0.02),
]


@pytest.mark.parametrize(("name", "low", "high"), RANGES)
def test_luminous_reflectance_lies_where_the_source_says(name, low, high):
    assert low <= find_finish(name).luminous <= high


def test_absorption_of_heavy_carpet_on_concrete():
    """Source: published absorption tables, e.g. Cox and D'Antonio, appendix A."""
    expected = {125: 0.02, 250: 0.06, 500: 0.14, 1000: 0.37, 2000: 0.60, 4000: 0.65}
    assert dict(find_finish("contract carpet on concrete").absorption) == expected


def test_unknown_names_get_their_nearest_spelling():
    with pytest.raises(UnknownName, match='no finish is called "oak bords"; nearest: oak boards') as refusal:
        find_finish("oak bords")
    assert refusal.value.nearest[0] == "oak boards"
    with pytest.raises(UnknownName, match="matt white"):
        find_fabric("Mat White")
    assert "black velvet" in nearest("velvet", ["oak boards", "black velvet"])
    assert nearest("zzz", ["oak boards"]) == []


def test_own_file_adds_and_replaces(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(GOOD)
    library = load_library([path])
    assert library.find_fabric("my pearl").gain == 1.4
    assert library.find_fabric("matt white").gain == 0.92
    assert library.find_finish("oak boards").reflectance == (0.25, 0.25, 0.25)
    assert library.find_finish("oak boards").absorption == {500: 0.10, 1000: 0.07}
    assert load_library().find_finish("oak boards").luminous != 0.25


def test_all_mistakes_of_a_file_come_at_once_with_line_and_key(tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text(BAD)
    with pytest.raises(LibraryErrors) as refusal:
        load_library(path)
    problems = {(p.line, p.key): str(p) for p in refusal.value.problems}
    assert sorted(problems) == sorted((line, key) for line, key, _ in EXPECTED)
    for line, key, words in EXPECTED:
        text = problems[(line, key)]
        assert text.startswith(f"{path}:{line}: {key}: ")
        assert words in text
        assert "\n" not in text


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"[[fabric]]\nname = \n", ":2: not valid TOML"),
        (b"\xff\xfe", "not a UTF-8 text"),
        (b"fabric = 3\n", ":1: fabric: write each fabric as a table"),
        (b"[fabric]\ngain = 1.0\n", "write each fabric as a table"),
        (b"#" * 4_000_001, "too large"),
    ],
)
def test_broken_file_is_one_clear_line(tmp_path, content, words):
    path = tmp_path / "broken.toml"
    path.write_bytes(content)
    with pytest.raises(LibraryErrors) as refusal:
        load_library(path)
    assert words in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_missing_file_and_directory(tmp_path):
    with pytest.raises(LibraryErrors, match="no such file"):
        load_library(tmp_path / "nowhere.toml")
    with pytest.raises(LibraryErrors, match="is a directory, not a library"):
        load_library(tmp_path)


def test_empty_file_adds_nothing(tmp_path):
    (tmp_path / "empty.toml").write_text("")
    assert load_library(tmp_path / "empty.toml").fabrics.keys() == load_library().fabrics.keys()


def test_lines_of_keys_in_every_toml_form():
    text = (
        "# c [x]\n"
        'a.b = "x # = y" # ]\n'
        's = """\n[fake]\nk = 1\n"""\n'
        "[[light]]\n"
        'name = "q\\"]"\n'
        "[[light]]\n"
        "\"the name\" = '''z\n''''\n"
        "arr = [ 1, # one\n  [2, 3],\n  {x = 1, y.z = [4,\n  5]},\n]\n"
        "[light.sub]\n"
        "v=1979-05-27T07:32:00Z\n"
        "[screen.fabric]\n"
        "gain = 2\n"
    )
    lines = key_lines(text)
    expected = {
        ("a", "b"): 2,
        ("s",): 3,
        ("light",): 7,
        ("light", 0): 7,
        ("light", 0, "name"): 8,
        ("light", 1): 9,
        ("light", 1, "the name"): 10,
        ("light", 1, "arr"): 12,
        ("light", 1, "arr", 1, 1): 13,
        ("light", 1, "arr", 2, "y", "z", 1): 15,
        ("light", 1, "sub", "v"): 18,
        ("screen",): 19,
        ("screen", "fabric", "gain"): 20,
    }
    assert {path: lines.get(path) for path in expected} == expected
    assert ("fake",) not in lines
    for broken in ("", "=", "a", "[a", "a = [1,\n", 'a = "', "= = =\n", "[[a]\nb"):
        key_lines(broken)


def test_import_brings_no_heavy_scipy_module():
    program = (
        "import sys, halfgain.materials.library, halfgain.materials.lobes.brdf\n"
        "halfgain.materials.library.load_library()\n"
        "print([m for m in sys.modules if m in ('scipy.integrate', 'scipy.optimize', 'scipy.special', 'scipy.stats')])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        (
            "curve = [[0, 1.2], [1e-308, 1.0], [40, 0.7]]",
            "two angles are nearly one (got 1e-308; allowed: at least 5e-07 degrees",
        ),
        ("curve = [[0, 1.2], [20, 1e308]]", "no curve of a fabric reaches this gain (got 1e+308; allowed: gains up to 1e+06)"),
        ("gain = 1.0\ncurve = [[0, 1e-308], [20, 1.0]]", "no curve of a fabric reaches this gain"),
    ],
)
def test_measured_curves_whose_slopes_overflow(tmp_path, keys, words):
    path = tmp_path / "own.toml"
    path.write_text(f'[[fabric]]\nname = "a"\nkind = "measured"\n{keys}\n')
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(LibraryErrors) as caught:
            load_library(path)
    assert words in str(caught.value)


def test_no_cloth_of_the_library_gives_back_more_than_cloth_does():
    """0.92 is the whitest; only the definition of gain gives back all. Sources stand beside each fabric."""
    fabrics = load_library().fabrics
    assert fabrics["perfect diffuser"].albedo == 1.0
    assert max(fabric.albedo for name, fabric in fabrics.items() if name != "perfect diffuser") <= 0.92
    for fabric in fabrics.values():  # diffuse: gain and albedo are one number
        assert fabric.kind != "diffuse" or fabric.albedo == fabric.gain
        assert fabric.albedo / (1.0 - fabric.open_area) <= 0.93 or fabric.name == "perfect diffuser", "nor do threads or sheets"


def test_stiff_fabrics_say_how_they_hang_and_where_their_light_comes_from():
    fabrics = load_library().fabrics
    stiff = {name for name, fabric in fabrics.items() if fabric.hangs == ("tab-tensioned", "fixed frame")}
    assert stiff == {"lenticular pearl", "louvred short-throw", "louvred short-throw, bright", "louvred long-throw"}
    assert {fabrics[name].wants_light_from for name in stiff} == {"below", None}
    assert fabrics["lenticular pearl"].wants_light_from is None
    keys = {
        "kind": "louvred",
        "facet_up_deg": 30,
        "facet_down_deg": 60,
        "facet_up_reflectance": 0.05,
        "facet_down_reflectance": 0.8,
    }
    sides = [
        FabricTable.model_validate({**keys, "groove_turn_deg": turn}).to_fabric().wants_light_from for turn in (0, 90, -90, 180)
    ]
    assert sides == ["below", "right", "left", "above"]
    free = FabricTable.model_validate({"gain": 0.9, "hangs": ["fixed frame"]}).to_fabric()
    assert free.hangs == ("fixed frame",)
    with pytest.raises(FabricError, match="unknown choice"):
        FabricTable.model_validate({"gain": 0.9, "hangs": ["fixed farme"]}).to_fabric()
