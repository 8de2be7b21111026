"""Broken files at every reader: each is accepted or refused in clear lines; nothing else is raised, no warning comes before the line.

A few hundred files here; `python -m benchmarks.fuzz --cases 20000` does the same for long.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from .edits import KINDS
from .readers import READERS, tried

EDITS = st.lists(
    st.tuples(st.integers(0, KINDS - 1), st.integers(0, 2**32 - 1), st.integers(0, 2**16 - 1)), min_size=1, max_size=4
)


@pytest.mark.parametrize("name", READERS)
def test_sound_files_are_accepted(name: str, tmp_path: Path) -> None:
    """What the edits start from is read: else they would test nothing."""
    reader = READERS[name]
    for seed in range(len(reader.seeds())):
        assert tried(reader, seed, [], tmp_path)


@pytest.mark.parametrize("name", READERS)
@settings(
    max_examples=40, derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 2**16 - 1), edits=EDITS)
def test_broken_files_are_refused_in_words(name: str, seed: int, edits: list[tuple[int, int, int]], tmp_path: Path) -> None:
    tried(READERS[name], seed, edits, tmp_path)
