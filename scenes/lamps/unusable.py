"""What the readers of photometric files raise for a file that cannot be used."""

from __future__ import annotations

from ...materials.text.error import Error


class UnusablePhotometry(Error):
    """A photometric file that cannot be used.

    str() says what is wrong; line from 1, 0 where it belongs to no line; key: what should stand there, by its name in the format;
    value: what stands there, as written, None where there is none; allowed: what would do
    """

    def __init__(self, message: str, allowed: str = "", *, line: int = 0, key: str = "", value: str | None = None) -> None:
        super().__init__(message)
        self.allowed, self.line, self.key, self.value = allowed, line, key, value
