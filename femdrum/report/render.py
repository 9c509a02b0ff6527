"""Pictures of solids, in a process of its own: without the system's GL libraries the interpreter is killed, not told.

`render(jobs)` starts the child and waits; the child is this module run with a job file. A picture that fails comes
back as the reason in one sentence.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["Job", "Rendering", "View", "render"]

TIMEOUT_S = 300.0
FINER = 2  # times that each triangle is cut into four


@dataclass(frozen=True)
class View:
    """A camera: where it stands, what it looks at, which way is up, height of what is seen in mm (parallel view)."""

    position: tuple[float, float, float]
    focus: tuple[float, float, float]
    up: tuple[float, float, float]
    height_mm: float


@dataclass(frozen=True)
class Job:
    """One solid from one or more sides.

    copies: 4 x 4 matrices (row by row) that carry the solved cell to its places; each with the sign that the scalar takes there.
    points: for each mark its equal places; the first one that is seen is taken. colours: RGB of the map, 0 to 1.
    """

    field: str
    array: str
    copies: tuple[tuple[tuple[float, ...], float], ...]
    views: tuple[View, ...]
    points: tuple[tuple[tuple[float, float, float], ...], ...]
    least: float
    most: float
    colours: tuple[tuple[float, float, float], ...]
    ink: str
    width: int
    height: int
    front_only: bool = False


@dataclass(frozen=True)
class Rendering:
    """images: a picture for each view [height, width, 3]. marks [view][point]: pixel (from the left, from the top), or None if hidden."""

    images: tuple[Any, ...]
    marks: tuple[tuple[tuple[float, float] | None, ...], ...]


def render(jobs: Sequence[Job]) -> list[Rendering | str]:
    """All jobs in one child process; a job that did not come back is the reason why."""
    if not jobs:
        return []
    with tempfile.TemporaryDirectory() as home:
        Path(home, "jobs.json").write_text(json.dumps([asdict(job) for job in jobs]), encoding="utf-8")
        reason = _run(home)
        return [_result(Path(home), n) or reason for n in range(len(jobs))]


def command() -> list[str]:
    """The child's command, without the folder."""
    return [sys.executable, "-W", "ignore", "-m", __name__]


def _run(home: str) -> str:
    """Run the child; the reason of a failure in words."""
    try:
        child = subprocess.run(
            [*command(), home], capture_output=True, text=True, errors="replace", timeout=TIMEOUT_S, check=False,
            env={**os.environ, "PYVISTA_OFF_SCREEN": "true", "OMP_NUM_THREADS": "1"},
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return f"it was not finished within {TIMEOUT_S:g} s"
    except OSError as error:
        return f"the drawing process could not be started ({error.strerror or error})"
    lines = child.stderr.strip().splitlines()
    last = lines[-1].strip()[:200] if lines else ""
    if child.returncode == 0:
        return last or "the drawing process left no picture"
    if child.returncode < 0:
        return f"the drawing process was killed by signal {-child.returncode}, as happens where the system's GL libraries are missing"
    return last or f"the drawing process ended with code {child.returncode}"


def _result(home: Path, n: int) -> Rendering | None:
    path = home / f"{n}.npz"
    if not path.is_file():
        return None
    with np.load(path, allow_pickle=False) as data:
        marks = json.loads(str(data["marks"]))
        images = tuple(data["images"])
    return Rendering(images, tuple(tuple(None if m is None else (m[0], m[1]) for m in view) for view in marks))


def main(home: str) -> None:
    """The child: draw every job of the folder's jobs.json."""
    jobs = json.loads(Path(home, "jobs.json").read_text(encoding="utf-8"))
    for n, job in enumerate(jobs):
        try:
            images, marks = _draw(job)
        except Exception as error:
            print(f"{type(error).__name__}: {' '.join(str(error).split())}", file=sys.stderr)
            continue
        part = Path(home, f"part-{n}.npz")
        np.savez(part, images=np.stack(images), marks=np.array(json.dumps(marks)))
        part.rename(Path(home, f"{n}.npz"))


def _draw(job: dict[str, Any]) -> tuple[list[Any], list[list[Any]]]:
    import pyvista
    from matplotlib.colors import ListedColormap

    solid = pyvista.read(job["field"])
    if job["front_only"]:
        matrix = np.reshape(job["copies"][0][0], (4, 4))
        front = (np.asarray(solid.cell_centers().points) @ matrix[:3, :3].T)[:, 0] > 0.0
        solid = solid.extract_cells([int(k) for k in np.flatnonzero(front)])
    skin = solid.extract_surface(algorithm="dataset_surface")
    if not job["front_only"]:
        skin = _without_mirror_faces(skin)
    rims = skin.extract_feature_edges(35, boundary_edges=False, non_manifold_edges=False, manifold_edges=False)
    rims.clear_data()
    skin, values = _finer(skin, job["array"])
    plotter: Any = pyvista.Plotter(off_screen=True, window_size=[job["width"], job["height"]], lighting="none")
    plotter.set_background("white")
    plotter.enable_anti_aliasing("ssaa")
    for matrix, sign in job["copies"]:
        copy = skin.transform(np.reshape(matrix, (4, 4)), inplace=False)
        copy.point_data["shown"] = sign * values
        plotter.add_mesh(
            copy, scalars="shown", cmap=ListedColormap(job["colours"]), clim=(job["least"], job["most"]), show_scalar_bar=False,
            ambient=0.88, diffuse=0.14, specular=0.0,
        )  # fmt: skip
        if rims.n_points:
            plotter.add_mesh(
                rims.transform(np.reshape(matrix, (4, 4)), inplace=False), color=job["ink"], line_width=1.5
            )
    plotter.add_light(pyvista.Light(light_type="headlight"))
    images, marks = [], []
    for view in job["views"]:
        plotter.camera_position = [view["position"], view["focus"], view["up"]]
        plotter.enable_parallel_projection()
        plotter.parallel_scale = 0.5 * view["height_mm"]
        plotter.renderer.ResetCameraClippingRange()
        plotter.render()
        images.append(np.asarray(plotter.screenshot(None, return_img=True)))
        marks.append([_seen(plotter, places) for places in job["points"]])
    plotter.close()
    return images, marks


def _finer(skin: Any, array: str) -> tuple[Any, Any]:
    """The skin in smaller triangles, with the scalar from the stress in between: it jumps where its sign changes, so it must
    not be spread over a whole cell there.
    """
    quantity, _, case = array.partition("_MPa:")
    kept = skin.point_data.get(f"stress_MPa:{case}") if quantity in ("principal", "von_mises") else None
    values = np.asarray(skin.point_data[array])
    skin.clear_data()
    if kept is None:
        return skin, values
    skin.point_data["stress"] = np.asarray(kept)
    skin = skin.triangulate().subdivide(FINER, "linear")
    xx, yy, zz, xy, yz, xz = np.asarray(skin.point_data["stress"]).T
    skin.clear_data()
    a, b, c = np.linalg.eigvalsh(np.stack([xx, xy, xz, xy, yy, yz, xz, yz, zz], -1).reshape(-1, 3, 3)).T
    if quantity == "von_mises":
        return skin, np.sqrt(0.5 * ((a - b) ** 2 + (b - c) ** 2 + (c - a) ** 2))
    return skin, np.where(np.abs(a) > c, a, c)


def _without_mirror_faces(skin: Any) -> Any:
    """The skin of the cell without the faces in the planes y = 0 and z = 0, which end up inside the solid."""
    tiny = 1e-6 * float(np.ptp(np.asarray(skin.points)))
    inside = np.zeros(skin.n_cells, bool)
    faces = np.asarray(skin.faces)
    if faces.size != 5 * skin.n_cells or not (faces[::5] == 4).all():
        return skin
    corners = faces.reshape(-1, 5)[:, 1:]
    for axis in (1, 2):
        inside |= (np.abs(np.asarray(skin.points)[corners, axis]) < tiny).all(1)
    return skin.extract_cells(~inside).extract_surface(algorithm="dataset_surface")


def _seen(plotter: Any, places: Any) -> list[float] | None:
    """Pixel of that of these equal places which is best in sight; None where all are hidden or out of the picture."""
    depth = np.asarray(plotter.get_image_depth(fill_value=np.nan))
    high, wide = depth.shape
    eye, look = np.asarray(plotter.camera.position), np.asarray(plotter.camera.direction)
    found: list[tuple[float, list[float]]] = []
    for place in places:
        plotter.renderer.SetWorldPoint(*place, 1.0)
        plotter.renderer.WorldToDisplay()
        x, y, _ = plotter.renderer.GetDisplayPoint()
        column = round(x * wide / plotter.window_size[0])
        row = round(high - 1 - y * high / plotter.window_size[1])
        if not (0.03 * wide < column < 0.97 * wide and 0.03 * high < row < 0.97 * high):
            continue
        away = float((np.asarray(place) - eye) @ look)
        near = -depth[row - 4 : row + 5, column - 4 : column + 5]
        if np.isfinite(near).any() and away <= np.nanmax(near) + 2.0:
            # the surface is seen well where it lies at the place's own distance all around
            off = np.where(np.isfinite(near), np.abs(near - away), 50.0)
            found.append((float(np.mean(np.minimum(off, 50.0))), [float(column), float(row)]))
    return min(found)[1] if found else None


if __name__ == "__main__":
    main(sys.argv[1])
