"""The one base of every error that halfgain raises about what it was given."""

from __future__ import annotations


class Error(Exception):
    """What a caller can catch: bad scenes, libraries, curves, fabrics, ledgers, pictures. Faults of the program are none of these."""

    def __reduce__(self) -> tuple[object, ...]:
        """How an error travels between processes: its class and what stands in it, whatever its constructor takes."""
        return _again, (type(self), self.args, dict(self.__dict__))


def _again(kind: type[Error], args: tuple[object, ...], state: dict[str, object]) -> Error:
    """An error as it was before it was pickled."""
    made = kind.__new__(kind, *args)
    made.args = args
    made.__dict__.update(state)
    return made
