"""A process in which numba is imported and has compiled once: programs run in forks of it, each with modules of the project of its own.

Reading numba in takes four times longer than compiling what the toy projects hold. Lines on its standard input are requests as JSON: program,
environment, first place to look for modules, files for what it prints and says. It answers each by the program's exit status.
"""

from __future__ import annotations

import json
import os
import sys
import traceback

from numba import njit

njit(lambda x: x + 1.0)(1.0)


def run(program: str, environment: dict[str, str], root: str, out: str, said: str) -> None:
    """Ends the process."""
    for descriptor, file in ((1, out), (2, said)):
        os.dup2(os.open(file, os.O_WRONLY | os.O_CREAT), descriptor)
    os.environ.clear()
    os.environ.update(environment)
    sys.path[0] = root
    status = 1
    try:
        exec(program, {"__name__": "__main__"})
        status = 0
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


if __name__ == "__main__":
    for line in sys.stdin:
        child = os.fork()
        if not child:
            run(**json.loads(line))
        print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
