"""The drum in space, drawn in a process of its own: without the system's GL libraries the interpreter is killed, not told.

`render_scene(scene)` starts the child and waits; the child is this module run with a folder that holds the scene.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from .render import TIMEOUT_S, View

__all__ = ["Block", "Scene", "SceneImage", "Shell", "Tube", "render_scene"]

Point = tuple[float, float, float]
AROUND, ALONG_MM = 480, 9.0  # of the shell's grid: steps around, and length of one along
TUBE_SIDES = 120


@dataclass(frozen=True)
class Shell:
    """The slotted shell. slots: (angle_deg, z_mm) of each; shape "ellipse" or "rounded" with the corners' radius_mm."""

    outer_mm: float
    inner_mm: float
    from_mm: float
    to_mm: float
    slots: tuple[tuple[float, float], ...]
    half_x_mm: float
    half_y_mm: float
    radius_mm: float
    shape: str
    colour: str


@dataclass(frozen=True)
class Tube:
    """A solid or hollow cylinder about the drum's axis."""

    outer_mm: float
    inner_mm: float
    from_mm: float
    to_mm: float
    colour: str


@dataclass(frozen=True)
class Block:
    """A block whose own axes point outward, around and along, turned by angle_deg; centre_mm and size_mm in these axes."""

    centre_mm: Point
    size_mm: Point
    angle_deg: float
    z_mm: float
    colour: str


@dataclass(frozen=True)
class Scene:
    """What is drawn, from where, and the places whose pixels are asked. arrow: (radius, z, from and to angle) of an arc."""

    shell: Shell
    tubes: tuple[Tube, ...]
    blocks: tuple[Block, ...]
    arrow: tuple[float, float, float, float]
    ink: str
    view: View
    points: tuple[Point, ...]
    width: int
    height: int


@dataclass(frozen=True)
class SceneImage:
    """image [height, width, 3]; pixels: of every point (from the left, from the top), and whether it is in sight."""

    image: Any
    pixels: tuple[tuple[float, float, bool], ...]


def command() -> list[str]:
    """The child's command, without the folder."""
    return [sys.executable, "-W", "ignore", "-m", __name__]


def render_scene(scene: Scene) -> SceneImage | str:
    """The picture, or the reason in words why there is none."""
    with tempfile.TemporaryDirectory() as home:
        Path(home, "scene.json").write_text(json.dumps(asdict(scene)), encoding="utf-8")
        try:
            child = subprocess.run(
                [*command(), home], capture_output=True, text=True, errors="replace", timeout=TIMEOUT_S, check=False,
                env={**os.environ, "PYVISTA_OFF_SCREEN": "true", "OMP_NUM_THREADS": "1"},
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return f"it was not finished within {TIMEOUT_S:g} s"
        except OSError as error:
            return f"the drawing process could not be started ({error.strerror or error})"
        done = Path(home, "scene.npz")
        if done.is_file():
            with np.load(done, allow_pickle=False) as data:
                pixels = tuple((float(x), float(y), bool(seen)) for x, y, seen in data["pixels"])
                return SceneImage(np.asarray(data["image"]), pixels)
    if child.returncode < 0:
        return f"the drawing process was killed by signal {-child.returncode}, as happens where the system's GL libraries are missing"
    lines = child.stderr.strip().splitlines()
    return lines[-1].strip()[:200] if lines else f"the drawing process ended with code {child.returncode}"


def main(home: str) -> None:
    """The child: draw the folder's scene.json."""
    scene = json.loads(Path(home, "scene.json").read_text(encoding="utf-8"))
    image, pixels = _draw(scene)
    part = Path(home, "part.npz")
    np.savez(part, image=image, pixels=np.array(pixels, dtype=float))
    part.rename(Path(home, "scene.npz"))


def _draw(scene: dict[str, Any]) -> tuple[Any, list[tuple[float, float, float]]]:
    import pyvista

    plotter: Any = pyvista.Plotter(off_screen=True, window_size=[scene["width"], scene["height"]], lighting="light kit")
    plotter.set_background("white")
    plotter.enable_anti_aliasing("ssaa")
    look: dict[str, Any] = {"ambient": 0.25, "diffuse": 0.75, "specular": 0.08, "show_scalar_bar": False}
    shell = _shell(scene["shell"])
    plotter.add_mesh(
        shell, color=scene["shell"]["colour"], smooth_shading=True, split_sharp_edges=True, feature_angle=35, **look
    )
    solids = [(shell, 40)]
    for tube in scene["tubes"]:
        mesh = pyvista.CylinderStructured(
            radius=[max(tube["inner_mm"], 1e-3), tube["outer_mm"]], height=tube["to_mm"] - tube["from_mm"],
            center=(0, 0, 0.5 * (tube["from_mm"] + tube["to_mm"])), direction=(0, 0, 1), theta_resolution=TUBE_SIDES,
            z_resolution=2,
        ).extract_surface(algorithm="dataset_surface")  # fmt: skip
        plotter.add_mesh(
            mesh, color=tube["colour"], smooth_shading=True, split_sharp_edges=True, feature_angle=35, **look
        )
        solids.append((mesh, 50))
    for block in scene["blocks"]:
        half = 0.5 * np.array(block["size_mm"])
        centre = np.array(block["centre_mm"])
        low, high = centre - half, centre + half
        box = pyvista.Box(bounds=(low[0], high[0], low[1], high[1], low[2], high[2]))
        box = box.rotate_z(block["angle_deg"], inplace=False).translate((0, 0, block["z_mm"]), inplace=False)
        plotter.add_mesh(box, color=block["colour"], **look)
        solids.append((box, 40))
    for mesh, angle in solids:
        rims = mesh.extract_feature_edges(angle, boundary_edges=False, non_manifold_edges=False, manifold_edges=False)
        if rims.n_points:
            rims.clear_data()
            plotter.add_mesh(rims, color=scene["ink"], line_width=1.4, lighting=False)
    _arrow(plotter, scene)
    view = scene["view"]
    plotter.camera_position = [view["position"], view["focus"], view["up"]]
    plotter.enable_parallel_projection()
    plotter.parallel_scale = 0.5 * view["height_mm"]
    plotter.renderer.ResetCameraClippingRange()
    plotter.render()
    image = np.asarray(plotter.screenshot(None, return_img=True))
    depth = np.asarray(plotter.get_image_depth(fill_value=np.nan))
    pixels = [_pixel(plotter, depth, point) for point in scene["points"]]
    plotter.close()
    return image, pixels


def _shell(shell: dict[str, Any]) -> Any:
    """The skin of the slotted shell."""
    skin = _slotted(shell).extract_surface(algorithm="dataset_surface").triangulate()
    skin.clear_data()
    # where the grid begins and ends around the drum it has faces inside the wall
    corners = np.asarray(skin.points)[np.asarray(skin.faces).reshape(-1, 4)[:, 1:]]
    seam = (np.abs(corners[:, :, 1]) < 1e-6).all(1) & (corners[:, :, 0] > 0).all(1)
    return skin.extract_cells(~seam).extract_surface(algorithm="dataset_surface").clean(tolerance=1e-4, absolute=True)


def _slotted(shell: dict[str, Any]) -> Any:
    """The shell as cells, with its slots cut out along their own outline."""
    import pyvista

    steps = max(2, round((shell["to_mm"] - shell["from_mm"]) / ALONG_MM))
    angle = np.linspace(0.0, 2 * np.pi, AROUND + 1)
    z = np.linspace(shell["from_mm"], shell["to_mm"], steps + 1)
    radius = np.array([shell["inner_mm"], shell["outer_mm"]])
    r, a, h = np.meshgrid(radius, angle, z, indexing="ij")
    grid = pyvista.StructuredGrid(r * np.cos(a), r * np.sin(a), h)
    level = np.full(r.shape, 1e3)
    for at_deg, at_z in shell["slots"]:
        turned = a - np.radians(at_deg)
        x, y = r * np.sin(turned), h - at_z
        near = _level(x, y, shell)
        level = np.minimum(level, np.where(np.cos(turned) > 0, near, 1e3))
    grid.point_data["level"] = level.ravel(order="F")
    return grid.clip_scalar(scalars="level", value=0.0, invert=False)


def _level(x: Any, y: Any, shell: dict[str, Any]) -> Any:
    """Distance from the slot's outline, negative inside."""
    a, b, radius = shell["half_x_mm"], shell["half_y_mm"], shell["radius_mm"]
    if shell["shape"] == "ellipse":
        return (np.hypot(x / a, y / b) - 1) * min(a, b)
    qx, qy = np.abs(x) - (a - radius), np.abs(y) - (b - radius)
    return np.hypot(np.maximum(qx, 0), np.maximum(qy, 0)) + np.minimum(np.maximum(qx, qy), 0) - radius


def _arrow(plotter: Any, scene: dict[str, Any]) -> None:
    """An arc with a head, in the sense of rotation."""
    import pyvista

    radius, z, first, last = scene["arrow"]
    angle = np.radians(np.linspace(first, last, 60))
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle), np.full(60, z)], -1)
    plotter.add_mesh(pyvista.lines_from_points(points).tube(radius=0.016 * radius), color=scene["ink"], lighting=False)
    tip = np.array([-np.sin(angle[-1]), np.cos(angle[-1]), 0.0])
    head = pyvista.Cone(center=points[-1] + 0.08 * radius * tip, direction=tip, height=0.2 * radius, radius=0.055 * radius,
                        resolution=40)  # fmt: skip
    plotter.add_mesh(head, color=scene["ink"], lighting=False)


def _pixel(plotter: Any, depth: Any, point: Any) -> tuple[float, float, float]:
    """Where a point is in the picture, and 1.0 where nothing stands before it."""
    high, wide = depth.shape
    plotter.renderer.SetWorldPoint(*point, 1.0)
    plotter.renderer.WorldToDisplay()
    x, y, _ = plotter.renderer.GetDisplayPoint()
    column = x * wide / plotter.window_size[0]
    row = high - 1 - y * high / plotter.window_size[1]
    i, k = round(row), round(column)
    if not (3 <= i < high - 3 and 3 <= k < wide - 3):
        return column, row, 0.0
    eye, look = np.asarray(plotter.camera.position), np.asarray(plotter.camera.direction)
    near = -depth[i - 2 : i + 3, k - 2 : k + 3]
    away = float((np.asarray(point) - eye) @ look)
    seen = np.isfinite(near).any() and away <= float(np.nanmax(near)) + 3.0
    return column, row, float(seen)


if __name__ == "__main__":
    main(sys.argv[1])
