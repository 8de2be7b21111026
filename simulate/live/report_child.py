"""The client's page of a scene, made in a process of its own: `python -m halfgain.simulate.live.report_child` < question > page.

A process that can be ended at once, and whose drawing in 3-D cannot take the server with it.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from ...scenes.load import scene_from_text
from ...scenes.model import Scene
from ..choices.variants import document_of_scene
from ..choices.wishes import Wishes
from ..page.drawing_process import drawn_beside
from ..page.evidence import collect
from ..page.offer import offer_of
from ..page.page import page_html


def page_of(scene: Scene, *, seed: int, threads: int) -> str:
    """The page's text; stages go to stderr, one a line. raises SceneErrors"""
    with drawn_beside(scene, threads=threads) as room:
        evidence = collect(document_of_scene(scene), [], Wishes(), room, seed=seed, error=0.01, threads=threads, told=told)
    told("setting the page")
    return page_html(evidence, offer_of())


def told(stage: str) -> None:
    """One line for the server."""
    print(stage, file=sys.stderr, flush=True)


def main() -> None:
    """Question on stdin as JSON: text, name, folder, seed, threads; the page on stdout, UTF-8."""
    asked = json.load(sys.stdin)
    scene = scene_from_text(asked["text"], asked["name"], Path(asked["folder"]))
    sys.stdout.buffer.write(page_of(scene, seed=asked["seed"], threads=asked["threads"]).encode())


if __name__ == "__main__":
    main()
