"""The list of materials: what a scene may name, as text and as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from ....materials.fabric import Fabric
from ....materials.finish import Finish
from ....materials.finish_words import meant, surfaces_for
from ....materials.library import Library
from .document import fabric_list

_GREY = 0.005  # red, green and blue this close are grey [1]


class MaterialsList(NamedTuple):
    """Finishes and fabrics in the order of their files."""

    finishes: tuple[Finish, ...]
    fabrics: tuple[Fabric, ...]


def found_materials(library: Library, words: Sequence[str]) -> MaterialsList:
    """What all words stand in (name, surfaces, source; a fabric's kind), with the finishes that an everyday word means first.

    raises LibraryErrors where a fabric of the library is wrong
    """
    asked = [word.casefold() for word in " ".join(words).split()]

    def holds(*texts: str) -> bool:
        every = " ".join(texts).casefold()
        return all(word in every for word in asked)

    also = meant(" ".join(words), library.finishes)
    finishes: Mapping[str, Finish] = library.finishes
    named = [name for name, each in finishes.items() if holds(name, *surfaces_for(name), each.source)]
    shown = dict.fromkeys((*also, *named)) if asked else finishes
    fabrics = tuple(each for name, each in library.fabrics.items() if holds(name, each.kind, each.source))
    return MaterialsList(tuple(finishes[name] for name in shown), fabrics)


def materials_text(found: MaterialsList) -> str:
    """A finish a line with its source below, then the fabrics a line each."""
    lines = []
    if found.finishes:
        lines += [
            "Finishes: reflectance for luminance, red green blue (linear, BT.709), surfaces, absorption 125 Hz to 4 kHz",
            "",
        ]
        for each in found.finishes:
            surfaces = ", ".join(surfaces_for(each.name))
            lines.append(f"{each.name:30}{each.luminous:6.3g}  {_colour(each):18}{surfaces:22}{_absorption(each)}".rstrip())
            lines.append(f"    {each.source}")
    text = "\n".join(lines) + "\n" if lines else ""
    if found.fabrics:
        text += ("\n" if lines else "") + "Fabrics\n\n" + fabric_list(found.fabrics)
    return text


def _colour(finish: Finish) -> str:
    red, green, blue = finish.reflectance
    return "grey" if max(red, green, blue) - min(red, green, blue) < _GREY else f"{red:g} {green:g} {blue:g}"


def _absorption(finish: Finish) -> str:
    return " ".join(f"{value:g}" for band, value in sorted(finish.absorption.items()) if 125 <= band <= 4000)


def materials_document(found: MaterialsList) -> dict[str, Any]:
    """The list as plain data; reflectances [1], absorption by octave band [Hz]."""
    return {
        "format": "halfgain.materials/1",
        "finishes": [
            {
                "name": each.name,
                "reflectance": each.luminous,
                "reflectance_rgb": list(each.reflectance),
                "surfaces": list(surfaces_for(each.name)),
                "absorption": {str(band): value for band, value in sorted(each.absorption.items())},
                "source": each.source,
            }
            for each in found.finishes
        ],
        "fabrics": [
            {
                "name": each.name,
                "kind": each.kind,
                "gain": each.gain,
                "half_gain_deg": each.half_gain_deg,
                "albedo": each.albedo,
                "open_area": each.open_area,
                "source": each.source,
            }
            for each in found.fabrics
        ],
    }
