"""The room as a GLB file for other programs: a named mesh for every surface, object, seat and the screen, metres, finish colours.

Axes are glTF's: x to the right as seen from the seats, y up, z out from the screen wall; the origin is the foot of its middle.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ...scenes.cloth.cloth import Cloth
from ...scenes.cloth.surface import Level, cloth_of
from ...scenes.geometry import screen_frame, to_inside
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import Scene
from ..light.geometry import SCREEN, is_pieced
from ..measuring.flatten import flatten
from .layout import cut_patches
from .sheets import RAISED_M, corners_of

_COLUMNS, _ROWS = 241, 136  # of the cloth's mesh at most
_SLACK, _SLACK_M = (
    0.01,
    2e-5,
)  # by which a mesh of fewer may be off, over the depth of the folds, or [m] where they are flatter than that
GENERATOR = "halfgain"
_NEUTRAL = (0.35, 0.35, 0.35)  # reflectance of heads and lens, which have none


def to_gltf(places_m: np.ndarray) -> np.ndarray:
    """Places (..., 3) of the inside frame [m] in glTF's: right, up, out. Source: glTF 2.0 section 3.4, y up, right-handed."""
    places = np.asarray(places_m, float)
    return np.stack([places[..., 0], places[..., 2], -places[..., 1]], axis=-1)


def room_glb(scene: Scene, *, level: Level = "typical", people: bool = True) -> bytes:
    """The scene as GLB bytes; walls are seen from inside only, so a viewer looks into the room.

    level   of folds estimated from the hang; they are drawn as deep as they are;  people  with viewers' heads and the lens
    raises  SceneErrors for a scene that no file could have made
    """
    import trimesh

    arrays = flatten(
        scene, Cloth(scene.screen.width_m, scene.screen.height_m, ()), opaque=True
    )  # its cloth has a mesh of its own
    geometry, whole = arrays.geometry, trimesh.Scene()
    cut = cut_patches(geometry)
    raised = (
        np.zeros((len(cut), 1)) if not is_pieced(geometry) else RAISED_M * (geometry.pieces.under != np.arange(len(cut)))[:, None]
    )
    raised = raised * geometry.normal
    for index, name in enumerate(arrays.surfaces):
        patches = [i for i in np.flatnonzero(geometry.surface == index) if geometry.role[i] != SCREEN]
        if patches:
            whole_ones = [i for i in patches if not cut[i]]
            corners = [_quad(geometry.corner[i] + raised[i], geometry.edge_u[i], geometry.edge_v[i]) for i in whole_ones]
            faces = [np.array([[0, 1, 2], [0, 2, 3]]) + 4 * k for k in range(len(whole_ones))]
            if any(cut[i] for i in patches):
                triangles, _ = corners_of(geometry, np.array([i for i in patches if cut[i]]))
                corners.append(triangles.reshape(-1, 3))
                faces.append(np.arange(3 * len(triangles)).reshape(-1, 3) + 4 * len(whole_ones))
            _add(whole, name, to_gltf(np.concatenate(corners)), np.concatenate(faces), arrays.reflectance[index])
    _add(whole, "screen", *_cloth(scene, level), scene.screen.fabric.tint)
    for seat in scene.seats if people else ():
        _ball(whole, f"seat {seat.name}", to_inside(seat.eye_m), HEAD_RADIUS_M)
    if people:
        _ball(whole, "lens", to_inside(scene.projector.lens_m), 0.07)
    return bytes(trimesh.exchange.gltf.export_glb(whole, tree_postprocessor=_signed))


def _signed(tree: dict[str, Any]) -> None:
    """The program's name at the head of the file, by which it knows its own."""
    rest = dict(tree)
    tree.clear()
    tree["asset"] = {"generator": GENERATOR, "version": "2.0"}
    tree.update({key: value for key, value in rest.items() if key != "asset"})


def _quad(corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray) -> np.ndarray:
    return np.array([corner, corner + edge_u, corner + edge_u + edge_v, corner + edge_v])


def _cloth(scene: Scene, level: Level) -> tuple[np.ndarray, np.ndarray]:
    """Corners (n, 3) [m] and triangles (m, 3) of the cloth, front towards the seats."""
    frame, sheet, cloth = screen_frame(scene), scene.screen, cloth_of(scene.screen, level)
    columns, rows = (2, 2) if cloth.flat else (_COLUMNS, _ROWS)
    x, y = np.meshgrid(np.linspace(-0.5, 0.5, columns) * sheet.width_m, np.linspace(-0.5, 0.5, rows) * sheet.height_m)
    height = np.zeros_like(x) if cloth.flat else cloth.at(x, y).height
    few = np.ix_(_enough(height), _enough(height.T))
    x, y, height = x[few], y[few], height[few]
    rows, columns = height.shape
    right, up, normal = (np.array(axis) for axis in (frame.right, frame.up, frame.normal))
    places = np.array(frame.centre) + x[..., None] * right + y[..., None] * up + height[..., None] * normal
    row, column = (part.ravel() for part in np.mgrid[0 : rows - 1, 0 : columns - 1])
    first = row * columns + column
    triangles = np.concatenate(
        [np.stack([first, first + 1, first + columns + 1], 1), np.stack([first, first + columns + 1, first + columns], 1)]
    )
    return to_gltf(places.reshape(-1, 3)), triangles


def _enough(height: np.ndarray) -> np.ndarray:
    """Rows (k,) of heights (n, m) [m], evenly apart, between which straight lines are off by no more than the slack."""
    last, slack = len(height) - 1, max(_SLACK_M, _SLACK * float(np.ptp(height)))
    for step in range(last, 1, -1):
        if last % step == 0:
            low, share = np.divmod(np.arange(last), step)
            one, other = height[low * step], height[(low + 1) * step]
            if np.abs(one + (share / step)[:, None] * (other - one) - height[:-1]).max() <= slack:
                return np.arange(0, last + 1, step)
    return np.arange(last + 1)


def _ball(whole: Any, name: str, centre: Any, radius_m: float) -> None:
    import trimesh

    ball = trimesh.creation.icosphere(subdivisions=2, radius=radius_m)
    _add(whole, name, ball.vertices + to_gltf(np.array(centre)), ball.faces, np.array(_NEUTRAL))


def _add(whole: Any, name: str, corners: np.ndarray, triangles: np.ndarray, reflectance: Any) -> None:
    """A mesh whose colour is its reflectance, front sides only. Source: glTF 2.0, the base colour factor is linear, BT.709."""
    import trimesh

    colour = [*np.clip(np.asarray(reflectance, float), 0.0, 1.0), 1.0]
    material = trimesh.visual.material.PBRMaterial(name=name, baseColorFactor=colour, metallicFactor=0.0, roughnessFactor=1.0)
    mesh = trimesh.Trimesh(corners, triangles, process=False)
    mesh.visual = trimesh.visual.TextureVisuals(material=material)
    whole.add_geometry(mesh, node_name=name, geom_name=name)
