"""What an output folder holds, checked against the names and the list of digests that belong to it; charts that nobody looks at."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from halfgain.simulate.output.digests import listed_digests, not_as_listed
from halfgain.simulate.output.own_kind import kind_called, kind_of

DOT = base64.b64decode("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGP4DwABAQEAsTj2FAAAAABJRU5ErkJggg==")  # a PNG


@contextmanager
def dots_for_charts() -> Iterator[None]:
    """Charts are put together but not drawn: each is a picture of one dot."""
    from matplotlib.figure import Figure

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Figure, "savefig", lambda self, file, **_: file.write(DOT))
        yield


@contextmanager
def half_the_dots() -> Iterator[None]:
    """Charts are drawn with half as many dots an inch, a fourth of the pixels: letters and lines are laid out in inches."""
    from halfgain.simulate.output import drawing

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawing, "DOTS_PER_INCH", drawing.DOTS_PER_INCH // 2)
        yield


def written(folder: Path, command: str) -> list[str]:
    """Names of the results, sorted: each of the kind its name promises, so that the next run may replace it, each in the list."""
    names = sorted(path.name for path in folder.iterdir())
    for name in names:
        assert kind_of((folder / name).read_bytes()) == kind_called(name), name
    listed = listed_digests(folder / f"{command}.sha256")
    assert [*sorted(listed), f"{command}.sha256"] == sorted(names, key=lambda name: (name.endswith(".sha256"), name))
    assert not_as_listed(folder, listed) == []
    return sorted(listed)
