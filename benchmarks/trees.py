"""Source trees that can be run beside each other: this one, and another commit in a temporary worktree."""

from __future__ import annotations

import os
import subprocess
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from .state import ROOT, git


class BenchmarkFault(Exception):
    """What cannot be measured, in one line."""


class Tree(NamedTuple):
    """A source tree and the folder from which its package is imported as if installed."""

    name: str
    root: Path
    site: Path

    def environment(self, cache: Path | None = None) -> dict[str, str]:
        """Variables of a process that runs this tree's halfgain; cache  folder for compiled kernels, None: the user's own."""
        mine = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        mine["PYTHONPATH"] = str(self.site)
        return mine if cache is None else {**mine, "HALFGAIN_CACHE": str(cache)}


def lay_out(root: Path, site: Path) -> None:
    """Links in `site` that make the packages of a source tree importable, as its pyproject.toml maps them.

    raises  BenchmarkFault where the tree has no such map
    """
    try:
        setup = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
        places: dict[str, str] = setup["tool"]["setuptools"]["package-dir"]
    except (OSError, KeyError, ValueError) as fault:
        raise BenchmarkFault(f"{root}: not a source tree of halfgain ({fault})") from None
    for package, folder in sorted(places.items()):
        target = site.joinpath(*package.split("."))
        if not target.exists() and package != "halfgain":
            target.parent.mkdir(parents=True, exist_ok=True)
            target.symlink_to(root / folder, target_is_directory=True)
        elif package == "halfgain":  # the top package holds others beside its own files
            target.mkdir(parents=True, exist_ok=True)
            for each in (root / folder).iterdir():
                if each.name != "__pycache__":
                    (target / each.name).symlink_to(each)


@contextmanager
def this_tree() -> Iterator[Tree]:
    """The tree that this file belongs to."""
    with tempfile.TemporaryDirectory(prefix="halfgain-site-") as site:
        lay_out(ROOT, Path(site))
        yield Tree("this", ROOT, Path(site))


@contextmanager
def commit_tree(commit: str, repository: Path = ROOT) -> Iterator[Tree]:
    """A commit, checked out in a temporary worktree that is taken away again whatever happens.

    raises  BenchmarkFault where there is no such commit, or no git
    """
    try:
        exact = git(repository, "rev-parse", "--verify", "--quiet", f"{commit}^{{commit}}")
    except (OSError, subprocess.CalledProcessError):
        raise BenchmarkFault(
            f"--against {commit}: no such commit here (allowed: a commit, branch or tag of this repository)"
        ) from None
    with tempfile.TemporaryDirectory(prefix="halfgain-against-") as folder:
        root, site = Path(folder) / "tree", Path(folder) / "site"
        try:
            git(repository, "worktree", "add", "--detach", str(root), exact)
        except subprocess.CalledProcessError as fault:
            raise BenchmarkFault(f"--against {commit}: {fault.stderr.strip()}") from None
        try:
            lay_out(root, site)
            yield Tree(exact[:12], root, site)
        finally:
            git(repository, "worktree", "remove", "--force", str(root))
