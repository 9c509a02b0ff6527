"""Chains of rows: against the ring engine, against one system of all rows, equilibrium, superposition, refusals."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

import femdrum as fd
from femdrum.assess.row_influence import RowInfluence, row_influence
from femdrum.errors import InputFault, SingularModel
from femdrum.fem.cell import Fineness
from femdrum.fem.elasticity import volume_load
from femdrum.fem.linear import Factored
from femdrum.fem.quarter import Quarter, quarter
from femdrum.fem.ring_level import ring_level, whole_level
from femdrum.fem.ring_mesh import ring_mesh
from femdrum.fem.ring_sector import Assembled
from femdrum.fem.row_chain import Half, RowChain, solve_chain
from femdrum.fem.row_chain_cell import AROUND
from femdrum.fem.row_chain_end import RowEnd, end_piece
from femdrum.fem.row_chain_level import ChainLevel, chain_level
from femdrum.fem.row_chain_load import ChainLoad
from femdrum.fem.row_chain_march import Link, march
from femdrum.fem.symmetry import mirror_plan, plan_of
from femdrum.fem.system import lower_of
from femdrum.fem.unit_cases import ring_cases
from femdrum.provenance import Kind

Array = NDArray[np.float64]

STEEL = fd.steel("S355")
COARSE = Fineness(order=2, cells_per_arc=2, wall_cells=2)
ALIKE = ["rotation", "hung", "clamp:all", "internal_pressure", "axial"]
CLOSE = 1e-8


def ring(slots: int = 2, rows: str = "aligned", **changes: Any) -> fd.Ring:
    """An invented ring."""
    fields = {
        "outer_diameter_mm": 760 if slots < 4 else 900, "wall_mm": 40, "pitch_mm": 180, "slots_around": slots, "rows": rows,
        "cutout": fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=20),
    }  # fmt: skip
    return fd.Ring(**(fields | changes))


def loads(names: list[str]) -> list[ChainLoad]:
    """Each in every row."""
    return [ChainLoad(name) for name in names]


def chain(part: fd.Ring, rows: int, first: RowEnd, last: RowEnd, asked: list[ChainLoad], **more: Any) -> ChainLevel:
    """On the coarse mesh."""
    return chain_level(part, STEEL, (first, last), rows, asked, COARSE, **more)


def away(found: Array, known: Array) -> float:
    """Largest difference of any case over the case's largest value."""
    axes = tuple(range(1, known.ndim))
    return float((np.abs(found - known).max(axes) / np.abs(known).max(axes)).max())


def tensions(level: ChainLevel, case: int = 0) -> Array:
    """Largest tension of each row."""
    count = len(level.chain.loads)
    return np.array([edge.combine(np.eye(count)).peaks(case).tension.value for edge in level.edges])


@pytest.mark.parametrize(
    ("slots", "rows"), [(2, "aligned"), (2, "alternate"), (3, "aligned"), (4, "alternate"), (5, "alternate")]
)
def test_rows_between_endless_ends_are_those_of_the_ring_engine(slots: int, rows: str) -> None:
    """Every row, every case; torsion by the engine of whole rows."""
    part = ring(slots, rows)
    end = RowEnd(distance_mm=0.5 * part.pitch_mm, hold="endless")
    level = chain(part, 3, end, end, loads([*ALIKE, "torsion"]))
    alike = ring_level(part, STEEL, ALIKE, COARSE).edge.stress
    turned = whole_level(plan_of(part), STEEL, ["torsion"], COARSE).edge.stress[:, :1]
    known = np.concatenate([alike, turned])
    for edge in (level.endless, *level.edges):
        assert away(edge.stress, known) < CLOSE


def test_pressure_and_seats_are_those_of_the_ring_engine() -> None:
    """The pressure that goes with a clamp, and the opposed seats' distance by virtual work."""
    part = ring()
    end = RowEnd(distance_mm=90.0, hold="endless")
    names = ["rotation", "strut:all", "clamp:all", "torsion"]
    level = chain(part, 2, end, end, loads(names))
    known = ring_level(part, STEEL, names[:3], COARSE)
    for edge in level.edges:
        assert np.array_equal(edge.pressure[:3], known.edge.pressure)
        assert np.array_equal(edge.place_mm, known.edge.place_mm)
    moved = level.seat_distance_mm("strut:all")
    assert moved[:, :3] == pytest.approx(np.tile(known.seat_distance(1), (2, 1)), rel=1e-7)
    assert not moved[:, 3].any()


def glued_rows(part: fd.Ring, rows: int, hold: str, names: list[str]) -> list[Array]:
    """An odd number of aligned rows between equal ends that keep their distance: one sparse system from mid-drum on, no
    chain. Displacements [n, 3, case] of the half-rows from the middle outward, in the quarter cell's own frame.
    """
    mesh = ring_mesh(part, COARSE).by_cells()
    force = np.stack([ring_cases(part, mesh, STEEL, [n])[0].pieces[0].force for n in names], -1)
    cell = quarter(mesh, STEEL, force)
    plan = mirror_plan(part, rows)
    whole = Assembled(plan, cell)
    fixed = np.zeros((whole.copies.count, 3), dtype=bool)
    last = len(whole.copies.items) - 1
    for i, copy in enumerate(whole.copies.items):
        for plane in ("x_min", "x_max"):
            fixed[whole.copies.node[i, mesh.face_nodes(plane)], 1] = True
        if i == 0:
            fixed[whole.copies.node[i, mesh.face_nodes("y_min")], 2] = True
        if i == last:
            assert not copy.mirror_y
            held = whole.copies.node[i, mesh.face_nodes("y_max")]
            fixed[held, :2] = True
            fixed[held, 2] |= hold == "flat"
    free = whole.used[:, None] & ~fixed
    numbers = np.full(free.shape, -1, dtype=np.intp)
    numbers[free] = np.arange(int(free.sum()))
    unknowns = int(free.sum())
    rhs = np.zeros((unknowns + 1, len(names)))
    for copy, node in zip(whole.copies.items, whole.copies.node, strict=True):
        np.add.at(rhs, numbers[node].ravel(), (cell.load * copy.sign[:, None]).reshape(-1, len(names)))
    x = Factored(lower_of(*whole.pairs, numbers, unknowns)).solve(rhs[:-1]).x
    x = np.concatenate([x, np.zeros((1, len(names)))])
    return [x[numbers[node]] * c.sign[:, None] for c, node in zip(whole.copies.items, whole.copies.node, strict=True)]


@pytest.mark.parametrize("hold", ["round", "flat"])
def test_the_chain_is_the_one_system_of_all_rows(hold: str) -> None:
    """Five rows between discs: the same displacements at every node as from one sparse system."""
    part, names = ring(), ["rotation", "hung", "clamp:all"]
    end = RowEnd(distance_mm=90.0, hold=hold)
    growth = "held" if hold == "flat" else "free"
    found = solve_chain(part, STEEL, (end, end), 5, loads(names), COARSE, growth, everything=True)
    known = glued_rows(part, 5, hold, names)
    halves = [found.rows[2][1], found.rows[3][0], found.rows[3][1], found.rows[4][0], found.rows[4][1]]
    # free along the axis, a chain is held at another point than the mirrored model
    shift = found.rows[2][1].u[:, 2][ring_mesh(part, COARSE).face_nodes("y_min")].mean(0)
    for half, u, sign in zip(halves, known, (1, -1, 1, -1, 1), strict=True):
        own = half.u.copy()
        seen = np.abs(u).max((1, 2)) > 0
        own[:, 2] -= sign * shift
        assert away(np.moveaxis(own[seen], -1, 0), np.moveaxis(u[seen], -1, 0)) < CLOSE


def forces(cell: Quarter, half: Half, parity: Array, weights: Array) -> Array:
    """What is missing to balance on each node of a half-row [n, 3, load], but for what the planes around hold."""
    rest = cell.push(half.u) - np.einsum("nib,bk->nik", cell.load, weights)
    for k, sign in enumerate(parity):
        for plane in ("x_min", "x_max"):
            for component in AROUND[int(sign)]:
                rest[cell.mesh.face_nodes(plane), component, k] = 0.0
    return rest


@pytest.mark.parametrize("rows", ["aligned", "alternate"])
def test_every_section_is_in_equilibrium(rows: str) -> None:
    """Nodes inside and between pieces carry nothing; each section hands on the torque, the pull, and no axial force of
    loads that have none.
    """
    part = ring(rows=rows)
    asked = [ChainLoad("rotation"), ChainLoad("hung", (1,)), ChainLoad("axial"), ChainLoad("torsion")]
    end = RowEnd(distance_mm=90.0, hold="flat")
    found = solve_chain(part, STEEL, (end, end), 3, asked, COARSE, everything=True)
    mesh = ring_mesh(part, COARSE)
    base = np.zeros((len(mesh.nodes), 3, 4))
    for k, case in enumerate(ring_cases(part, mesh, STEEL, [load.case for load in asked])):
        for piece in case.pieces:
            base[..., k] = piece.force
    cell = quarter(mesh, STEEL, base)
    bottom, top = mesh.face_nodes("y_min"), mesh.face_nodes("y_max")
    radius = np.hypot(mesh.nodes[top, 0], mesh.nodes[top, 1])
    mirror = np.array([1.0, 1.0, -1.0])[:, None]
    area = math.pi * (part.outer_radius_mm**2 - part.inner_radius_mm**2)
    for row, (low, high) in enumerate(found.rows):
        weights = np.diag([float(there) for there in found.loaded(row)])
        below, above = (forces(cell, half, found.parity, weights) for half in (low, high))
        size = max(np.abs(np.einsum("nib,bk->nik", cell.load, weights)).max((0, 1)).max(), np.abs(above).max())
        inside = np.setdiff1d(np.arange(len(mesh.nodes)), np.concatenate([bottom, top]))
        assert np.abs(above[inside]).max() < 1e-7 * size
        assert np.abs(below[inside]).max() < 1e-7 * size
        assert np.abs(above[bottom] + mirror * below[bottom]).max() < 1e-7 * size
        pull = 4 * above[top, 2].sum(0)  # of the whole section
        scale = 4 * np.abs(above[top, 2]).sum(0)
        assert np.abs(pull[:2]).max() < 1e-6 * scale[:2].max()
        assert pull[2] == pytest.approx(area, rel=1e-7)
        assert 4 * (radius @ above[top, 1])[3] == pytest.approx(1.0, rel=1e-7)
    # between rows, where they are aligned
    if rows == "aligned":
        for one, other in zip(found.rows, found.rows[1:], strict=False):
            weights = np.eye(4)
            weights[1, 1] = 0.0
            here, there = (forces(cell, half, found.parity, weights) for half in (one[1], other[0]))
            assert np.abs(here[top] + mirror * there[top]).max() < 1e-7 * np.abs(here[top]).max()


def test_loads_in_single_rows_add_up_and_answer_each_other() -> None:
    """The rows' own loads together are the load in every row; the struts' compliances are symmetric and positive."""
    part = ring()
    rows = 4
    ends = RowEnd(distance_mm=110.0), RowEnd(distance_mm=90.0, hold="flat")
    asked = [ChainLoad("strut:all"), *(ChainLoad("strut:all", (row,)) for row in range(rows))]
    level = chain(part, rows, *ends, asked)
    for edge in level.edges:
        assert edge.stress[1:].sum(0) == pytest.approx(edge.stress[0], abs=1e-9 * np.abs(edge.stress[0]).max())
    moved = level.seat_distance_mm("strut:all")
    compliance = moved[:, 1:]
    assert compliance.sum(1) == pytest.approx(moved[:, 0], rel=1e-9)
    assert compliance == pytest.approx(compliance.T, rel=1e-6)
    assert (np.linalg.eigvalsh(compliance) > 0).all()
    # a row feels its neighbour's pull less than its own, and a row farther off still less
    assert compliance[0, 0] > compliance[1, 0] > compliance[2, 0] > compliance[3, 0] > 0
    assert [case.name for case in level.edges[0].cases][:2] == ["strut:all", "strut:all in row 0"]


@pytest.mark.parametrize("rows", ["aligned", "alternate"])
def test_a_drum_turned_end_for_end_is_the_same(rows: str) -> None:
    """First and last end exchanged: rows in the other order, slots mirrored."""
    part = ring(rows=rows)
    one, other = RowEnd(distance_mm=80.0, hold="flat"), RowEnd(distance_mm=150.0, hold="flat", disc_mm=30.0)
    names = ["rotation", "clamp:all", "axial", "torsion"]
    there = chain(part, 3, one, other, loads(names))
    back = chain(part, 3, other, one, loads(names))
    assert there.chain.motion == pytest.approx(back.chain.motion, rel=1e-7)
    for row in range(3):
        for k in range(4):
            a, b = (e.combine(np.eye(4)).peaks(k) for e in (there.edges[row], back.edges[2 - row]))
            assert a.tension.value == pytest.approx(b.tension.value, rel=1e-6)
            assert a.compression.value == pytest.approx(b.compression.value, rel=1e-6, abs=1e-6 * a.tension.value)


def test_alternate_rows_take_torque_in_the_drums_sense() -> None:
    """Two rows: the last one stands mirrored in its sector, the torque does not."""
    part = ring(rows="alternate")
    end = RowEnd(distance_mm=90.0, hold="endless")
    two, three = (chain(part, n, end, end, loads(["torsion"])) for n in (2, 3))
    assert away(two.edges[0].stress, three.edges[0].stress) < CLOSE
    assert two.chain.motion[0] == pytest.approx(2 / 3 * three.chain.motion[0], rel=1e-7)


def test_a_shortened_cell_and_a_longer_shell_are_those_of_another_mesh() -> None:
    """One row between round ends at 78 and at 120 mm: the cell of another pitch that fits by itself, and this one made
    shorter, or with plain shell beyond.
    """
    fine = Fineness(order=3, cells_per_arc=3, growth=2.5, first_layer=0.75, wall_cells=3)
    for distance in (78.0, 120.0):
        end = RowEnd(distance_mm=distance)
        own = ring(pitch_mm=2 * distance)
        both = [
            chain_level(part, STEEL, (end, end), 1, loads(["rotation", "hung", "clamp:all"]), fine)
            for part in (ring(), own)
        ]
        for k in range(3):
            a, b = (tensions(level, k)[0] for level in both)
            assert a == pytest.approx(b, rel=0.01)


def test_the_elastic_disc_stands_between_the_open_and_the_stiff_end() -> None:
    """Thicker discs and wider hubs hold more; a massive one comes near the flat end, and its mesh has its volume."""
    part = ring()
    names = loads(["hung"])
    opened = tensions(chain(part, 3, *[RowEnd(distance_mm=90.0, hold="open")] * 2, names))[0]
    stiff = tensions(chain(part, 3, *[RowEnd(distance_mm=90.0, hold="flat")] * 2, names))[0]
    discs = [(1.0, 60.0), (10.0, 60.0), (60.0, 60.0), (60.0, 250.0), (400.0, 300.0)]
    found = []
    for thick, hub in discs:
        end = RowEnd(distance_mm=90.0, hold="flat", disc_mm=thick, hub_radius_mm=hub)
        found.append(tensions(chain(part, 3, end, end, names))[0])
        piece = end_piece(ring_mesh(part, COARSE), part, replace(end, distance_mm=130.0))
        assert piece is not None
        mesh = piece.mesh
        volume = volume_load(mesh.nodes, mesh.cells, mesh.orders, np.ones((len(mesh.nodes), 3)))[:, 0].sum()
        shell = math.pi * (part.outer_radius_mm**2 - part.inner_radius_mm**2) * (40.0 + thick)
        assert 4 * volume == pytest.approx(shell + math.pi * (part.inner_radius_mm**2 - hub**2) * thick, rel=1e-3)
    assert opened > found[0] > found[1] > found[2] > found[3] > found[4]
    assert found[4] == pytest.approx(stiff, rel=0.15)


def test_open_ends_of_both_kinds_leave_no_motion_free() -> None:
    """Ends that hold nothing along the axis are held at one point; there is no force there."""
    part = ring()
    for one, other in (("open", "open"), ("round", "open"), ("open", "flat"), ("flat", "round")):
        level = chain(
            part, 2, RowEnd(distance_mm=90.0, hold=one), RowEnd(distance_mm=90.0, hold=other), loads(["rotation"])
        )
        assert np.isfinite(level.edges[0].stress).all()
    with pytest.raises(SingularModel, match="rigid motion"):
        march([Link(1, np.array([[1.0, -1.0], [-1.0, 1.0]]), np.zeros((2, 1)))])


# the answer with its band


@cache
def asked() -> RowInfluence:
    """Four rows, unequal ends."""
    part = ring()
    return row_influence(
        part, 4, 100.0, RowEnd(distance_mm=90.0, hold="flat"), ["rotation", "strut:all"], STEEL, error=0.04
    )


@pytest.mark.slow
def test_the_band_holds_the_next_order() -> None:
    """Ratios of order 4 (3 through the wall) against those of order 5 (also through the wall)."""
    found = asked()
    assert found.settled
    assert found.orders == (2, 3, 4)
    fine = Fineness(order=5, cells_per_arc=3, growth=2.5, first_layer=0.75, wall_cells=3)
    level = chain_level(ring(), STEEL, found.ends, 4, loads(["rotation", "strut:all"]), fine)
    for k, name in enumerate(found.names):
        far = level.endless.combine(np.eye(2)).peaks(k)
        kind = "tension" if far.peak is far.tension else "compression"
        for row, edge in enumerate(level.edges):
            better = abs(getattr(edge.combine(np.eye(2)).peaks(k), kind).value / far.peak.value)
            assert abs(found.of(name)[row] - better) <= found.ratio_band[row, k]
    assert found.ratio_band.max() < 0.02


def test_what_is_returned_adds_to_the_endless_drum() -> None:
    """The difference and the endless drum make the row, with their steps; a state's peak comes from signed fields."""
    found = asked()
    for row in range(4):
        extra = found.difference(row)
        assert extra.stress + found.endless.stress == pytest.approx(found.edges[row].stress)
        assert extra.step + found.endless.step == pytest.approx(found.edges[row].step)
    both = found.peaks(1, np.array([1e4, 5e3])).peak.value
    apart = [abs(found.peaks(1, f).peak.value or 0.0) for f in (np.array([1e4, 0.0]), np.array([0.0, 5e3]))]
    assert 0 < abs(both or 0.0) < sum(apart)
    assert found.seat_distance_mm is not None
    assert found.seat_distance_mm.shape == (4, 2)
    assert found.rows_total == 4
    assert found.provenance.kind is Kind.COMPUTED
    assert any("100 mm" in note and "round" in note for note in found.notes)
    assert any("90 mm" in note and "flat" in note for note in found.notes)
    with pytest.raises(KeyError, match="rotation"):
        found.of("rotatoin")


def test_speed_is_no_matter_of_the_number_of_rows() -> None:
    """Equal pieces are condensed once: unknowns grow with the rows, the sparse systems do not."""
    end = RowEnd(distance_mm=90.0)
    few, many = (solve_chain(ring(), STEEL, (end, end), n, loads(["rotation"]), COARSE) for n in (3, 30))
    assert isinstance(many, RowChain)
    assert many.unknowns == pytest.approx(10 * few.unknowns, rel=0.01)


def test_what_cannot_be_is_refused_all_at_once() -> None:
    """Names the field, the value, what is allowed and the way out."""
    part = ring(4)
    end = RowEnd(distance_mm=60.0)
    with pytest.raises(InputFault) as caught:
        solve_chain(
            part, STEEL, (end, RowEnd(distance_mm=200.0, hold="endless")), 0,
            [ChainLoad("strut:0"), ChainLoad("axial"), ChainLoad("rotation", (0,))], COARSE, "fast",
        )  # fmt: skip
    fields = [fault.field for fault in caught.value.faults]
    assert {"rows_total", "growth", "load", "load.rows", "first.distance_mm", "last.distance_mm"} <= set(fields)
    text = str(caught.value)
    assert "strut:0" in text
    assert "smaller pitch_mm" in text
    for changes, field in (
        ({"hold": "glued"}, "hold"), ({"disc_mm": 20.0}, "hold"), ({"hub_radius_mm": 20.0}, "hub_radius_mm"),
        ({"distance_mm": -5.0}, "distance_mm"),
    ):  # fmt: skip
        with pytest.raises(InputFault, match=field):
            RowEnd(**({"distance_mm": 90.0} | changes))  # type: ignore[arg-type]
    end = RowEnd(distance_mm=90.0)
    helical = ring(rows="helical", row_angle_deg=30.0)
    single = ring(1)
    for some, loaded, match in (
        (helical, "rotation", "mirror planes"), (single, "rotation", "slots_around"), (ring(), "bending_x", "meet"),
        (ring(), "axial", "flat"),
    ):  # fmt: skip
        with pytest.raises(InputFault, match=match):
            solve_chain(some, STEEL, (end, end), 2, loads([loaded]), COARSE)
    with pytest.raises(InputFault, match=r"numbers of rows from 0 to 1"):
        solve_chain(ring(), STEEL, (end, end), 2, [ChainLoad("hung", (2,))], COARSE)
    opened = RowEnd(distance_mm=90.0, hold="open")
    with pytest.raises(InputFault, match="carries none"):
        solve_chain(ring(), STEEL, (end, opened), 2, loads(["torsion"]), COARSE)
    with pytest.raises(InputFault) as caught:
        row_influence(ring(), 3, -1.0, math.nan, ["rotation"], STEEL, error=0.5)
    assert [fault.field for fault in caught.value.faults] == ["first_distance_mm", "last_distance_mm", "error"]
    wide = RowEnd(distance_mm=90.0, hold="flat", disc_mm=20.0, hub_radius_mm=400.0)
    with pytest.raises(InputFault, match="hub_radius_mm"):
        solve_chain(ring(), STEEL, (wide, end), 2, loads(["rotation"]), COARSE)
