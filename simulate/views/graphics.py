"""Whether this machine can draw in 3-D, asked in another process: without its libraries the drawing ends in a crash."""

from __future__ import annotations

import subprocess
import sys

from ...materials.error import Error

_PROBE = (
    "import pyvista; p = pyvista.Plotter(off_screen=True, window_size=(16, 16)); p.add_mesh(pyvista.Cube()); p.screenshot(None)"
)
LIMIT_S = 120


class NoGraphics(Error):
    """The machine cannot draw; str() is one line that says what to install."""


def check_graphics() -> None:
    """Draw a cube in another process. raises NoGraphics where that fails or takes longer than LIMIT_S [s]"""
    try:
        done = subprocess.run([sys.executable, "-c", _PROBE], capture_output=True, timeout=LIMIT_S)
        failed = done.returncode != 0
    except (OSError, subprocess.TimeoutExpired):
        failed = True
    if failed:
        raise NoGraphics(
            "3-D drawing does not work on this machine: install the graphics libraries (Debian: apt install libegl1 libosmesa6)"
        )
