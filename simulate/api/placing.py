"""Where projector, screen and rows may be, and what has to be ordered and mounted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfgain.kinds import SCENE
from halfgain.one_blas_thread import in_one_blas_thread
from halfgain.runs import AnyScene, as_scene
from halfgain.scenes.given import NUMBER, takes

if TYPE_CHECKING:
    from halfgain.simulate.ordering.order import Order
    from halfgain.simulate.placing.placement import Placement

LEAST_STANDING_M, MOST_STANDING_M = 1.0, 2.5


@takes(scene=SCENE, white_cd_m2=NUMBER.optional)
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
    from halfgain.simulate.placing.placement import place as answer

    _checked(white_cd_m2)
    return answer(as_scene(scene), white_cd_m2=white_cd_m2)


@takes(scene=SCENE, standing_m=NUMBER.optional, white_cd_m2=NUMBER.optional)
@in_one_blas_thread
def order(scene: AnyScene, *, standing_m: float | None = None, white_cd_m2: float | None = None) -> Order:
    """Sizes, heights, clearances, trades and ageing: what has to be ordered and mounted. Nothing is traced.

    Parameters
    ----------
    scene : Scene, or name or file of one
    standing_m : float, optional
        How high a standing head reaches [m], 1 to 2.5. Left out: that of a tall man.
    white_cd_m2 : float, optional
        A minimum of your own for the ageing light [cd/m2], above 0, beside the published ones.

    Returns
    -------
    Order
        `open` holds the warnings to settle before anything is ordered; `plot()` draws the screen on its wall.

    Raises
    ------
    halfgain.Error
        A scene that cannot be, or a number out of range.
    """
    from halfgain.simulate.ordering.clearance import STATURE_M
    from halfgain.simulate.ordering.order import order as answer

    _checked(white_cd_m2, standing_m)
    return answer(as_scene(scene), standing_m=standing_m or STATURE_M, white_cd_m2=white_cd_m2)


def _checked(white_cd_m2: float | None, standing_m: float | None = None) -> None:
    """Refuses numbers out of range. raises halfgain.Error"""
    from halfgain.scenes.errors import SceneError, SceneErrors

    wrong = []
    if white_cd_m2 is not None and not 0.0 < white_cd_m2 < float("inf"):
        wrong.append(SceneError("halfgain", 0, "white_cd_m2", white_cd_m2, "is no luminance", "above 0 cd/m2"))
    if standing_m is not None and not LEAST_STANDING_M <= standing_m <= MOST_STANDING_M:
        allowed = f"{LEAST_STANDING_M:g} to {MOST_STANDING_M:g} m"
        wrong.append(SceneError("halfgain", 0, "standing_m", standing_m, "is no height of a head", allowed))
    if wrong:
        raise SceneErrors(wrong)
