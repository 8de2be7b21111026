"""`halfgain schema`: the JSON Schema of scene files, for editors that complete and check."""

from __future__ import annotations


def schema() -> None:
    """The JSON Schema of scene files."""
    import json

    from ...scenes.schema import json_schema
    from .stdout import say

    say(json.dumps(json_schema(), indent=2) + "\n")
