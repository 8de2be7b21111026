"""Where projector, screen and rows may be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfgain.runs import AnyScene, as_scene

if TYPE_CHECKING:
    from halfgain.simulate.placing.placement import Placement


def place(scene: AnyScene, *, white_cd_m2: float | None = None) -> Placement:
    """Where the lens may stand, which screen sizes serve, where the lower edge may lie, how high each row must sit.

    Parameters
    ----------
    scene : Scene, or name or file of one
    white_cd_m2 : float, optional
        White that every seat must have of the projector's own light [cd/m2], above 0.
        Left out: the least that a standard asks of a theatre.

    Returns
    -------
    Placement
        Each length with all others as the scene has them, in whole cm (mm for the shortest throws), rounded to the side
        that fits; `plot()` draws plan and section to scale.

    Raises
    ------
    halfgain.Error
        A scene that cannot be, or a luminance out of range.
    """
    from halfgain.scenes.errors import SceneError, SceneErrors
    from halfgain.simulate.placing.placement import place as answer

    if white_cd_m2 is not None and not 0.0 < white_cd_m2 < float("inf"):
        raise SceneErrors([SceneError("halfgain", 0, "white_cd_m2", white_cd_m2, "is no luminance", "above 0 cd/m2")])
    return answer(as_scene(scene), white_cd_m2=white_cd_m2)
