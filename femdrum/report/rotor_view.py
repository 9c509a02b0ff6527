"""The whole drum in space: shell with its slots, hammers, discs, stubs, bearings, sheave, with the slots' numbers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from ..assess.whole_drum_result import WholeDrum
from ..errors import MissingPart
from ..model.cutout import Ellipse
from ..model.drum_shaft import StubShaft
from .picture import Picture
from .render import View
from .rotor_render import Block, Point, Scene, SceneImage, Shell, Tube, render_scene
from .style import DISC, GREY, INK, LOOKS, SHELL, STUB

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["DrumPicture", "scene_of"]

WIDTH, HEIGHT = 1700, 1000
# a quarter turn is drawn clear of the drum's face
ARROW_DEG = (15.0, 100.0)
TOWARDS = (0.42, 0.80, -0.52)


def scene_of(got: WholeDrum) -> tuple[Scene, dict[str, int]]:
    """What is drawn, and the places of its named points; the slots' points come first, by number."""
    drum = got.drum
    cut = drum.cutout
    shell = Shell(
        outer_mm=drum.outer_radius_mm, inner_mm=drum.inner_radius_mm, from_mm=drum.shell_z_mm,
        to_mm=drum.shell_z_mm + drum.shell_length_mm, slots=tuple((s.angle_deg, s.z_mm) for s in got.slots),
        half_x_mm=cut.half_x_mm, half_y_mm=cut.half_y_mm, shape="ellipse" if isinstance(cut, Ellipse) else "rounded",
        radius_mm=min(cut.least_radius_mm, cut.half_x_mm, cut.half_y_mm), colour=SHELL,
    )  # fmt: skip
    reach = drum.outer_radius_mm if drum.hammer is None else max(drum.outer_radius_mm, drum.hammer.outer_radius_mm)
    first = min(-drum.drive_end.beyond_mm, -(drum.drive.sheave_overhang_mm if drum.drive else 0.0) - 80.0)
    last = drum.bearing_span_mm + max(drum.other_end.beyond_mm, 60.0)
    view = _view(first, last, reach, 0.5 * drum.drive.sheave_diameter_mm if drum.drive else 0.0)
    points: list[Point] = [_label_point(got, n) for n in range(drum.slots_total)]
    near = drum.shell_z_mm - 45.0
    arc = 0.72 * drum.outer_radius_mm
    end = math.radians(ARROW_DEG[1])
    names = {
        "sense of rotation": (arc * math.cos(end), arc * math.sin(end), near),
        "drive end": (0.5 * drum.drive_end.end_diameter_mm, 0.0, 0.5 * first),
        "free end": (0.5 * drum.other_end.end_diameter_mm, 0.0, drum.bearing_span_mm),
    }
    where = {}
    for name, point in names.items():
        where[name] = len(points)
        points.append(point)
    return Scene(
        shell, _tubes(got), _blocks(got), (arc, near, *ARROW_DEG), INK, view, tuple(points), WIDTH, HEIGHT
    ), where  # fmt: skip


def _view(first: float, last: float, reach: float, sheave: float) -> View:
    """From the drive end, a little from above; as near as everything stays in the picture."""
    towards = np.array(TOWARDS) / np.linalg.norm(TOWARDS)
    right = np.cross([1.0, 0.0, 0.0], towards)
    right /= np.linalg.norm(right)
    up = np.cross(towards, right)
    angle = np.radians(np.arange(0, 360, 10))
    ends = [(first, max(sheave, 100.0)), (200.0, 1.12 * reach), (last, reach * 0.9)]
    places = np.concatenate([
        np.stack([r * np.cos(angle), r * np.sin(angle), np.full(len(angle), z)], -1) for z, r in ends
    ])  # fmt: skip
    across, high = places @ right, places @ up
    focus = 0.5 * (across.max() + across.min()) * right + 0.5 * (high.max() + high.min()) * up
    height = 1.04 * max(float(np.ptp(high)), float(np.ptp(across)) * HEIGHT / WIDTH)
    position = focus + 4000.0 * towards
    return View(tuple(map(float, position)), tuple(map(float, focus)), (1.0, 0.0, 0.0), height)  # type: ignore[arg-type]


def _label_point(got: WholeDrum, number: int) -> Point:
    """Middle of a slot's tip, or of the slot where there is none."""
    slot, hammer = got.slots[number], got.drum.hammer
    radius = got.drum.outer_radius_mm if hammer is None else hammer.outer_radius_mm
    ahead = hammer.tip_ahead_mm if hammer is not None and hammer.tip_mass_kg else 0.0
    angle = math.radians(slot.angle_deg)
    c, s = math.cos(angle), math.sin(angle)
    return radius * c - ahead * s, radius * s + ahead * c, slot.z_mm


def _tubes(got: WholeDrum) -> tuple[Tube, ...]:
    drum = got.drum
    out = []
    for end, faces, outward in (
        (drum.drive_end, drum.disc_faces_mm[0], -1.0),
        (drum.other_end, drum.disc_faces_mm[1], 1.0),
    ):
        bore = 0.5 * end.stub_bore_mm
        out.append(Tube(drum.inner_radius_mm, bore, min(faces), max(faces), DISC))
        out += _stub(end, faces[0], outward, bore)
    for z, end in ((0.0, drum.drive_end), (drum.bearing_span_mm, drum.other_end)):
        width = 0.55 * end.end_diameter_mm
        out.append(Tube(0.85 * end.end_diameter_mm, 0.5 * end.end_diameter_mm, z - 0.5 * width, z + 0.5 * width, INK))
    if drum.drive is not None:
        z = -drum.drive.sheave_overhang_mm
        inner = 0.5 * drum.drive_end.end_diameter_mm
        out.append(Tube(0.5 * drum.drive.sheave_diameter_mm, inner, z - 70.0, z + 70.0, LOOKS[2].colour))
    return tuple(out)


def _stub(end: StubShaft, face: float, outward: float, bore: float) -> list[Tube]:
    found = []
    for near, far, diameter in end.pieces():
        low, high = sorted((face + outward * near, face + outward * far))
        found.append(Tube(0.5 * diameter, bore, low, high, STUB))
    return found


def _blocks(got: WholeDrum) -> tuple[Block, ...]:
    hammer, drum = got.drum.hammer, got.drum
    if hammer is None:
        return ()
    out = []
    low = 0.0 if hammer.through else float(hammer.inner_radius_mm or 0.0)
    high = hammer.bar_end_mm - (0.0 if hammer.tip_mass_kg else hammer.wear_mm)
    for slot in got.slots:
        bar = ((0.5 * (low + high), 0.0, 0.0), (high - low, hammer.depth_mm, hammer.width_mm))
        out.append(Block(*bar, slot.angle_deg, slot.z_mm, LOOKS[1].colour))
        if hammer.tip_mass_kg:
            assert hammer.tip_height_mm is not None
            assert hammer.tip_width_mm is not None
            assert hammer.tip_depth_mm is not None
            tall = hammer.tip_height_mm - hammer.wear_mm
            centre = (hammer.outer_radius_mm - 0.5 * tall, hammer.tip_ahead_mm, 0.0)
            out.append(
                Block(
                    centre, (tall, hammer.tip_depth_mm, hammer.tip_width_mm), slot.angle_deg, slot.z_mm, LOOKS[3].colour
                )
            )
        for part in drum.slot_parts:
            if part.size_radial_mm and part.size_around_mm and part.size_along_mm:
                size = (part.size_radial_mm, part.size_around_mm, part.size_along_mm)
                place = (part.radius_mm, part.around_mm, part.along_mm)
                out.append(Block(place, size, slot.angle_deg, slot.z_mm, LOOKS[4].colour))
    return tuple(out)


class DrumPicture(Picture):
    """One view; drawn in a child process when it is first asked for."""

    name = "drum-in-space"
    least_width_mm = 160.0
    size_mm = (165.0, 104.0)

    def __init__(self, got: WholeDrum) -> None:
        self.got = got
        self.scene, self.where = scene_of(got)
        self._image: SceneImage | str | None = None
        self.caption = (
            "The drum as it is described, seen from the drive end, with the numbers of the slots whose tips are in sight. Fillets, welds "
            "and bolts are not drawn; bearings and sheave are drawn as plain rings, and only their diameters and places mean something."
        )

    @property
    def image(self) -> SceneImage | str:
        """The rendered picture, or why there is none."""
        if self._image is None:
            self._image = render_scene(self.scene)
        return self._image

    @property
    def failure(self) -> str:
        """Why there is no picture, in one sentence; empty where there is one."""
        return f"The view of the drum could not be drawn: {self.image}" if isinstance(self.image, str) else ""

    def paint(self, ax: Axes) -> None:
        """The image with its words. Raises MissingPart where it cannot be drawn."""
        from matplotlib.patches import Patch

        found = self.image
        if isinstance(found, str):
            raise MissingPart(f"{self.failure}; `femdrum doctor` tells what is missing and the line that mends it")
        ax.imshow(found.image, interpolation="antialiased")
        ax.axis("off")
        ax.set_xlim(0, WIDTH)
        ax.set_ylim(HEIGHT, 0)
        drum = self.got.drum
        for slot, (x, y, seen) in zip(self.got.slots, found.pixels, strict=False):
            if seen:
                ax.annotate(str(slot.number + 1), (x, y), ha="center", va="center", fontsize=6.8, fontweight="bold",
                            bbox={"facecolor": "white", "edgecolor": GREY, "linewidth": 0.4, "pad": 1.0, "alpha": 0.9})  # fmt: skip
        for name, (dx, dy) in {"sense of rotation": (-62, -70), "drive end": (0, 62), "free end": (0, 52)}.items():
            x, y, _ = found.pixels[self.where[name]]
            ax.annotate(name, (x, y), (dx, dy), textcoords="offset points", ha="center", va="center", fontsize=7.5,
                        arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.6, "shrinkB": 2},
                        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0})  # fmt: skip
        colours = {"shell": SHELL, "end disc": DISC, "stub": STUB, "bearing": INK}
        if drum.hammer is not None:
            colours["bar"] = LOOKS[1].colour
            if drum.hammer.tip_mass_kg:
                colours["tip"] = LOOKS[3].colour
        colours |= {part.name: LOOKS[4].colour for part in drum.slot_parts if part.size_radial_mm}
        if drum.drive is not None:
            colours["sheave"] = LOOKS[2].colour
        handles: list[Any] = [Patch(facecolor=c, edgecolor=INK, linewidth=0.5, label=n) for n, c in colours.items()]
        ax.legend(handles=handles, loc="upper center", bbox_to_anchor=(0.5, 0.0), ncols=len(handles), handlelength=1.2,
                  columnspacing=1.0, borderaxespad=0.2)  # fmt: skip
        tips = "" if drum.hammer is None else f", tips on a circle of {2 * drum.hammer.outer_radius_mm:g} mm"
        ax.set_title(f"Shell {drum.outer_diameter_mm:g} x {drum.shell_length_mm:g} mm, wall {drum.wall_mm:g} mm{tips}")

    def table(self) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Where the label of every slot stands in space."""
        rows = [(s.number + 1, *point) for s, point in zip(self.got.slots, self.scene.points, strict=False)]
        return ("slot", "x_mm", "y_mm", "z_mm"), rows
