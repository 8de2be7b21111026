"""A small project with kernels of its own, compiled by the project's own machinery, each run in a process of its own."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from functools import cache
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


@cache
def numba_ready() -> subprocess.Popen[str]:
    """The process whose forks programs run in; it ends with this one."""
    server = Path(__file__).with_name("numba_ready.py")
    return subprocess.Popen([sys.executable, "-B", str(server)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)


def alone(program: str, environment: dict[str, str]) -> tuple[int, str, str]:
    """Exit status of a program in a process that begins with nothing, what it printed and what it said."""
    ran = subprocess.run([sys.executable, "-B", "-c", program], capture_output=True, text=True, env=environment)
    return ran.returncode, ran.stdout, ran.stderr


def forked(program: str, environment: dict[str, str], root: Path) -> tuple[int, str, str]:
    """Exit status of a program that runs where numba is imported already, what it printed and what it said.

    root  where its modules are looked for first; what it tells is kept there
    """
    if not hasattr(os, "fork"):
        return alone(program, environment)
    server, told = numba_ready(), {"out": root / "printed", "said": root / "said"}
    for file in told.values():
        file.write_text("")
    asked = {"program": program, "environment": environment, "root": root, **told}
    assert server.stdin is not None
    assert server.stdout is not None
    print(json.dumps(asked, default=str), file=server.stdin, flush=True)
    return int(server.stdout.readline()), told["out"].read_text(), told["said"].read_text()


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

    def run(self, program: str = PROGRAM, *, before: str = "", bare: bool = False, **environment: str) -> Told:
        """Run a program after some statements; it must end well.

        bare  in a process that begins with nothing, as it does with an environment of its own; else numba is imported already
        """
        own = {**os.environ, "PYTHONPATH": str(self.root), "HALFGAIN_CACHE": str(self.cache), **environment}
        text = f"{before}\n{program}"
        status, out, said = alone(text, own) if bare or environment else forked(text, own, self.root)
        assert status == 0, said
        return Told(*out.splitlines(), said)

    def files(self) -> list[Path]:
        """The kept kernels."""
        return sorted((self.cache / "kernels").glob("*.kernel"))
