"""Run the main external checks and write README's table from what came out.

    python -m benchmarks.external_checks          prints the table
    python -m benchmarks.external_checks --write  and puts it into README.md

Every row is computed when this runs; the expected values come from closed forms, published formulas or other programs.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

from benchmarks.check import Check
from benchmarks.checks_answers import albedo_bounds, factors, photometry, spheres
from benchmarks.checks_chance import coverage, samplers, site_coverage
from benchmarks.checks_lamps import lamps
from benchmarks.checks_laws import any_room, energy, reciprocity
from benchmarks.checks_programs import other_programs
from benchmarks.checks_site import site
from benchmarks.checks_sound import sound

README = Path(__file__).resolve().parents[1] / "README.md"
START, END = "<!-- checks: written by python -m benchmarks.external_checks --write -->", "<!-- end of checks -->"
PARTS = (
    photometry,
    albedo_bounds,
    factors,
    energy,
    reciprocity,
    samplers,
    spheres,
    any_room,
    coverage,
    site_coverage,
    other_programs,
    lamps,
    sound,
    site,
)


def told(rows: Iterator[Check]) -> Iterator[Check]:
    """The rows, each named on stderr with the seconds it took."""
    began = time.perf_counter()
    for number, row in enumerate(rows, 1):
        now = time.perf_counter()
        print(f"row {number}, {now - began:.1f} s: {row.what}: {row.got:.7g}", file=sys.stderr, flush=True)
        began = now
        yield row


def table(rows: list[Check]) -> str:
    """Markdown of the rows."""
    lines = ["| check | expected | got | standard error | source |", "|---|---|---|---|---|"]
    for row in rows:
        error = f"{row.standard_error:.2g}" if row.standard_error else "none"
        expected = row.expected if isinstance(row.expected, str) else f"{row.expected:.7g}"
        lines.append(f"| {row.what} | {expected} | {row.got:.7g} | {error} | {row.source} |")
    return "\n".join(lines)


def main() -> None:
    ask = argparse.ArgumentParser(description="Run the external checks and print README's table.")
    ask.add_argument("--write", action="store_true", help="put the table into README.md")
    write = ask.parse_args().write
    text = table(list(told(chain.from_iterable(part() for part in PARTS))))
    print(text)
    if write:
        before, rest = README.read_text(encoding="utf-8").split(START)
        README.write_text(before + START + "\n" + text + "\n" + END + rest.split(END)[1], encoding="utf-8")


if __name__ == "__main__":
    main()
