"""Words from a fixed list: a misspelt one is refused with its nearest spellings, never taken for another or for a default."""

from __future__ import annotations

from collections.abc import Iterable

from .error import Error
from .nearest import nearest


class UnknownWord(Error, ValueError):
    """A word that is none of those allowed; `word` as given, `allowed` all there are."""

    def __init__(self, what: str, word: object, allowed: tuple[str, ...]) -> None:
        self.word, self.allowed = word, allowed
        close = nearest(word, allowed) if isinstance(word, str) else []
        hint = f"; did you mean {' or '.join(repr(each) for each in close)}?" if close else ""
        super().__init__(f"{what} {word!r} is not known: allowed {', '.join(repr(each) for each in allowed)}{hint}")


def check_word(what: str, word: object, allowed: Iterable[str]) -> None:
    """raises UnknownWord where `word` is none of `allowed`; `what` names it in the message."""
    known = tuple(allowed)
    if word not in known:
        raise UnknownWord(what, word, tuple(str(each) for each in known))
