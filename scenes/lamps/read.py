"""The one door to photometric files: by their ending, bounded, every fault with its line."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from ...materials.text.reading import Unreadable, read_bytes
from .eulumdat import read_eulumdat
from .lm63 import NO_TILT, Tilt, read_lm63
from .photometry import Photometry
from .unusable import UnusablePhotometry

LARGEST_BYTES = 5_000_000  # the largest files of road lights have some 100 kB
ENDINGS = (".ies", ".ldt")
WORDS = "a photometric file: ANSI/IES LM-63 (.ies) or EULUMDAT (.ldt)"


class Luminaire(NamedTuple):
    """What a photometric file says: the luminaire, and how its output changes with tilt."""

    photometry: Photometry
    tilt: Tilt = NO_TILT


def read_photometry(path: Path) -> Luminaire:
    """The luminaire of a file.

    raises UnusablePhotometry for a file that is missing, of another kind, too large, or holds a fault
    """
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise UnusablePhotometry("is of another kind, by its ending", WORDS, value=path.suffix or None)
    try:
        data = read_bytes(path, LARGEST_BYTES, "a photometric file", WORDS)
    except Unreadable as fault:
        raise UnusablePhotometry(str(fault), fault.allowed, line=fault.line) from None
    text = data.removeprefix(b"\xef\xbb\xbf").decode("latin-1")  # numbers are the same in every code page; names are not shown
    if not text.strip():
        raise UnusablePhotometry("is empty", WORDS, line=1)
    return Luminaire(*read_lm63(text)) if ending == ".ies" else Luminaire(read_eulumdat(text))
