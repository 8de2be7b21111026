"""A ledger as it is kept: paths without any reflectance, and what they belong to; saved to and loaded from one .npz file."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.text.error import Error
from ...materials.text.plain import plain, plain_path
from ...materials.text.reading import Missing, Unreadable, read_bytes
from ..light.ledger import Ledger, Starts, trace
from ..measuring.estimate import REPLICATIONS
from ..measuring.flatten import SceneArrays
from .geometry_match import CLOTH, FILM, PART, SHAPE, differences
from .ledger_archive import Damaged, archive, check_digest, unpacked

FORMAT = "halfgain.ledger/4"  # 1 had no digest, 2 belonged to its seats and its lens, in 3 the third hit was not certain
LARGEST_BYTES = 4_000_000_000
AGAIN = "trace the scene again"
SURVIVALS = (0.6, 0.8, 0.9)


class LedgerError(Error, ValueError):
    """A ledger file that cannot be used; str() is one clear line."""


@dataclass(frozen=True)
class Kept:
    """A ledger with its provenance.

    geometry   as `geometry_of` names it;  seed, and the scene's title it was traced for
    bytes_a_path  of the arrays as they are stored, before the file's compression
    """

    ledger: Ledger
    geometry: dict[str, Any]
    seed: int
    title: str

    @property
    def paths(self) -> int:
        """Paths of every replication and start together."""
        return len(self.ledger.hits)

    @property
    def survival(self) -> float:
        """Probability to go on after a hit [1], fixed when the ledger was traced."""
        return float(self.ledger.survival[0])

    @property
    def bytes_a_path(self) -> float:
        """Stored bytes a path on average."""
        return sum(array.nbytes for array in _arrays(self.ledger).values()) / self.paths


def traced(
    arrays: SceneArrays,
    starts: Starts,
    geometry: dict[str, Any],
    *,
    title: str,
    seed: int,
    paths: int,
    survival: float,
    threads: int = 1,
) -> Kept:
    """A fresh ledger of `paths` paths a replication and start.

    geometry  as `geometry_of` names it;  survival  probability to go on after a hit [1], one of SURVIVALS
    Source: light.ledger.trace; the same seed gives the same first paths whatever their number.
    """
    ledger = trace(
        arrays.geometry, starts, seed=seed, replications=REPLICATIONS, low_path=0, paths=paths, survival=survival, threads=threads
    )
    return Kept(_compact(ledger), geometry, seed, title)


def _compact(ledger: Ledger) -> Ledger:
    """Without the places of hits that were drawn but never made, since their path ended on a black back."""
    first = _starts(ledger.hits)
    hit = np.repeat(ledger.first - first, ledger.hits) + np.arange(int(ledger.hits.sum(dtype=np.int64)))
    return ledger._replace(first=first, patch=ledger.patch[hit], u=ledger.u[hit], v=ledger.v[hit])


def _starts(hits: np.ndarray) -> np.ndarray:
    """Place of each path's first hit where paths follow one another."""
    first = np.zeros(len(hits), np.int64)
    np.cumsum(hits[:-1], out=first[1:])
    return first


def _arrays(ledger: Ledger) -> dict[str, np.ndarray]:
    """What is stored: `first` follows from `hits`; patch numbers in the fewest bytes that hold them."""
    most = int(ledger.patch.max(initial=0))
    kind = np.uint8 if most < 1 << 8 else np.uint16 if most < 1 << 16 else np.int32
    return {"hits": ledger.hits, "patch": ledger.patch.astype(kind), "u": ledger.u, "v": ledger.v}


def to_bytes(kept: Kept) -> bytes:
    """The ledger as the bytes of an .npz file that holds a digest of all that is in it. Source: as `archive`."""
    head = {
        "format": FORMAT,
        "version": version("halfgain"),
        "title": kept.title,
        "seed": kept.seed,
        "paths_a_cell": int(kept.ledger.paths[0]),
        "survival": kept.survival,
        "geometry": kept.geometry,
    }
    return archive(head, _arrays(kept.ledger))


def load(path: Path) -> Kept:
    """The ledger of a file.

    raises  LedgerError naming the file: not there, not a ledger, of another format, damaged, or changed since it was traced
    Ledgers of releases before the digest are refused: tracing takes seconds, and nothing would tell a damaged one.
    """
    where = plain_path(path)
    try:
        head, arrays = unpacked(read_bytes(path, LARGEST_BYTES, "a ledger"))
        if head.get("format") != FORMAT:
            found = plain(str(head.get("format")), 60)
            raise LedgerError(f'{where}: ledger format "{found}" is not "{FORMAT}", which this version reads: {AGAIN}')
        check_digest(head, arrays)
        return _kept(head, **arrays)
    except Missing:
        raise LedgerError(f"{where}: no such ledger file; make one with halfgain trace SCENE --ledger {where}") from None
    except Unreadable as fault:
        raise LedgerError(f"{where}: {fault}") from None
    except Damaged as fault:
        raise LedgerError(f"{where}: {fault}: {AGAIN}") from None


def _kept(head: dict[str, Any], hits: np.ndarray, patch: np.ndarray, u: np.ndarray, v: np.ndarray) -> Kept:
    """Checked parts of a file put together; raises Damaged for what no trace can have written."""
    read: list[Any] = [head.get(key) for key in ("paths_a_cell", "survival", "seed", "geometry")]
    paths, survival, seed, geometry = read
    if hits.dtype != np.uint8 or u.dtype != np.uint16 or v.dtype != np.uint16 or patch.dtype.kind not in "ui":
        raise Damaged("damaged: wrong kind of array")
    if not _is_whole(paths) or not _is_whole(seed) or not isinstance(survival, float) or not 0.0 < survival < 1.0:
        raise Damaged("damaged: no number of paths, seed or survival")
    if not isinstance(geometry, dict) or not all(_is_measure(key, value) for key, value in geometry.items()):
        raise Damaged("damaged: a measure of its geometry is no number")
    if paths < 1 or len(hits) == 0 or len(hits) % (paths * REPLICATIONS):
        raise Damaged("damaged: wrong number of paths")
    if not int(hits.sum(dtype=np.int64)) == len(patch) == len(u) == len(v):
        raise Damaged("damaged: paths and hits do not match")
    ledger = Ledger(np.array([paths]), np.array([survival]), _starts(hits), hits, patch.astype(np.int32), u, v)
    return Kept(ledger, geometry, seed, str(head.get("title")))


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 1 << 63


def _is_measure(name: str, value: Any) -> bool:
    """Whether `geometry_of` can have given this: lengths [m] of a room, or the digest of a shape."""
    if name.startswith((CLOTH, FILM, SHAPE, PART)):
        return isinstance(value, str)
    parts = value if isinstance(value, list) else [value]
    return all(isinstance(part, int | float) and abs(part) < 1e6 for part in parts)


def check(kept: Kept, arrays: SceneArrays, starts: Starts, geometry: dict[str, Any], where: str) -> None:
    """Refuse a ledger that does not belong to a scene.

    where   the file, for the message
    raises  LedgerError naming every measure that differs
    """
    found = differences(kept.geometry, geometry)
    if found:
        raise LedgerError(f"{where}: traced for another geometry: {'; '.join(found)}; trace this scene anew")
    ledger = kept.ledger
    cells = len(ledger.hits) // int(ledger.paths[0])
    if (
        cells != REPLICATIONS * len(starts.place)
        or int(ledger.patch.max(initial=0)) >= len(arrays.geometry.corner)
        or ledger.patch.min(initial=0) < 0
    ):
        raise LedgerError(f"{where}: damaged ledger (paths do not fit the scene): trace it again")
