"""A rotor as Timoshenko beams on springs: static deflection, whirling frequencies at a speed, critical speeds.

Both planes of bending together as r = x + i y. An undamped rotor on equal springs obeys
M r'' - i W G r' + K r = 0 (W: angular speed, positive from x to y), so with r = R exp(i w t) the whirl w is real: positive
goes round with the rotation (forward), negative against it (backward). Springs that differ in the two directions couple
both whirls; then the two planes are solved as one Hermitian problem. No damping, no bearing clearance.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..errors import SingularModel
from ..model.check import Checks
from ..model.shaft_line import SAME_MM, ShaftLine, ShaftPiece
from ..units import density_t_mm3, omega_rad_s
from .beam_element import beam_element

__all__ = ["BeamModel", "CriticalSpeed", "Whirl", "beam_model"]

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]
# an ellipse, however flat, is met by a force that goes round with the rotation
PURE_BACKWARD = -1 + 1e-6
MODAL_BASIS = 60
# motions that move no mass answer at once: their 1 / w^2 is nothing beside the largest
NO_MASS = 1e-15
T_PER_KG = 1e-3
T_MM2_PER_KG_M2 = 1e3


@dataclass(frozen=True)
class Whirl:
    """Natural frequencies of the turning rotor, rising.

    frequency_Hz [m] in the frame that stands still; direction [m]: 1 goes round with the rotation, -1 against it, between
    them ellipses, 0 a straight line. shapes [m, n, 2]: deflections along x and y at z_mm [n], largest magnitude 1.
    """

    speed_rpm: float
    frequency_Hz: Array
    direction: Array
    z_mm: Array
    shapes: Complex


@dataclass(frozen=True)
class CriticalSpeed:
    """A speed at which a force that comes `order` times a revolution meets a natural frequency; direction as in Whirl."""

    speed_rpm: float
    order: float
    direction: float


@dataclass(frozen=True)
class BeamModel:
    """Matrices of a line of shafts. u: unknowns of one plane, deflections and slopes of all nodes.

    stiffness_x, stiffness_y, mass, gyroscopic [u, u]; z_mm [n] of the nodes; deflection [n] and slope [n]: their unknowns.
    """

    stiffness_x: Array
    stiffness_y: Array
    mass: Array
    gyroscopic: Array
    z_mm: Array
    chain: NDArray[np.intp]
    deflection: NDArray[np.intp]
    slope: NDArray[np.intp]
    equal_supports: bool

    @property
    def unknowns(self) -> int:
        """Unknowns of one plane."""
        return len(self.mass)

    def node(self, z_mm: float, chain: int = 0) -> int:
        """The node at a place of a chain."""
        near = np.where(self.chain == chain, np.abs(self.z_mm - z_mm), np.inf)
        return int(np.argmin(near))

    def deflections_mm(self, forces_N: Array) -> Array:
        """Deflection of the nodes in the plane of x under forces on them [n], standing still."""
        load = np.zeros(self.unknowns)
        np.add.at(load, self.deflection, np.asarray(forces_N, dtype=float))
        return np.asarray(np.linalg.solve(self.stiffness_x, load)[self.deflection])

    def whirl(self, speed_rpm: float, modes: int = 6) -> Whirl:
        """The lowest natural frequencies at a speed.

        Rotors of many unknowns are turned in the space of their lowest MODAL_BASIS modes at rest (more where more are asked
        for), far above those answered; what is left out changes no digit that a drawing knows. Raises InputFault,
        SingularModel.
        """
        checks = Checks()
        checks.number("speed_rpm", speed_rpm, least=0.0, most=1e6, way_out="revolutions a minute")
        checks.whole("modes", modes, 1, 2 * self.unknowns)
        checks.done()
        spin = omega_rad_s(speed_rpm)
        kept = min(self.unknowns, max(MODAL_BASIS, 3 * modes))
        whirl, shapes = self._round(spin, kept) if self.equal_supports else self._elliptic(spin, kept)
        order = np.argsort(np.abs(whirl), kind="stable")[:modes]
        picked = shapes[order]
        picked = picked / np.max(np.linalg.norm(picked, axis=2), axis=1)[:, None, None]
        return Whirl(speed_rpm, np.abs(whirl[order]) / (2 * math.pi), _direction(picked), self.z_mm, picked)

    def critical_speeds(self, order: float = 1.0, most: int = 4, backward: bool = False) -> tuple[CriticalSpeed, ...]:
        """Speeds at which `order` times the speed is a natural frequency, the lowest first; none may be there.

        backward: also those that purely go round against the rotation, which an unbalance does not excite.
        Raises InputFault, SingularModel.
        """
        checks = Checks()
        checks.positive("order", order, "how many times a revolution the force comes")
        checks.whole("most", most, 1, 1000)
        checks.done()
        if self.equal_supports:
            found = [(s, 1.0) for s in _speeds(self.stiffness_x, order**2 * self.mass - order * self.gyroscopic)]
            if backward:
                against = _speeds(self.stiffness_x, order**2 * self.mass + order * self.gyroscopic)
                found += [(s, -1.0) for s in against]
        else:
            found = self._elliptic_criticals(order, backward)
        return tuple(CriticalSpeed(s, order, d) for s, d in sorted(found)[:most])

    def _at_rest(self, stiffness: Array, kept: int) -> tuple[Array, Array]:
        """Natural frequencies (rad/s) and modes [u, at most kept] of one plane, of unit mass.

        From the yielding side, 1 / w^2: stiff springs then cost no digits, and places without mass do no harm.
        """
        from scipy.linalg import eigh

        u = self.unknowns
        values, modes = eigh(self.mass, _definite(stiffness), subset_by_index=[u - kept, u - 1])
        if values[-1] <= 0:
            raise SingularModel("the rotor weighs nothing")
        found = values > NO_MASS * values[-1]
        rest = 1 / np.sqrt(values[found][::-1])
        return rest, modes[:, found][:, ::-1] * rest

    @cached_property
    def _rest(self) -> dict[tuple[str, int], tuple[Array, Array]]:
        return {}

    def _basis(self, plane: str, kept: int) -> tuple[Array, Array]:
        """The modes at rest, reckoned once."""
        if (plane, kept) not in self._rest:
            self._rest[plane, kept] = self._at_rest(self.stiffness_x if plane == "x" else self.stiffness_y, kept)
        return self._rest[plane, kept]

    def _round(self, spin: float, kept: int) -> tuple[Array, Complex]:
        """Equal supports: whirl (signed, rad/s) and shapes of one complex plane."""
        rest, modes = self._basis("x", kept)
        gyro, root = modes.T @ self.gyroscopic @ modes, np.diag(rest)
        # w s = A s with s = (w q, root q)
        whirl, vectors = np.linalg.eigh(np.block([[spin * gyro, root], [root, np.zeros_like(root)]]))
        r = (modes @ (vectors[len(rest) :, :] / rest[:, None])).T[:, self.deflection]
        # r = R exp(i w t): x and y of equal size, a quarter turn apart
        turn = np.where(whirl > 0, -1j, 1j)[:, None]
        return whirl, np.stack([r.astype(complex), turn * r], -1)

    def _elliptic(self, spin: float, kept: int) -> tuple[Array, Complex]:
        """Unequal supports: whirl (positive, rad/s) and shapes, from one Hermitian problem."""
        (rest_x, x), (rest_y, y) = self._basis("x", kept), self._basis("y", kept)
        across, n, m = x.T @ self.gyroscopic @ y, len(rest_x), len(rest_y)
        gyro = np.block([[np.zeros((n, n)), across], [-across.T, np.zeros((m, m))]])
        rest = np.concatenate([rest_x, rest_y])
        root = np.diag(rest)
        # q'' + spin gyro q' + root^2 q = 0 with gyro skew; state (q', root q)
        skew = np.block([[-spin * gyro, -root], [root, np.zeros_like(root)]])
        values, vectors = np.linalg.eigh(-1j * skew)
        keep = values > 0
        q = vectors[n + m :, keep] / rest[:, None]
        along_x, along_y = (x @ q[:n]).T[:, self.deflection], (y @ q[n:]).T[:, self.deflection]
        return values[keep], np.stack([along_x, along_y], -1)

    def _planes(self) -> tuple[Array, Array, Array]:
        zero = np.zeros_like(self.mass)
        mass = np.block([[self.mass, zero], [zero, self.mass]])
        gyro = np.block([[zero, self.gyroscopic], [-self.gyroscopic, zero]])
        return mass, gyro, np.block([[self.stiffness_x, zero], [zero, self.stiffness_y]])

    def _elliptic_criticals(self, order: float, backward: bool) -> list[tuple[float, float]]:
        from scipy.linalg import eigh

        mass, gyro, stiff = self._planes()
        # -k^2 W^2 mass + i k W^2 gyro + stiff = 0
        values, vectors = eigh(order**2 * mass - 1j * order * gyro, _definite(stiff).astype(complex))
        keep = values > 1e-12 * np.max(np.abs(values))
        u = self.unknowns
        q = vectors[:, keep].T
        direction = _direction(np.stack([q[:, :u][:, self.deflection], q[:, u:][:, self.deflection]], -1))
        speeds = 30 / math.pi / np.sqrt(values[keep])
        return [(float(s), float(d)) for s, d in zip(speeds, direction, strict=True) if backward or d > PURE_BACKWARD]


def _definite(stiffness: Array) -> Array:
    """The stiffness itself, once it is known to hold the rotor."""
    try:
        np.linalg.cholesky(stiffness)
    except np.linalg.LinAlgError as error:
        raise SingularModel(
            "the rotor is free to move: it needs springs that hold it against shift and tilt"
        ) from error
    return stiffness


def _speeds(stiffness: Array, inertia: Array) -> list[float]:
    """Speeds, rpm, of stiffness - W^2 inertia = 0, where inertia need not be positive."""
    from scipy.linalg import eigh

    values = eigh(inertia, _definite(stiffness), eigvals_only=True)
    return [30 / math.pi / math.sqrt(v) for v in values if v > 1e-12 * np.max(np.abs(values))]


def _direction(shapes: Complex) -> Array:
    """1 forward, -1 backward, from the area that all places of a shape run around."""
    x, y = shapes[..., 0], shapes[..., 1]
    area = 2 * np.imag(x * np.conj(y)).sum(axis=1)
    return np.asarray(area / (np.abs(x) ** 2 + np.abs(y) ** 2).sum(axis=1))


def beam_model(line: ShaftLine, *, elements: int = 2, longest_mm: float | None = None) -> BeamModel:
    """Matrices of a line of shafts.

    elements: between any two neighbouring places where something begins, ends or stands. longest_mm: more of them where an
    element would be longer. Bodies on the line add their mass, rotary and gyroscopic inertia. Raises InputFault.
    """
    checks = Checks()
    checks.whole("elements", elements, 1, 200)
    checks.optional("longest_mm", longest_mm)
    checks.done()
    nodes: list[tuple[int, float]] = []
    spans: list[tuple[ShaftPiece, int, int]] = []
    for chain in sorted({p.chain for p in line.pieces}):
        pieces = sorted((p for p in line.pieces if p.chain == chain), key=lambda p: p.from_mm)
        marks = sorted(_marks(line, chain))
        nodes.append((chain, pieces[0].from_mm))
        for piece in pieces:
            inside = [z for z in marks if piece.from_mm + SAME_MM < z < piece.to_mm - SAME_MM]
            stops = [piece.from_mm, *inside, piece.to_mm]
            for low, high in itertools.pairwise(stops):
                n = elements if longest_mm is None else max(elements, math.ceil((high - low) / longest_mm - 1e-9))
                for k in range(1, n + 1):
                    nodes.append((chain, low + (high - low) * k / n))
                    spans.append((piece, len(nodes) - 2, len(nodes) - 1))
    return _assemble(line, nodes, spans)


def _marks(line: ShaftLine, chain: int) -> set[float]:
    joints = {j.z_mm for j in line.joints if chain in (j.chain, j.other_chain)}
    bodies = {b.z_mm for b in line.bodies if b.chain == chain}
    return bodies | joints | {s.z_mm for s in line.springs if s.chain == chain}


def _assemble(line: ShaftLine, nodes: list[tuple[int, float]], spans: list[tuple[ShaftPiece, int, int]]) -> BeamModel:
    chain, z = np.array([c for c, _ in nodes], dtype=np.intp), np.array([z for _, z in nodes])

    def at(place: float, of: int) -> int:
        return int(np.argmin(np.where(chain == of, np.abs(z - place), np.inf)))

    # chains that are joined share the deflection there
    same = np.arange(len(nodes))
    for joint in line.joints:
        a, b = at(joint.z_mm, joint.chain), at(joint.z_mm, joint.other_chain)
        same[same == same[b]] = same[a]
    _, deflection = np.unique(same, return_inverse=True)
    slope = deflection.max() + 1 + np.arange(len(nodes))
    u = int(slope[-1]) + 1
    stiff, mass, gyro = np.zeros((u, u)), np.zeros((u, u)), np.zeros((u, u))
    for piece, i, j in spans:
        element = beam_element(
            length_mm=float(z[j] - z[i]), outer_diameter_mm=piece.outer_diameter_mm,
            inner_diameter_mm=piece.inner_diameter_mm, youngs_modulus_MPa=line.youngs_modulus_MPa,
            poissons_ratio=line.poissons_ratio,
            density_t_mm3=density_t_mm3(line.density_kg_m3) if piece.weighed else 0.0,
            stiffness_share=piece.stiffness_share,
        )  # fmt: skip
        where = np.ix_(*(2 * [[deflection[i], slope[i], deflection[j], slope[j]]]))
        stiff[where] += element.stiffness
        mass[where] += element.mass
        gyro[where] += element.gyroscopic
    for body in line.bodies:
        n = at(body.z_mm, body.chain)
        mass[deflection[n], deflection[n]] += T_PER_KG * body.mass_kg
        mass[slope[n], slope[n]] += T_MM2_PER_KG_M2 * body.across_kg_m2
        gyro[slope[n], slope[n]] += T_MM2_PER_KG_M2 * body.polar_kg_m2
    for joint in line.joints:
        a, b = slope[at(joint.z_mm, joint.chain)], slope[at(joint.z_mm, joint.other_chain)]
        stiff[np.ix_([a, b], [a, b])] += joint.tilt_Nmm_rad * np.array([[1.0, -1.0], [-1.0, 1.0]])
    other = stiff.copy()
    for spring in line.springs:
        d = deflection[at(spring.z_mm, spring.chain)]
        stiff[d, d] += spring.stiffness_N_mm
        other[d, d] += spring.other_N_mm
    return BeamModel(
        stiff, other, mass, gyro, z, chain, np.asarray(deflection, dtype=np.intp), np.asarray(slope, dtype=np.intp),
        line.equal_supports,
    )  # fmt: skip
