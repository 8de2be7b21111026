"""A small project with kernels of its own, compiled by the project's own machinery, each run in a process of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

from halfgain.materials.kernels import jit

MACHINERY = sorted(path.name for path in Path(jit.__file__).parent.glob("*.py"))
MODULES = {
    "far.py": "RATE = 2.0\n",
    "near.py": "from .far import RATE\n\nTWICE = 2.0 * RATE\n",
    "beside.py": "NOTE = 1\n",
    "toy.py": (
        "from typing import TYPE_CHECKING, NamedTuple\n\nfrom .kernels.jit import kernel\nfrom .near import TWICE\n\n"
        "if TYPE_CHECKING:\n    from .beside import NOTE\n\n\n"
        "class Two(NamedTuple):\n    left: float\n    right: float\n\n\n"
        "@kernel\ndef scaled(x):\n    return TWICE * x\n\n\n"
        "@kernel\ndef lesser(two):\n    return two.left - two.right\n"
    ),
}
PROGRAM = """
from halfgain.materials.toy import Two, lesser, scaled

print(scaled(1.0), lesser(Two(left=1.0, right=3.0)))
print(*[kernel.from_disk for kernel in (scaled, lesser)])
"""


class Told(NamedTuple):
    """What a run printed: values of the two kernels, how many of each came from the disk, and what it said to the user."""

    values: str
    kept: str
    said: str


class Tree:
    """The project below a folder, and its kernels' cache."""

    def __init__(self, root: Path) -> None:
        self.root, self.cache = root, root / "cache"
        self.package = root / "halfgain" / "materials"
        (self.package / "kernels").mkdir(parents=True)
        for name in MACHINERY:
            shutil.copy(Path(jit.__file__).parent / name, self.package / "kernels")
        (self.package.parent / "__init__.py").write_text("")  # else an installed halfgain, a package whole, goes before this one
        for name, text in {"__init__.py": "", **MODULES}.items():
            (self.package / name).write_text(text)

    def edit(self, name: str, old: str, new: str) -> None:
        """Replace words of a source; they must be there."""
        text = (self.package / name).read_text()
        assert old in text
        (self.package / name).write_text(text.replace(old, new))

    def run(self, program: str = PROGRAM, *, before: str = "", **environment: str) -> Told:
        """Run a program after some statements; it must end well."""
        ran = subprocess.run(
            [sys.executable, "-B", "-c", f"{before}\n{program}"],
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONPATH": str(self.root), "HALFGAIN_CACHE": str(self.cache), **environment},
        )
        assert ran.returncode == 0, ran.stderr
        return Told(*ran.stdout.splitlines(), ran.stderr)

    def files(self) -> list[Path]:
        """The kept kernels."""
        return sorted((self.cache / "kernels").glob("*.kernel"))
