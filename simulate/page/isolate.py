"""Names in other writing directions: each is kept to itself, so that it cannot turn the words around it."""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ...scenes.model import Scene
    from .evidence import Evidence

_FIRST_STRONG, _POP = "\u2068", "\u2069"  # isolate by the first strong letter, and its end
_STEERING = dict.fromkeys((*range(0x202A, 0x202F), *range(0x2066, 0x206A)))  # embeddings, overrides, isolates
_TAGS = re.compile(r"(<!--.*?-->|<style.*?</style>|<script.*?</script>|<title>.*?</title>|<[^>]*>)", re.DOTALL)


def isolated(page: str, names: Iterable[str]) -> str:
    """A page in which no name can turn what stands around it.

    Letters that steer the direction are taken out. Names with letters written from the right stand in <bdi>, and between
    isolating characters where there are no elements: in attributes and in <title>.
    page  HTML whose texts and attributes are escaped;  names  as users gave them
    Source: Unicode Standard Annex 9, section 2.4; HTML, the bdi element.
    """
    page = page.translate(_STEERING)
    known = {name.translate(_STEERING).strip() for name in names}
    written = {form for name in known if name and _turns(name) for form in _escaped(name)}
    if not written:
        return page
    # longest first: a name may be part of another
    pattern = re.compile(
        "|".join(re.escape(form) for form in sorted(written, key=lambda form: (-len(form), form))), re.IGNORECASE
    )
    parts = _TAGS.split(page)
    parts[::2] = [pattern.sub(r"<bdi>\g<0></bdi>", part) for part in parts[::2]]
    parts[1::2] = [pattern.sub(rf"{_FIRST_STRONG}\g<0>{_POP}", part) for part in parts[1::2]]
    return "".join(parts)


def user_names(evidence: Evidence) -> Iterator[str]:
    """Every text on the page that may come from a user: the scene's, and the names of fabrics, finishes and choices."""
    yield from _texts(evidence.document.table)
    scene = evidence.measurement.scene
    yield from (finish.name for finish in scene.room.finishes.values())
    yield from (each.finish.name for each in evidence.costs.surfaces)
    yield from (each.name for each in evidence.advice.evidence)
    yield from evidence.advice.refused
    yield from (band.fabric.name for band in evidence.bands)
    for pair in evidence.pairs:
        yield from (pair.before.label, *(view.label for view in pair.after))


def scene_names(scene: Scene) -> Iterator[str]:
    """Every text of a scene that may come from a user."""
    yield scene.title
    yield from (seat.name for seat in scene.seats)
    yield from (each.name for each in (*scene.room.objects, *scene.room.parts))
    yield scene.screen.fabric.name
    if scene.document is not None:
        yield from _texts(scene.document.table)


def _texts(part: Any) -> Iterator[str]:
    if isinstance(part, str):
        yield part
    elif isinstance(part, dict | list):
        for each in part.values() if isinstance(part, dict) else part:
            yield from _texts(each)


def _turns(name: str) -> bool:
    """Whether a letter or mark of the name is written from the right."""
    return any(unicodedata.bidirectional(letter) in ("R", "AL", "AN") for letter in name)


def _escaped(name: str) -> set[str]:
    """The forms a text takes in HTML: as it is, and with quotes escaped in the two ways that are in use."""
    plain = html.escape(name, quote=False)
    return {plain, html.escape(name), plain.replace('"', "&#34;").replace("'", "&#39;")}
