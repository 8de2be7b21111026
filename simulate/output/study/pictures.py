"""The pictures of a study."""

from __future__ import annotations

from ...studies.outcome import StudyResult
from ...studies.study import Study


def picture_names(study: Study) -> list[str]:
    """Names of the pictures to come, known before anything runs."""
    return []


def study_pictures(result: StudyResult) -> dict[str, bytes]:
    """Pictures by name."""
    return {}
