"""Whether this machine can draw in 3-D, asked in another process: without its libraries the drawing ends in a crash."""

from __future__ import annotations

import subprocess
import sys
from functools import cache

from ...materials.text.error import Error

_PROBE = (
    "import pyvista; print('imported', flush=True); p = pyvista.Plotter(off_screen=True, window_size=(16, 16)); "
    "p.add_mesh(pyvista.Cube()); p.screenshot(None)"
)
LIMIT_S = 120
IMPORTED = b"imported\n"  # what a process that tries to draw says first


class NoGraphics(Error):
    """The machine cannot draw; str() is one line that says why, and what to install."""


@cache  # what failed is tried again
def check_graphics() -> None:
    """Draw a cube in another process, until it was drawn once. raises NoGraphics where that fails or takes longer than LIMIT_S [s]"""
    try:
        done = subprocess.run([sys.executable, "-c", _PROBE], capture_output=True, timeout=LIMIT_S)
    except OSError as fault:
        raise NoGraphics(
            f"3-D drawing does not work: no process could be started to try it ({fault.strerror or fault})"
        ) from fault
    except subprocess.TimeoutExpired as fault:
        raise refusal(0, b"", b"", late=True) from fault
    if done.returncode != 0:
        raise refusal(done.returncode, done.stdout or b"", done.stderr or b"")


def refusal(status: int, stdout: bytes, stderr: bytes, *, late: bool = False) -> NoGraphics:
    """Why a process that tried to draw did not, from what it left: whose fault it is, and what to do.

    status  it left with, negative a signal's number;  stdout  begins with IMPORTED where the drawing library was found
    late    it took longer than LIMIT_S
    """
    if late:
        return NoGraphics(_libraries(f"a trial took longer than {LIMIT_S} s"))
    said = [line.strip() for line in stderr.decode(errors="replace").splitlines() if line.strip()]
    last = said[-1][:200] if said else f"a trial left with status {status}"
    if status > 0 and IMPORTED.strip() not in stdout:
        return NoGraphics(f"3-D drawing does not work: pyvista cannot be imported ({last}): pip install --upgrade pyvista vtk")
    return NoGraphics(_libraries(f"a trial ended by signal {-status}" if status < 0 else last))


def _libraries(why: str) -> str:
    return f"3-D drawing does not work on this machine ({why}): install the graphics libraries (Debian: apt install libegl1 libosmesa6)"
