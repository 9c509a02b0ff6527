"""Contact of elastic bodies in the plane, without friction or with Coulomb's: pressures as multipliers on the assembled matrices.

Every body's matrix is factored once. Its answers to the weighted pressures and shears of each interface make one small dense
problem in these, the rigid motions that are left free, and nothing else: no penalty constant. A step of the load then costs
no new solution, so loads may follow each other in steps, as friction asks. N, mm, MPa, all per mm of thickness. Pressure is
positive, gaps are positive open; a shear acts on the first side against the tangent (outward normal turned by +90 degrees)
and has the sign of the first side's slip along it. Small displacements: places and normals are those of the shapes as drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..errors import Fault, InputFault, SingularModel, SolveFailure
from ..model.check import Checks
from .contact_active import least
from .contact_body import Body, Elastic
from .contact_friction import OPEN, SLIP_BACK, SLIP_FORTH, Balance, rub
from .contact_pair import Interface, pair
from .contact_side import Side
from .contact_state import ContactState, Drive, FaceState, Pressed, face_state

__all__ = ["Contact", "ContactState", "Drive", "FaceState"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]
State = NDArray[np.int8]

# singular value, over the largest, at which contact does not hold a motion; load along it, over the largest, that is none
FREE = 1e-9
UNBALANCED = 1e-8
# bytes of the right-hand sides that are solved for at a time
ANSWER_BYTES = 4e7


class Contact:
    """Bodies and interfaces made ready. drives: what brings single interfaces to the force that is given with each load."""

    def __init__(self, bodies: Sequence[Body], interfaces: Sequence[Interface], drives: Sequence[Drive] = ()) -> None:
        self.interfaces, self.drives = tuple(interfaces), tuple(drives)
        self._check(bodies)
        self.bodies = tuple(Elastic(body) for body in bodies)

        def side(at: tuple[int, str]) -> Side:
            return Side.of(bodies[at[0]].section, at[1])

        self.pairings = tuple(pair(side(i.first), side(i.second), i.gap, i.normal) for i in interfaces)
        sizes = [p.at.size for p in self.pairings]
        starts = np.concatenate([[0], np.cumsum(sizes)])
        self.unknowns = int(starts[-1])
        self._rows = {i.name: np.arange(a, b) for i, a, b in zip(self.interfaces, starts[:-1], starts[1:], strict=True)}
        self.friction = np.concatenate([np.full(n, i.friction) for i, n in zip(self.interfaces, sizes, strict=True)])
        self._ready()

    def _check(self, bodies: Sequence[Body]) -> None:
        names = [i.name for i in self.interfaces]
        checks = Checks()
        if not names or len(set(names)) < len(names):
            checks.add("interfaces", names, "must be one or more, each with a name of its own")
        for i in self.interfaces:
            for label, (number, _) in (("first", i.first), ("second", i.second)):
                checks.whole(label, number, 0, len(bodies) - 1, "a body's number")
        touched = {number for i in self.interfaces for number, _ in (i.first, i.second)}
        for number, body in enumerate(bodies):
            if number not in touched:
                checks.add("bodies", body.name, "touches nothing: no interface names it", "leave it out")
        for drive in self.drives:
            checks.one_of("drives", drive.interface, names)
        checks.done()

    # -- made ready ------------------------------------------------------------------------------------------------

    def _columns(self, body: int) -> list[tuple[Index, Index, Array, Array]]:
        """What presses on a body: rows [m], nodes [k], weights of pressure and shear [m, k, 2]."""
        out = []
        for i, p in zip(self.interfaces, self.pairings, strict=True):
            if i.first[0] == body:
                out.append((self._rows[i.name], p.first.nodes, p.push, p.drag))
            if i.second[0] == body:
                out.append((self._rows[i.name], p.second.nodes, p.push_other, p.drag_other))
        return out

    def _ready(self) -> None:
        m = self.unknowns
        # without friction anywhere shears need no answers
        parts = 2 if self.friction.any() else 1
        self.compliance = np.zeros((parts * m, parts * m))
        borders: list[Array] = []
        self._pressed: list[Pressed] = []
        for number, elastic in enumerate(self.bodies):
            pressed = Pressed.of(self._columns(number), parts, m)
            answer = _answers(elastic, pressed)
            motions = elastic.motions[pressed.nodes].reshape(len(pressed.weights), -1)
            moved = pressed.weights.T @ motions
            stiff = elastic.stiffness > 0
            where = np.ix_(pressed.index, pressed.index)
            self.compliance[where] += pressed.weights.T @ answer
            self.compliance[where] += moved[:, stiff] / elastic.stiffness[stiff] @ moved[:, stiff].T
            self._pressed.append(pressed)
            border = np.zeros((parts * m, int((~stiff).sum())))
            border[pressed.index] = moved[:, ~stiff]
            borders.append(border)
        self.compliance = 0.5 * (self.compliance + self.compliance.T)
        self.weight_mm = np.concatenate([p.weight_mm for p in self.pairings])
        self._drawn = np.zeros(parts * m)
        self._drawn[:m] = np.concatenate([p.gap_mm2 for p in self.pairings])
        # what the dense problem sees: gaps are those drawn less the motions, and minus the slips likewise
        self.border = np.concatenate(borders, axis=1)
        self._alone_by = [self._alone({} if d.load is None else dict([d.load])) for d in self.drives]

    # -- loads -----------------------------------------------------------------------------------------------------

    def solve(
        self,
        forces: Mapping[int, Array] | None = None,
        driven: Mapping[str, float] | None = None,
        *,
        before: ContactState | None = None,
        friction: bool = True,
        start: State | None = None,
    ) -> ContactState:
        """The state under nodal forces [n, 2] by body, and driven interfaces at their forces by name; N per mm of thickness.

        before: the state that friction remembers (None: not loaded yet). friction False: as if all faces were smooth.
        start: state of the nodes to begin the search from; it does not change the result. Raises SolveFailure where the
        loads part the bodies, SingularModel where a body is not held by what it touches.
        """
        m, forces = self.unknowns, forces or {}
        alone = self._alone(forces)
        linear, total = self._drawn - self._shift(alone), self._resultants(forces)
        rubs = friction and bool(self.friction.any())
        if rubs and before is not None:
            linear[m:] += np.concatenate([face.slip_mm * face.pairing.weight_mm for face in before.faces.values()])
        balance, keep = self._balance(total, driven or {}, rubs)
        problem = self.compliance, linear, balance
        if not rubs:
            z, motions, state, changes = self._smooth(*problem, start)
        else:
            if start is None:
                start = self._smooth_start(*problem, total) if before is None else before.state
            found = rub(*problem, self.friction, start)
            z, motions, state, changes = found.z, found.motions, found.state, found.changes
        sizes = motions[keep.shape[1] :]
        u = self._displacements(alone, z, keep @ motions[: keep.shape[1]], sizes)
        drives = {d.interface: float(q) for d, q in zip(self.drives, sizes, strict=True)}
        closed = {d.interface: drives[d.interface] for d in self.drives if d.load is None}
        faces = {
            i.name: face_state(i, p, z[rows], z[m + rows], u, closed.get(i.name, 0.0), state[rows])
            for (i, p), rows in zip(zip(self.interfaces, self.pairings, strict=True), self._rows.values(), strict=True)
        }
        return ContactState(faces, drives, u, state, changes)

    def _balance(self, total: Array, driven: Mapping[str, float], rubs: bool) -> tuple[Balance, Array]:
        """Of the motions that contact can hold, and of the drives; and which motions [k, r] these are."""
        names = [d.interface for d in self.drives]
        if set(driven) != set(names):
            raise InputFault(
                Fault("driven", sorted(driven), f"must give the force of {', '.join(names) or 'no interface'}")
            )
        n, m = len(self.compliance), self.unknowns
        keep = self._held(np.arange(n) < m if not rubs else np.concatenate([np.ones(m), self.friction]) > 0, total)
        held = self.border @ keep
        opens, weights = np.zeros((n, len(names))), np.zeros((n, len(names)))
        lower = np.zeros((held.shape[1] + len(names),) * 2)
        for k, (drive, alone) in enumerate(zip(self.drives, self._alone_by, strict=True)):
            rows = self._rows[drive.interface]
            weights[rows, k] = self.weight_mm[rows]
            if drive.load is None:
                opens[:, k] = weights[:, k]
            else:
                opens[:, k] = self._shift(alone)
                lower[: held.shape[1], held.shape[1] + k] = keep.T @ self._resultants(dict([drive.load]))
        below = np.concatenate([keep.T @ total, [driven[name] for name in names]])
        return Balance(np.concatenate([held, opens], 1), np.concatenate([held, weights], 1), lower, below), keep

    def _smooth(
        self, matrix: Array, linear: Array, balance: Balance, start: State | None
    ) -> tuple[Array, Array, State, int]:
        """Pressures and no shears, motions, states and changes, without friction."""
        m, n = self.unknowns, len(matrix)
        if balance.even:
            begin = None if start is None else np.where(start == OPEN, -1, 0).astype(np.int8)
            found = least(matrix[:m, :m], linear[:m], balance.border[:m], balance.total, start=begin)
            state = np.where(found.state < 0, OPEN, SLIP_FORTH).astype(np.int8)
            return np.concatenate([found.z, np.zeros(m)]), found.motions, state, found.changes
        if n == m:  # shears have no answers here, and without friction need none
            matrix = np.asarray(np.kron(np.diag([1.0, 0.0]), matrix))
            linear = np.concatenate([linear, np.zeros(m)])
            border, rows = (np.concatenate([b, np.zeros_like(b)]) for b in (balance.border, balance.rows))
            balance = replace(balance, border=border, rows=rows)
        rubbed = rub(matrix, linear, balance, np.zeros(m), start)
        return rubbed.z, rubbed.motions, rubbed.state, rubbed.changes

    def _smooth_start(self, matrix: Array, linear: Array, balance: Balance, total: Array) -> State | None:
        """States from which to look for those with friction: what bears without it, slipping as it does then."""
        m = self.unknowns
        try:
            self._held(np.arange(len(linear)) < m, total)
            z, motions, state, _ = self._smooth(matrix, linear, balance, None)
        except (SolveFailure, np.linalg.LinAlgError):
            return None
        slip = -(matrix[m:, :m] @ z[:m] + linear[m:] - balance.border[m:] @ motions)
        return np.where(state == OPEN, OPEN, np.where(slip > 0, SLIP_FORTH, SLIP_BACK)).astype(np.int8)

    def _held(self, rows: NDArray[np.bool_], total: Array) -> Array:
        """The motions [k, r] that contact can hold. Others carry no load and stay at zero; if they do, they are a fault."""
        k = total.size
        if not k:
            return np.zeros((0, 0))
        size = np.linalg.norm(self.border[rows], axis=0)
        largest = float(np.abs(total).max())
        # a motion of 1 mm closes gaps by 1 mm times the weights, unless it goes along the faces
        loose = size <= FREE * max(float(size.max()), float(np.linalg.norm(self.weight_mm)))
        size = np.where(loose, 1.0, size)
        _, values, right = np.linalg.svd(np.where(loose, 0.0, self.border[rows] / size), full_matrices=False)
        rank = int((values > FREE).sum())  # the columns have the length 1
        _, _, right = np.linalg.svd(right[:rank], full_matrices=True)
        if np.abs(right[rank:] @ (total / size)).max(initial=0.0) * size.max() > UNBALANCED * largest:
            raise SingularModel(
                "a load moves a body along faces that cannot hold it: support the body, give the faces friction, or balance the loads"
            )
        return np.asarray((right[:rank] / size).T)

    def _alone(self, forces: Mapping[int, Array]) -> list[Array]:
        """Displacements of each body under its loads alone, its springs included, its free motions at zero."""
        out: list[Array] = []
        for number, elastic in enumerate(self.bodies):
            u: Array = np.zeros(elastic.free.shape)
            if number in forces:
                load = np.asarray(forces[number], float)
                if load.shape != u.shape:
                    raise InputFault(Fault("forces", load.shape, f"must have the shape {u.shape} of body {number}"))
                u = elastic.under(load)
            out.append(u)
        return out

    def _shift(self, alone: Sequence[Array]) -> Array:
        """By what displacements of the bodies close gaps and bring slips, weighted."""
        shift = np.zeros(len(self.compliance))
        for pressed, u in zip(self._pressed, alone, strict=True):
            shift[pressed.index] += pressed.weights.T @ u[pressed.nodes].ravel()
        return shift

    def _resultants(self, forces: Mapping[int, Array]) -> Array:
        """Of loads, along the free motions of all bodies [k]."""
        parts = []
        for number, elastic in enumerate(self.bodies):
            load = np.asarray(forces.get(number, np.zeros(elastic.free.shape)), float)
            parts.append(np.einsum("ndk,nd->k", elastic.motions[..., elastic.stiffness == 0], load))
        return np.concatenate(parts)

    def _displacements(self, alone: Sequence[Array], z: Array, motions: Array, sizes: Array) -> tuple[Array, ...]:
        out, at = [], 0
        for number, (elastic, pressed, u) in enumerate(zip(self.bodies, self._pressed, alone, strict=True)):
            pushed = np.zeros(elastic.free.shape)
            pushed[pressed.nodes] = (pressed.weights @ z[pressed.index]).reshape(-1, 2)
            u = u - elastic.under(pushed)
            free = elastic.motions[..., elastic.stiffness == 0]
            u = u + free @ motions[at : at + free.shape[-1]]
            at += free.shape[-1]
            for size, by in zip(sizes, self._alone_by, strict=True):
                u = u + size * by[number]
            out.append(u)
        return tuple(out)


def _answers(elastic: Elastic, pressed: Pressed) -> Array:
    """Displacements of what is pressed [2 k, r] under 1 MPa of each pressure and shear, some at a time."""
    count = pressed.index.size
    some = max(1, int(ANSWER_BYTES / (8 * elastic.free.size)))
    parts = [
        elastic.solve(pressed.spread(elastic.free.shape, slice(k, k + some)))[pressed.nodes]
        for k in range(0, count, some)
    ]
    return np.concatenate(parts, -1).reshape(len(pressed.weights), count)
