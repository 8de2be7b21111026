"""Broken files at every reader, many of them: `python -m benchmarks.fuzz --cases 20000 [--reader scan] [--keep DIR]`.

Prints for each reader how many files it accepted and refused, the slowest by processor time, and every fault with the numbers that make it again
(`--seed N --cases 1` repeats the file). Status 1 where there is one. What a reader prints by itself counts as a fault.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.fuzz.edits import KINDS, Edit
from tests.fuzz.readers import READERS, Reader, tried

SLOW_S = 2.0


def case_of(number: int) -> tuple[int, list[Edit]]:
    """Which sound file, and its edits, of a case by its number: the same on every machine."""
    draw = random.Random(number)
    count = 1 + min(draw.getrandbits(3), draw.getrandbits(2), draw.getrandbits(2))
    kinds = (*range(KINDS), 0, 0, 10, 10)  # other numbers and values get past the parser more often than other letters
    return draw.getrandbits(16), [(draw.choice(kinds), draw.getrandbits(32), draw.getrandbits(16)) for _ in range(count)]


@contextmanager
def _overheard(file: Path) -> Iterator[None]:
    """What is written to stderr, by libraries in C as well, into a file."""
    kept = os.dup(2)
    with file.open("wb") as heard:
        os.dup2(heard.fileno(), 2)
        try:
            yield
        finally:
            os.dup2(kept, 2)
            os.close(kept)


def run(reader: Reader, first: int, cases: int, keep: Path | None) -> int:
    """Try so many files; prints what was found and returns the number of faults."""
    counts: Counter[str] = Counter()
    faults: Counter[str] = Counter()
    slowest = (0.0, first)
    with tempfile.TemporaryDirectory() as made:
        folder, heard = Path(made), Path(made) / "heard"
        for number in range(first, first + cases):
            seed, edits = case_of(number)
            began = time.process_time()
            try:
                with _overheard(heard):
                    accepted = tried(reader, seed, edits, folder)
                if heard.stat().st_size:
                    raise AssertionError(f"it printed: {heard.read_text(errors='replace')[:300]}")
                counts["accepted" if accepted else "refused"] += 1
            except Exception as fault:
                where = traceback.extract_tb(fault.__traceback__)[-1]
                kind = f"{type(fault).__name__} at {Path(where.filename).name}:{where.lineno}: {str(fault)[:200]}"
                if not faults[kind.split(": ")[0]]:
                    print(f"{reader.name} {number}: {kind}", flush=True)
                    if keep is not None:
                        for path in folder.iterdir():
                            (keep / f"{reader.name}-{number}-{path.name}").write_bytes(path.read_bytes())
                faults[kind.split(": ")[0]] += 1
            slowest = max(slowest, (time.process_time() - began, number))
            for path in folder.iterdir():
                path.unlink()
    print(f"{reader.name}: {dict(counts)}, faults {dict(faults)}, slowest {slowest[0]:.2f} s (number {slowest[1]})", flush=True)
    if slowest[0] > SLOW_S:
        print(f"{reader.name} {slowest[1]}: slower than {SLOW_S:g} s")
    return sum(faults.values())


def main() -> int:
    """The command; returns its exit status."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=2000, help="files a reader")
    parser.add_argument("--reader", choices=[*READERS], action="append", help="one of them; may be repeated; left out: all")
    parser.add_argument("--seed", type=int, default=0, help="number of the first file")
    parser.add_argument("--keep", type=Path, help="folder for the first file of each kind of fault")
    options = parser.parse_args()
    if options.keep is not None:
        options.keep.mkdir(parents=True, exist_ok=True)
    return int(sum(run(READERS[name], options.seed, options.cases, options.keep) for name in options.reader or READERS) > 0)


if __name__ == "__main__":
    sys.exit(main())
