"""What the page rests on: assumptions, what the model leaves out, sources, and how it was made."""

from __future__ import annotations

from importlib.metadata import version

from ...materials.finish import NO_SOURCE
from ..measuring.targets import TARGETS
from ..output.warned import gathered
from .evidence import Evidence

LEFT_OUT = (
    "Finishes are matt: no gloss on furniture, no sheen of velvet. The finest structure of a fabric (sparkle, holes against pixels) is not drawn.",
    "The projector is a point at the lens; its own stray light is one even veil. No focus, no light from its case.",
    "An illuminance stated for a light state is taken as even over the screen; lamps and windows with a place are followed.",
    "Gain and half-gain angle do not fix a fabric: the band in the section on the fabric says how much that leaves open.",
    "Folds of a hang are scale estimates of our own; no verdict rests on the typical shape alone.",
    "Three colour channels, no spectra. Other people are drawn in the seat pictures as heads alone; a display shows less than the eye sees.",
)
_METHODS = (
    "Contrast: 4 x 4 checkerboard and its complement, nine points of a white picture: ISO/IEC 21118.",
    "Luminance of a fabric: gain times illuminance over pi, CIE S 017.",
    "Visibility of folds: Barten, Contrast sensitivity of the human eye, SPIE PM72 (1999).",
    "Tone curve of the pictures: Reinhard et al., Photographic tone reproduction, SIGGRAPH 2002.",
)


def assumptions(evidence: Evidence) -> list[str]:
    """Warnings of the scene, defaults taken, notes on the fabric, in words."""
    scene = evidence.measurement.scene
    return [*(warning.text for warning in gathered(scene.warnings, scene.seats)), *scene.notes, *scene.screen.fabric.assumed]


def sources(evidence: Evidence) -> list[str]:
    """Published targets with how they were come by, methods, and where finishes and fabrics come from."""
    targets = {f"{target.source} ({target.seen})" for target in TARGETS}
    scene = evidence.measurement.scene
    finishes = {*scene.room.finishes.values(), scene.screen.border_finish}
    by_source: dict[str, list[str]] = {}
    for finish in sorted(finishes, key=lambda each: each.name):
        by_source.setdefault(finish.source or NO_SOURCE, []).append(finish.name)
    said = [f"Finishes {', '.join(names)}: {source}." for source, names in by_source.items()]
    for band in evidence.bands:
        said.append(f"Fabric {band.fabric.name}: {band.fabric.source or 'as the scene states it'}.")
    return [*sorted(f"Target: {each}." for each in targets), *_METHODS, *dict.fromkeys(said)]


def made(evidence: Evidence) -> list[tuple[str, str]]:
    """How the page was made: version, scene, hash, seed, paths, errors."""
    found = evidence.measurement
    reached = f"{100 * found.error_reached:.2g} % reached, {100 * found.error_asked:.2g} % asked"
    return [
        ("program", f"halfgain {version('halfgain')}"),
        ("scene", found.scene.path),
        ("scene hash (SHA-256)", found.scene.sha256),
        ("seed", f"{found.seed}; the same seed and scene give the same numbers"),
        ("light paths", f"{found.paths:,}"),
        ("largest standard error", reached + ("" if found.met else "; NOT AS PRECISE AS ASKED")),
    ]
