"""What a shortlisted fabric is best at, in words."""

from __future__ import annotations

from collections.abc import Sequence

from ...choices.aims import Aim, Role, RoleKind
from ...measuring.targets import DARK

CONTRAST = "checkerboard_ratio"


def role_words(roles: Sequence[Role], *, balanced: str = "gives up least in its weakest aim") -> tuple[str, ...]:
    """Each role in words, those of contrast in one: "most contrast in the dark, with lamps on at the worst seat".

    balanced  how the role of the balanced fabric reads
    """
    contrasts = [role.aim for role in roles if role.aim is not None and role.aim.figure.key == CONTRAST]
    found = [
        balanced if role.kind is RoleKind.BALANCED or role.aim is None else f"most {role.aim.title}"
        for role in roles
        if role.aim not in contrasts
    ]
    if contrasts:
        found.append(f"most contrast {', '.join(_state(aim) for aim in contrasts)} at the worst seat")
    return tuple(found)


def _state(aim: Aim) -> str:
    return "in the dark" if aim.figure.state == DARK else f"with {aim.figure.state}"
