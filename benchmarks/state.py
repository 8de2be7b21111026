"""What a table of speeds was measured on: machine, load, versions, commit."""

from __future__ import annotations

import os
import platform
import subprocess
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("numba", "llvmlite", "numpy", "scipy", "mitsuba")


def state_of_the_machine() -> list[str]:
    """Lines for the head of a table."""
    threads = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return [
        f"commit      {commit_of(ROOT)}",
        f"processor   {processor()}, {threads} threads to use of {os.cpu_count()}",
        f"load        {load()}",
        f"python      {platform.python_version()} on {platform.system()} {platform.machine()}",
        f"packages    {', '.join(f'{name} {installed(name)}' for name in PACKAGES)}",
    ]


def commit_of(tree: Path) -> str:
    """Commit of a folder, with "dirty" where tracked files were changed or new ones stand beside them; words where it is none of git's."""
    try:
        commit = git(tree, "rev-parse", "--short=12", "HEAD")
        return commit + (", dirty" if git(tree, "status", "--porcelain") else "")
    except (OSError, subprocess.CalledProcessError):
        return "unknown: no git repository"


def git(tree: Path, *arguments: str) -> str:
    """What git says; raises subprocess.CalledProcessError with what it complains of, OSError where there is no git."""
    done = subprocess.run(["git", "-C", str(tree), *arguments], check=True, capture_output=True, text=True)
    return done.stdout.strip()


def processor() -> str:
    """Model of the processor as the system names it."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        lines = []
    names = [line.split(":", 1)[1].strip() for line in lines if line.startswith("model name") and ":" in line]
    return names[0] if names else platform.processor() or "unknown"


def load() -> str:
    """Mean number of jobs that wanted a processor, over one, five and fifteen minutes: above the number of cores, trust ratios alone."""
    try:
        return " ".join(f"{each:.2f}" for each in os.getloadavg()) + " jobs (1, 5, 15 minutes)"
    except OSError:
        return "unknown"


def installed(name: str) -> str:
    """Version of a package."""
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"
