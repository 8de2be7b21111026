"""`python -m benchmarks.references`: asks the reference renderer, and rays of sound, anew for all that the tests keep (`outside/kept.py`).

Runs the tests that compare with them, with all batches asked for and kept, and says by how much each answer's mean has changed.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys

import numpy as np

from tests.outside.kept import ASK_ANEW, FOLDER


def means() -> dict[str, np.ndarray]:
    """Mean over batches of every kept answer, by its name."""
    found = {}
    for file in sorted(FOLDER.glob("*.json")):
        found[file.stem] = np.array(json.loads(file.read_text(encoding="utf-8"))["answer"]).mean(axis=0)
    return found


def main() -> int:
    """Ask, keep, compare; the status is that of the tests."""
    before = means()
    command = [sys.executable, "-m", "pytest", "-q", "-n", "0", "-m", "reference", "tests"]
    status = subprocess.run(command, env={**os.environ, ASK_ANEW: "1"}, check=False).returncode
    for name, now in means().items():
        then = before.get(name)
        changed = f"{np.abs(now / then - 1.0).max():.2e} at most" if then is not None and then.shape == now.shape else "new"
        print(f"{name:40} changed by {changed}" if changed != "new" else f"{name:40} new")
    return status


if __name__ == "__main__":
    raise SystemExit(main())
