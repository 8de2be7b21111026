"""What was asked of answers that cannot be."""

from __future__ import annotations

from ...materials.text.error import Error


class AnswerError(Error, ValueError):
    """A surface, finish, fabric, picture or number that cannot be asked for, in one line with what is allowed."""
