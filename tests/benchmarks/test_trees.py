"""Another commit beside this tree: checked out, importable, and gone again whatever happens."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from benchmarks.against import Worker
from benchmarks.state import ROOT, commit_of, git
from benchmarks.trees import BenchmarkFault, Tree, commit_tree, lay_out, this_tree

SETUP = """[tool.setuptools.package-dir]
"halfgain" = "top"
"halfgain.part" = "part"
"halfgain.part.inner" = "part/inner"
"""


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """A small repository of two commits: the package says 1, then 2."""
    root = tmp_path / "repository"
    for folder in ("top", "part/inner"):
        (root / folder).mkdir(parents=True)
    (root / "pyproject.toml").write_text(SETUP)
    (root / "part/__init__.py").write_text("")
    (root / "part/inner/__init__.py").write_text("")
    git(tmp_path, "init", "-q", str(root))
    for value in (1, 2):
        (root / "top/__init__.py").write_text(f"value = {value}\n")
        git(root, "add", "-A")
        git(root, "-c", "user.name=a", "-c", "user.email=a@b", "commit", "-qm", f"says {value}")
    return root


def said(site: Path) -> str:
    """What a Python that imports from a folder finds."""
    code = "import halfgain, halfgain.part.inner; print(halfgain.value)"
    done = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, "PYTHONPATH": str(site)}, check=True, capture_output=True
    )
    return done.stdout.decode().strip()


def test_a_commit_stands_beside_the_tree_and_goes_again(repository: Path) -> None:
    with commit_tree("HEAD~1", repository) as other:
        assert said(other.site) == "1"
        assert commit_of(other.root).startswith(other.name)
        assert len(git(repository, "worktree", "list").splitlines()) == 2
    assert not other.root.exists()
    assert len(git(repository, "worktree", "list").splitlines()) == 1
    assert (repository / "top/__init__.py").read_text() == "value = 2\n"


def test_a_commit_goes_again_after_a_fault(repository: Path) -> None:
    with pytest.raises(KeyboardInterrupt), commit_tree("HEAD", repository):
        raise KeyboardInterrupt
    assert len(git(repository, "worktree", "list").splitlines()) == 1


@pytest.mark.parametrize("sent", [signal.SIGTERM, signal.SIGINT])
def test_a_commit_goes_again_when_the_command_is_ended(repository: Path, sent: signal.Signals) -> None:
    code = (
        "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\n"  # whoever started the suite may ignore it
        "import pathlib, time; from benchmarks.__main__ import end_in_order; from benchmarks.trees import commit_tree; end_in_order()\n"
        f"with commit_tree('HEAD', pathlib.Path({str(repository)!r})) as tree: print(tree.root, flush=True); time.sleep(60)"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    )
    assert process.stdout is not None
    root = Path(process.stdout.readline().strip())
    assert (root / "top/__init__.py").exists()
    process.send_signal(sent)
    assert process.wait() != 0
    process.stdout.close()
    assert not root.exists()
    assert len(git(repository, "worktree", "list").splitlines()) == 1


@pytest.mark.parametrize("commit", ["no-such-branch", "deadbeef", "--help"])
def test_an_unknown_commit_is_one_line(repository: Path, commit: str) -> None:
    with pytest.raises(BenchmarkFault, match="no such commit here") as caught, commit_tree(commit, repository):
        pass
    assert "\n" not in str(caught.value)


def test_a_commit_without_the_package_is_one_line(repository: Path) -> None:
    (repository / "pyproject.toml").write_text("[project]\n")
    git(repository, "-c", "user.name=a", "-c", "user.email=a@b", "commit", "-qam", "no map")
    with pytest.raises(BenchmarkFault, match="not a source tree"), commit_tree("HEAD", repository):
        pass
    assert len(git(repository, "worktree", "list").splitlines()) == 1


def test_what_is_dirty_is_said(repository: Path, tmp_path: Path) -> None:
    assert "dirty" not in commit_of(repository)
    (repository / "top/__init__.py").write_text("value = 3\n")
    assert commit_of(repository).endswith(", dirty")
    (tmp_path / "elsewhere").mkdir()
    assert commit_of(tmp_path / "elsewhere").startswith("unknown")


def test_this_tree_is_laid_out_as_installed() -> None:
    with this_tree() as this:
        code = "import halfgain, halfgain.simulate.light, halfgain.materials.kernels; print(halfgain.__file__)"
        done = subprocess.run([sys.executable, "-c", code], env=this.environment(), check=True, capture_output=True, text=True)
        assert Path(done.stdout.strip()).resolve() == ROOT / "simulate/api/__init__.py"


def test_a_worker_that_runs_another_tree_is_refused(tmp_path: Path) -> None:
    lay_out(ROOT, tmp_path / "site")
    with pytest.raises(BenchmarkFault, match="not from its own tree"):
        Worker(Tree("other", tmp_path / "elsewhere", tmp_path / "site"))


def test_a_worker_answers_with_a_fault_for_what_it_cannot_do() -> None:
    with this_tree() as this:
        worker = Worker(this)
        try:
            assert "KeyError" in worker.ask({"make": "no such group"})["fault"]
        finally:
            worker.end()
