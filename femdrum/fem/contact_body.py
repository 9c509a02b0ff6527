"""A body in contact: its elastic answer to forces, and the rigid motions that its supports leave free.

A body may float: it is then held at as few components as hold it, and its rigid motions are unknowns of the contact
problem, each with a resultant that must be in balance. What holds it takes nothing then, so the answer is exact. A face
may be held in a frame that moves on springs: the frame's motions are unknowns too. All per mm of thickness.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault
from ..model.check import Checks
from ..model.material import Material
from .elasticity import face_load, lame, mapped_gradients, stiffness
from .harmonic_section import Section
from .linear import Factored
from .system import lower_of, node_blocks

__all__ = ["PLANES", "Body", "Elastic", "Motion", "hold", "traction_load"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PLANES = ("strain", "stress")
KINDS = ("x", "y", "turn")
# element matrices worked on at a time
BATCH = 2000
# singular value, against the largest, below which supports do not hold a motion
FREE = 1e-9


@dataclass(frozen=True)
class Motion:
    """A rigid motion of the frame in which a body is held: along "x" or "y", or "turn" (counter-clockwise) about a place.

    stiffness: of the spring against it, per mm of thickness: N/mm, of a turn N mm/rad; 0: free.
    """

    kind: str
    stiffness: float = 0.0
    about_mm: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        checks = Checks()
        checks.one_of("kind", self.kind, KINDS)
        checks.number(
            "stiffness", self.stiffness, least=0.0, way_out="0: free; leave the motion out if it is held stiffly"
        )
        checks.done()

    def field(self, nodes: Array) -> Array:
        """Displacements [n, 2] of size 1 (mm, of a turn rad)."""
        out = np.zeros_like(nodes)
        if self.kind == "turn":
            out[:, 0], out[:, 1] = -(nodes[:, 1] - self.about_mm[1]), nodes[:, 0] - self.about_mm[0]
        else:
            out[:, KINDS.index(self.kind)] = 1.0
        return out


@dataclass(frozen=True, eq=False)
class Body:
    """A section of a body, its material, and how it is held. plane: "strain" or "stress".

    fixed [n, 2]: components held in the body's frame. held [n, 2]: nodal forces of sum 1 that hold the body so that their work is
    zero, as of an even pressure on a face that keeps its mean place (a single held node would give way without end as the mesh
    becomes finer). motions of the frame; what none of these holds is found to be free by itself, so a body without supports floats.
    """

    name: str
    section: Section
    material: Material
    plane: str = "strain"
    fixed: NDArray[np.bool_] | None = None
    held: Array | None = None
    motions: tuple[Motion, ...] = ()

    def __post_init__(self) -> None:
        checks = Checks()
        checks.text("name", self.name)
        checks.one_of("plane", self.plane, PLANES)
        for field in ("fixed", "held"):
            value = getattr(self, field)
            if value is not None and value.shape != self.section.nodes.shape:
                checks.add(field, value.shape, f"must have the shape {self.section.nodes.shape}")
        checks.done()


def hold(section: Section, x: Sequence[str] = (), y: Sequence[str] = ()) -> NDArray[np.bool_]:
    """Supports [n, 2]: curves whose x, and curves whose y is held."""
    fixed = np.zeros(section.nodes.shape, dtype=bool)
    for component, names in enumerate((x, y)):
        for name in names:
            fixed[_curve(section, name), component] = True
    return fixed


def traction_load(section: Section, curve: str, traction_MPa: tuple[float, float]) -> Array:
    """Nodal forces [n, 2], N per mm of thickness, of an even traction on a curve."""
    line, p = _curve(section, curve), section.order
    faces = line[np.arange((line.size - 1) // p)[:, None] * p + np.arange(p + 1)]
    return face_load(section.nodes, faces, (p,), np.broadcast_to(np.asarray(traction_MPa, float), (*faces.shape, 2)))


def _curve(section: Section, name: str) -> Index:
    if name not in section.curves:
        raise InputFault(Fault("curve", name, f"must be one of {', '.join(section.curves)}"))
    return section.curves[name]


class Elastic:
    """A body made ready: `solve` answers in its frame; motions [n, 2, k] of the frame with stiffnesses [k]."""

    def __init__(self, body: Body) -> None:
        section = body.section
        nodes = section.nodes
        self.body = body
        fixed = np.zeros(nodes.shape, dtype=bool) if body.fixed is None else body.fixed.copy()
        given = [motion.field(nodes) for motion in body.motions]
        free = _free_motions(nodes, fixed)
        if free.shape[-1]:
            fixed[np.unravel_index(_pins(free), fixed.shape)] = True
        self._held = body.held
        if body.held is not None:
            free, self._lift = _divided(free, body.held)
        self.motions = (
            np.stack([*given, *np.moveaxis(free, -1, 0)], -1) if given or free.size else np.zeros((*nodes.shape, 0))
        )
        self.stiffness = np.array([m.stiffness for m in body.motions] + [0.0] * free.shape[-1])
        self._numbers = np.full(fixed.shape, -1, dtype=np.intp)
        self._numbers[~fixed] = np.arange(int((~fixed).sum()))
        self.unknowns = int((~fixed).sum())
        self.free = ~fixed
        self._factored = Factored(self._lower())

    def solve(self, forces: Array) -> Array:
        """Displacements [n, 2, case] in the body's frame under nodal forces [n, 2, case]."""
        if self._held is not None:
            forces = forces - self._held[..., None] * np.einsum("nd,ndc->c", self._lift, forces)
        out = np.zeros_like(forces)
        out[self.free] = self._factored.solve(forces[self.free]).x
        if self._held is not None:
            out -= self._lift[..., None] * np.einsum("nd,ndc->c", self._held, out)
        return out

    def under(self, forces: Array) -> Array:
        """Displacements [n, 2] under nodal forces [n, 2], those of the frame's springs included, its free motions at zero."""
        stiff = self.stiffness > 0
        shapes = self.motions[..., stiff]
        sprung = shapes @ (np.einsum("ndk,nd->k", shapes, forces) / self.stiffness[stiff])
        return np.asarray(self.solve(forces[..., None])[..., 0] + sprung)

    def _lower(self) -> object:
        section = self.body.section
        orders = (section.order, section.order)
        lam, mu = lame(self.body.material, 2 if self.body.plane == "stress" else 3)

        def parts() -> list[tuple[Index, Array]]:
            out = []
            for start in range(0, len(section.cells), BATCH):
                cells = section.cells[start : start + BATCH]
                gradients, weights = mapped_gradients(section.nodes, cells, orders)
                out.append((cells, stiffness(gradients, weights, lam, mu)))
            return out

        rows, columns, blocks = node_blocks(parts(), len(section.nodes), 2)
        return lower_of(rows, columns, blocks, self._numbers, self.unknowns)


def _free_motions(nodes: Array, fixed: NDArray[np.bool_]) -> Array:
    """Rigid motions [n, 2, k] that the supports leave free, of the size of the body."""
    middle = 0.5 * (nodes.min(0) + nodes.max(0))
    size = float(np.abs(nodes - middle).max())
    turn = Motion("turn", about_mm=(float(middle[0]), float(middle[1]))).field(nodes) / size
    rigid = np.stack([Motion("x").field(nodes), Motion("y").field(nodes), turn], -1)
    if not fixed.any():
        return rigid
    _, values, right = np.linalg.svd(rigid[fixed], full_matrices=True)
    values = np.concatenate([values, np.zeros(3 - values.size)])
    return np.asarray(rigid @ right[values <= FREE * values[0]].T)


def _divided(free: Array, held: Array) -> tuple[Array, Array]:
    """Free motions [n, 2, k - 1] on which the holding forces do no work, and the motion [n, 2] that they hold, of work 1."""
    work = np.einsum("ndk,nd->k", free, held)
    largest = float(np.abs(work).max(initial=0.0))
    if largest < FREE:
        raise InputFault(Fault("held", largest, "must hold a motion that is free otherwise", "leave it out"))
    lift = free @ (work / (work @ work))
    _, _, right = np.linalg.svd(work[None])
    return np.asarray(free @ right[1:].T), np.asarray(lift)


def _pins(free: Array) -> Index:
    """As many components (flat numbers) as there are free motions, which hold them best."""
    from scipy.linalg import qr

    flat = free.reshape(-1, free.shape[-1])
    _, _, order = qr(flat.T, pivoting=True, mode="economic")
    return np.asarray(order[: flat.shape[1]])
