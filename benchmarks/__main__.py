"""The whole table of speeds: python -m benchmarks [--quick] [--only PART ...] [--scale] [--live] [--against COMMIT].

Times of a shared machine drift: read ratios, and times beside the load that stands above them. With --against another commit is
checked out in a temporary worktree, and the same jobs run in both in turn; status 1 says that this tree is surely slower in one.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence

from halfgain.simulate.command.one_thread_blas import one_thread_blas

from .jobs import GROUPS
from .parts import PARTS


def parser() -> argparse.ArgumentParser:
    """The options."""
    asked = argparse.ArgumentParser(
        prog="python -m benchmarks", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    asked.add_argument("--quick", action="store_true", help="fewer repeats, one first run")
    names = sorted({*PARTS, *GROUPS})
    asked.add_argument("--only", nargs="+", choices=names, metavar="PART", help=f"of {', '.join(names)}")
    asked.add_argument("--scale", action="store_true", help="cost against triangles, seats and threads, in place of the table")
    asked.add_argument("--live", action="store_true", help="the live page in a browser too")
    asked.add_argument("--against", metavar="COMMIT", help="ratios to another commit, in place of the table")
    return asked


def end_in_order() -> None:
    """Let a signal to end take worktrees and folders away, as Ctrl-C does; 143 is what shells expect of it."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))


def main(arguments: Sequence[str]) -> int:
    """Print what is asked for; returns 0, 1 where this tree is slower than the other, 2 for what cannot be measured."""
    options = parser()
    asked = options.parse_args(arguments)
    allowed = {*GROUPS, "start"} if asked.against else {*PARTS}
    if set(asked.only or ()) - allowed:
        options.error(
            f"--only {' '.join(asked.only)}: allowed {'with' if asked.against else 'without'} --against: {', '.join(sorted(allowed))}"
        )
    one_thread_blas()  # before anything imports numpy
    from . import against
    from .figures import lines_of
    from .state import load, state_of_the_machine
    from .trees import BenchmarkFault, commit_tree, this_tree

    print("\n".join(state_of_the_machine()), flush=True)
    try:
        if asked.against:
            groups = tuple(name for name in GROUPS if not asked.only or name in asked.only)
            commands = not asked.only or "start" in asked.only
            with this_tree() as this, commit_tree(asked.against) as other:
                status = against.main(this, other, quick=asked.quick, groups=groups, commands=commands)
            print(f"load        {load()}")
            return status
        if asked.scale:
            from . import scale

            scale.main(quick=asked.quick)
            return 0
        for name, part in PARTS.items():
            if not asked.only or name in asked.only:
                print(name)
                for figure in part(asked.quick):
                    print(*lines_of([figure]), sep="\n", flush=True)
        if asked.live:
            from . import live_page

            live_page.main(rounds=6 if asked.quick else 20)
    except BenchmarkFault as fault:
        print(f"benchmarks: {fault}", file=sys.stderr)
        return 2
    print(f"load        {load()}")
    return 0


if __name__ == "__main__":
    sys.path.insert(0, os.getcwd())
    end_in_order()
    sys.exit(main(sys.argv[1:]))
