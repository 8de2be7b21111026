"""What terminals without some letters are given: no unit and no figure turns into a question mark."""

from __future__ import annotations

import io
import os
import subprocess
import sys

import pytest
from halfgain.simulate.command.letters import NAME


@pytest.mark.parametrize(
    ("coding", "written"),
    [
        ("utf-8", "12 ± 3 cd/m², “a” … 5° 日"),
        ("latin-1", '12 ± 3 cd/m², "a" ... 5° ?'),
        ("ascii", '12 +- 3 cd/m2, "a" ... 5 deg ?'),
    ],
)
def test_letters_that_a_coding_lacks_are_written_plainly(coding: str, written: str) -> None:
    raw = io.BytesIO()
    with io.TextIOWrapper(raw, encoding=coding, errors=NAME) as stream:
        stream.write("12 ± 3 cd/m², “a” … 5° 日")
        stream.flush()
        assert raw.getvalue().decode(coding) == written


def test_a_terminal_of_plain_letters_gets_units_and_straight_rules() -> None:
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    command = [sys.executable, "-m", "halfgain", "sound", "black-box"]
    said = subprocess.run(command, env=environment, capture_output=True, check=True).stdout.decode("ascii")
    assert "?" not in said
    assert "m2" in said
    table = said[said.index("surface") :].splitlines()
    assert set(table[1]) == {"-"}
    assert "|" not in said
