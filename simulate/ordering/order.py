"""Everything that `order` tells of a scene."""

from __future__ import annotations

from ...materials.dataclass import dataclass
from ...scenes.casing import casing_box
from ...scenes.model import Box, Scene
from ...scenes.recheck import check_scene
from ...scenes.throw import Throw, throw
from ...scenes.warning import SceneWarning, WarningCode
from ..measuring.showing import Showing
from .ageing import FoldCheck, LightAges, fold_checks, light_ages
from .clearance import STATURE_M, BeamClearance, beam_clearance
from .mounting import FixingLoad, ScreenSizes, fixing_load, screen_sizes
from .trades import Present, trades

BLOCKING = (WarningCode.DOES_NOT_FIT, WarningCode.CASING, WarningCode.IN_BEAM, WarningCode.FABRIC_ON_HANG, WarningCode.LIGHT_SIDE)


@dataclass(frozen=True, eq=False, repr=False)
class Order(Showing):
    """What has to be ordered and mounted; plot() draws the screen on its wall with its dimensions.

    sizes      ScreenSizes;  load  of its fixings, None where no weight is stated
    throw      how the projector stands to its picture;  casing  where its casing stands, None where no size is stated
    beam       clearance over a standing head
    trades     who must be present;  fold_checks  when to judge the folds again;  ages  None where no decline is stated
    open       warnings that should be settled before anything is ordered
    """

    scene: Scene
    sizes: ScreenSizes
    load: FixingLoad | None
    throw: Throw
    casing: Box | None
    beam: BeamClearance
    trades: tuple[Present, ...]
    ages: LightAges | None
    fold_checks: tuple[FoldCheck, ...]
    open: tuple[SceneWarning, ...]

    def __repr__(self) -> str:
        sizes = self.sizes
        said = f"{sizes.white_width:.3f} x {sizes.white_height:.3f} m white, {sizes.overall_width:.3f} x {sizes.overall_height:.3f} m overall"
        return f"<Order of {self.scene.title!r}: {said}; {len(self.open)} open>"


def order(scene: Scene, *, standing_m: float = STATURE_M, white_cd_m2: float | None = None) -> Order:
    """Sizes, heights, clearances, trades and ageing of a scene. Nothing is traced.

    standing_m   how high a standing head reaches [m];  white_cd_m2  a minimum of the user's own beside the published ones [cd/m2]
    raises       SceneErrors for a scene that no file could have made
    Source: `screen_sizes`, `beam_clearance`, `trades`, `light_ages`.
    """
    check_scene(scene)
    return Order(
        scene=scene,
        sizes=screen_sizes(scene),
        load=fixing_load(scene),
        throw=throw(scene),
        casing=casing_box(scene.projector, with_air=False),
        beam=beam_clearance(scene, standing_m),
        trades=trades(scene),
        ages=light_ages(scene, white_cd_m2),
        fold_checks=fold_checks(scene),
        open=tuple(warning for warning in scene.warnings if warning.code in BLOCKING),
    )
