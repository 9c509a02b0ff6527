"""Unit cases on a whole row of the drum: resultants on cuts, balance, mirrors against the whole ring, Betti, refusals."""

from __future__ import annotations

import math
import time
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from walls import wall_strain

import femdrum as fd
from femdrum.errors import InputFault
from femdrum.fem import ring_sector, ring_whole
from femdrum.fem.cell import Fineness
from femdrum.fem.copies import Copy, glued
from femdrum.fem.elasticity import lame, mapped_gradients, stiffness
from femdrum.fem.ring_level import ring_level, whole_level
from femdrum.fem.ring_sector import MOTIONS
from femdrum.fem.ring_whole import RingWhole, solve_whole
from femdrum.fem.symmetry import Plan, mirror_plan, periodic_plan
from femdrum.fem.unit_cases import RingCase, meets_alike, ring_cases
from femdrum.model.flank import FLANKS, default_patch
from femdrum.units import density_t_mm3

STEEL = fd.steel("S355")
COARSE = Fineness(order=2, cells_per_arc=2, wall_cells=2)
SECTION = ["axial", "bending_x", "bending_y", "torsion", "transverse_x", "transverse_y"]
CLOSE = 1e-8


def ring(slots: int = 2, rows: str = "aligned", **changes: Any) -> fd.Ring:
    """An invented ring."""
    fields = {
        "outer_diameter_mm": 760 if slots < 4 else 900, "wall_mm": 40, "pitch_mm": 180, "slots_around": slots, "rows": rows,
        "cutout": fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=12),
    }  # fmt: skip
    return fd.Ring(**(fields | changes))


def patch(part: fd.Ring, slot: int | None, flank: str, traction: str = "pressure", profile: str = "uniform") -> str:
    """The name of a patch over the whole flat flank."""
    return default_patch(part, slot, flank, traction, profile).name


def patches(part: fd.Ring) -> list[str]:
    """Every flank and traction once, on single slots and on all."""
    last = part.slots_around - 1
    return [
        patch(part, 0, "leading"), patch(part, last, "trailing"), patch(part, 0, "leading", profile="linear"),
        patch(part, None, "leading"), patch(part, 0, "trailing", "shear_wall"), patch(part, last, "leading", "shear_edge"),
        patch(part, 0, "free_end"), patch(part, 0, "drive_end", "shear_wall"), patch(part, None, "free_end", "shear_edge"),
    ]  # fmt: skip


def every_case(part: fd.Ring) -> list[str]:
    """All unit cases that a ring has."""
    struts = ["strut:0", "strut:all"] if part.slots_around % 2 == 0 else []
    return ["rotation", "hung", "internal_pressure", "clamp", "clamp:0", *struts, *patches(part), *SECTION]


def bare(name: str) -> bool:
    """True for a case whose forces stand on the section alone."""
    return name in SECTION


@cache
def row(plan_kind: str = "periodic", slots: int = 2, rows: str = "aligned") -> RingWhole:
    """All cases of a ring on the coarse mesh."""
    part = ring(slots, rows)
    plan: Plan
    if plan_kind == "periodic":
        plan = periodic_plan(part)
        names = [n for n in every_case(part) if not plan.turned or n[:4] not in ("bend", "tran")]
    else:
        plan, names = mirror_plan(part, 2 if rows == "alternate" else 1), every_case(part)
    return solve_whole(plan, STEEL, names, COARSE)


def names_of(whole: RingWhole) -> list[str]:
    return [case.case.name for case in whole.cases]


# resultants


def in_space(part: fd.Ring, copy: Copy, mesh: Any, at: np.ndarray, force: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places [n, 3] and forces [n, 3, case] on the drum of nodes `at`, forces given in the quarter cell's frame."""
    x, y, z = mesh.nodes[at].T
    angle, radius = copy.angle(part, np.arctan2(y, x)), np.hypot(x, y)
    radial, around, axial = np.moveaxis(force * copy.sign[:, None], 1, 0)
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    place = np.stack([radius * np.cos(angle), radius * np.sin(angle), copy.height(part, z)], -1)
    return place, np.stack([c * radial - s * around, s * radial + c * around, axial], 1)


def six(place: np.ndarray, force: np.ndarray) -> np.ndarray:
    """X, Y, Z, tension at +X, tension at +Y, torque, all about mid-row [6, case]."""
    x, y, z = (p[:, None] for p in place.T)
    fx, fy, fz = np.moveaxis(force, 1, 0)
    parts = [fx, fy, fz, x * fz - z * fx, y * fz - z * fy, x * fy - y * fx]
    return np.stack([part.sum(0) for part in parts])


def copies_towards_free_end(whole: RingWhole) -> list[Copy]:
    return [c for c in whole.plan.all_copies if c.h == 0]


def loads_on(whole: RingWhole, copy: Copy) -> np.ndarray:
    """Condensed nodal forces [n, 3, case] that a copy carries, in the quarter cell's frame."""
    at, bits = whole.plan.home(copy.j, copy.h)
    index = whole.plan.halves.index(at[1]) * len(whole.plan.sectors) + whole.plan.sectors.index(at[0])
    out = np.zeros((*whole.mesh.nodes.shape, len(whole.cases)))
    for part in whole.parts:
        force = np.einsum("nib,bk->nik", whole.quarter.load, part.weights[index])
        out[..., list(part.cases)] += whole.plan.character(part.parity, bits) * force
    return out


def on_far_face(whole: RingWhole) -> np.ndarray:
    """[6, case] of what the neighbour puts on the face that looks to +Z."""
    total = np.zeros((6, len(whole.cases)))
    at = whole.mesh.face_nodes("y_max")
    for copy in copies_towards_free_end(whole):
        push = whole.quarter.push(whole.displacement(copy.j, copy.h)) - loads_on(whole, copy)
        total += six(*in_space(whole.plan.ring, copy, whole.mesh, at, push[at]))
    return total


def on_inner_cut(whole: RingWhole, share: float) -> np.ndarray:
    """[6, case] of what the cells beyond share x half the pitch put on those before: nodal forces between cells."""
    mesh = whole.mesh
    beyond = mesh.nodes[mesh.cells, 2].mean(1) > share * 0.5 * whole.plan.ring.pitch_mm
    assert 0 < beyond.sum() < beyond.size
    between = np.intersect1d(mesh.cells[beyond], mesh.cells[~beyond])
    k = stiffness(*mapped_gradients(mesh.nodes, mesh.cells[~beyond], mesh.orders), *lame(STEEL, 3))
    total = np.zeros((6, len(whole.cases)))
    for copy in copies_towards_free_end(whole):
        u = whole.quarter.in_space(whole.displacement(copy.j, copy.h, inside=True))
        own = np.einsum("eab,ebk->eak", k, u[mesh.cells[~beyond]].reshape(len(k), -1, len(whole.cases)))
        push = np.zeros(u.shape)
        np.add.at(push, mesh.cells[~beyond], own.reshape(*mesh.cells[~beyond].shape, 3, -1))
        force = whole.quarter.in_frame(push)
        total += six(*in_space(whole.plan.ring, copy, mesh, between, force[between]))
    return total


def applied(whole: RingWhole) -> np.ndarray:
    """[6, case] that the section cases ask for; about mid-row a transverse force has no moment on any cut."""
    part = whole.plan.ring
    area = math.pi * (part.outer_radius_mm**2 - part.inner_radius_mm**2)
    where = {"transverse_x": 0, "transverse_y": 1, "axial": 2, "bending_x": 3, "bending_y": 4, "torsion": 5}
    out = np.zeros((6, len(whole.cases)))
    for k, name in enumerate(names_of(whole)):
        if name in where:
            out[where[name], k] = area if name == "axial" else 1.0
    return out


ROWS = [
    ("periodic", 2, "aligned"), ("periodic", 3, "aligned"), ("mirrors", 1, "aligned"), ("mirrors", 2, "aligned"),
    ("mirrors", 3, "aligned"), ("mirrors", 4, "aligned"), ("mirrors", 2, "alternate"), ("periodic", 2, "alternate"),
]  # fmt: skip


@pytest.mark.parametrize("kind", ROWS, ids=lambda k: f"{k[0]}, {k[1]} slots, {k[2]}")
def test_cuts_carry_what_was_applied(kind: tuple[str, int, str]) -> None:
    """On the far face and on a cut through the row's middle cells. Force in N, moment over the outer radius likewise."""
    whole = row(*kind)
    section = [k for k, name in enumerate(names_of(whole)) if bare(name)]
    expected, lever = applied(whole), whole.plan.ring.outer_radius_mm
    size = np.abs(expected[:3]).max(0) + np.abs(expected[3:]).max(0) / lever
    unit = np.array([1.0, 1.0, 1.0, lever, lever, lever])[:, None]
    for found in (on_far_face(whole), on_inner_cut(whole, 0.5)):
        wrong = np.abs(found - expected) / unit
        assert (wrong[:, section] <= CLOSE * size[section]).all()


@pytest.mark.parametrize("kind", [k for k in ROWS if k[2] == "aligned"], ids=lambda k: f"{k[0]}, {k[1]} slots")
def test_loads_within_the_row_leave_its_far_face_alone(kind: tuple[str, int, str]) -> None:
    """Axial force, bending moment and torque are zero there. A load along the axis out of the middle turns the row over,
    which no acceleration takes; so the neighbours hold it by a transverse force of that couple over the pitch.
    """
    whole = row(*kind)
    part, names = whole.plan.ring, names_of(whole)
    lever = part.outer_radius_mm
    found = on_far_face(whole)
    moment = found[3:5] + 0.5 * part.pitch_mm * found[:2]
    every = [
        in_space(part, c, whole.mesh, np.arange(len(whole.mesh.nodes)), loads_on(whole, c))
        for c in whole.plan.all_copies
    ]
    couple = sum(six(*one)[3:5] for one in every)
    size = sum(np.abs(force).sum((0, 1)) for _, force in every)
    inside = [k for k, name in enumerate(names) if not bare(name)]
    for what in (found[2], *moment / lever, found[5] / lever, *(found[:2] - couple / part.pitch_mm)):
        assert (np.abs(what) <= CLOSE * size)[inside].all()
    if kind[1] > 1:
        along = names.index(patch(part, part.slots_around - 1, "leading", "shear_edge"))
        assert np.abs(couple[:, along]).max() > 0.5 * lever * size[along] / 2


@pytest.mark.parametrize("slots", [1, 2, 3])
def test_balanced_loads_find_no_reaction_anywhere(slots: int) -> None:
    """Nodal forces of all copies, glued around and along, against the loads with their inertia: nothing is left, also
    not at the nodes that hold rigid motions. (A transverse force leaves the growth of its moment at the joint.)
    """
    whole = row("periodic", slots)
    plan = whole.plan
    copies = glued(plan.ring, whole.mesh, plan.sectors, plan.halves, around=True, along=True)
    left, given = (np.zeros((copies.count, 3, len(whole.cases))) for _ in range(2))
    for copy, node in zip(copies.items, copies.node, strict=True):
        load = loads_on(whole, copy) * copy.sign[:, None]
        push = whole.quarter.push(whole.displacement(copy.j, copy.h)) * copy.sign[:, None]
        np.add.at(left, node, push - load)
        np.add.at(given, node, np.abs(push))
    for k, name in enumerate(names_of(whole)):
        if not name.startswith("transverse"):
            assert np.abs(left[..., k]).max() <= CLOSE * given[..., k].max(), name


def test_relief_is_the_load_over_mass_and_inertia() -> None:
    """Net force of a patch in its own direction, accelerations from the volume's own moments."""
    whole = row()
    part, mesh = whole.plan.ring, whole.mesh
    volume = mapped_gradients(mesh.nodes, mesh.cells, mesh.orders)[1].sum() * 4 * part.slots_around
    mass = density_t_mm3(STEEL.density_kg_m3) * volume
    relief = dict(zip(names_of(whole), whole.relief, strict=True))
    ahead = default_patch(part, 0, "leading", "pressure")
    force = ahead.force_N(part)
    found = relief[ahead.name]
    arm = 0.5 * (math.sqrt(part.outer_radius_mm**2 - 900) + math.sqrt(part.inner_radius_mm**2 - 900))
    # the fall at the ends of the patch is integrated within one coarse cell
    assert found.net == pytest.approx((0.0, force, 0.0, force * arm), rel=1e-4, abs=1e-6 * force)
    assert found.acceleration[1] * mass == pytest.approx(found.net[1], rel=1e-9)
    outward = default_patch(part, 0, "trailing", "shear_wall")
    assert relief[outward.name].net[0] == pytest.approx(outward.force_N(part), rel=1e-3)
    along = default_patch(part, 1, "leading", "shear_edge")
    assert relief[along.name].net[2] == pytest.approx(along.force_N(part), rel=1e-3)
    end = default_patch(part, 0, "free_end", "pressure")
    assert relief[end.name].net[2] == pytest.approx(end.force_N(part), rel=1e-3)  # the end's height varies along it
    turning = default_patch(part, 0, "leading", "pressure", "linear")
    assert relief[turning.name].net[3] == pytest.approx(turning.moment_Nmm(part), rel=1e-4)
    every = relief[patch(part, None, "leading")]
    assert every.net == pytest.approx((0.0, 0.0, 0.0, 2 * force * arm), rel=1e-4, abs=1e-6 * force)
    assert not any(relief[name].any for name in ("rotation", "hung", "clamp", "strut:0", "internal_pressure", *SECTION))


# mirrors, quarter cell, superposition


@pytest.mark.parametrize(
    ("slots", "rows"),
    [(1, "aligned"), (2, "aligned"), (3, "aligned"), (4, "aligned"), (2, "alternate"), (3, "alternate")],
)
def test_mirrors_equal_the_whole_ring(slots: int, rows: str) -> None:
    """On the same mesh. Alternate rows: the turned faces carry what is alike in every row and does not bend. Where axial
    force or torque change along the row, both count them midway between the rows.
    """
    mirrored, periodic = row("mirrors", slots, rows), row("periodic", slots, rows)
    names = names_of(periodic)
    if rows == "alternate":
        single = {name for name in names if name.split(":")[1:2] not in ([], ["all"])}
        names = [name for name in names if name not in single]
        assert len(names) >= 8
    a, b = ([names_of(w).index(n) for n in names] for w in (mirrored, periodic))
    strains = [
        (wall_strain(mirrored, c.j, c.h)[:, :, a], wall_strain(periodic, c.j, c.h)[:, :, b])
        for c in periodic.plan.all_copies
    ]
    size = np.max([np.abs(s).max((0, 1, 3)) for _, s in strains], 0)
    wrong = np.max([np.abs(s - t).max((0, 1, 3)) for s, t in strains], 0)
    far = {name: w for name, w in zip(names, wrong / size, strict=True) if w > 1e-6}
    assert far == {}


@pytest.mark.parametrize(("slots", "rows"), [(2, "aligned"), (3, "aligned"), (2, "alternate")])
def test_quarter_of_a_slots_cell_equals_the_whole_row(slots: int, rows: str) -> None:
    part = ring(slots, rows)
    names = [n for n in every_case(part) if meets_alike(part, n)]
    assert {"rotation", "axial", "hung", "internal_pressure", "clamp"} <= set(names)
    quarter = ring_level(part, STEEL, names, COARSE).edge
    whole = whole_level(mirror_plan(part, 2 if rows == "alternate" else 1), STEEL, names, COARSE).edge
    for case in range(len(names)):
        size = np.abs(quarter.stress[case]).max()
        assert whole.stress.shape[1] == slots
        assert np.abs(whole.stress[case] - quarter.stress[case]).max() <= CLOSE * size, names[case]
        assert np.abs(whole.pressure[case] - quarter.pressure[case]).max() <= 1e-12


FACTORS = {"rotation": 1e4, "axial": 5.0, "bending_y": 2e7, "torsion": -4e7, "transverse_x": 3e4, "clamp": 1e5}


def test_combination_is_the_solution_of_the_combined_load(monkeypatch: pytest.MonkeyPatch) -> None:
    part = ring()
    factors = FACTORS | {patch(part, 1, "leading"): 20.0, patch(part, 0, "leading", "shear_edge"): -7.0}
    apart = solve_whole(mirror_plan(part), STEEL, list(factors), COARSE)
    values = np.array(list(factors.values()))

    def combined(part: fd.Ring, mesh: Any, material: fd.Material, names: Any) -> list[RingCase]:
        cases = ring_cases(part, mesh, material, list(factors))
        pieces = tuple(
            replace(p, force=f * p.force) for f, case in zip(values, cases, strict=True) for p in case.pieces
        )
        section = {
            name: sum(f * c.section.get(name, 0.0) for f, c in zip(values, cases, strict=True)) for name in MOTIONS
        }
        across = values @ np.array([c.transverse for c in cases])
        return [RingCase(cases[0].case, pieces, section, (float(across[0]), float(across[1])))]

    monkeypatch.setattr(ring_whole, "ring_cases", combined)
    direct = solve_whole(mirror_plan(part), STEEL, ["all at once"], COARSE)
    for copy in direct.plan.all_copies:
        added = np.tensordot(apart.displacement(copy.j, copy.h), values, 1)
        found = direct.displacement(copy.j, copy.h)[..., 0]
        assert np.abs(added - found).max() <= CLOSE * np.abs(found).max()
    assert apart.motions @ values == pytest.approx(direct.motions[:, 0], rel=1e-8)


# Betti


def test_work_is_reciprocal() -> None:
    """Of cases that stand on surfaces and need no balance; a bar's own compliance is positive."""
    whole = row()
    names = names_of(whole)
    chosen = [names.index(n) for n in ("hung", "internal_pressure", "clamp", "clamp:0", "strut:0")]
    assert not any(whole.relief[k].any for k in set(chosen) - {names.index("clamp:0")})
    work = np.array([whole.work(k)[chosen] for k in chosen])
    size = np.sqrt(np.outer(np.diag(work), np.diag(work)))
    assert (np.diag(work) > 0).all()
    assert np.abs((work - work.T) / size).max() <= CLOSE


def test_work_with_inertia_is_reciprocal_for_every_load() -> None:
    """All loads with their balancing inertia on each other's displacements, and against the motions that section
    loads call up: N x extension, M x curvature, T x twist over the period.
    """
    whole = row()
    names = names_of(whole)
    chosen = [k for k, n in enumerate(names) if not n.startswith("transverse")]
    force = np.stack([loads_on(whole, c) for c in whole.plan.all_copies])
    u = np.stack([whole.displacement(c.j, c.h) for c in whole.plan.all_copies])
    work = np.einsum("cnia,cnib->ab", force, u, optimize=True)
    resultant = np.array([[case.section.get(m, 0.0) for m in MOTIONS] for case in whole.cases])
    work = (work + whole.plan.length_mm * resultant @ whole.motions)[np.ix_(chosen, chosen)]
    # at the cells' borders only; what is left out inside cells is the same both ways
    size = np.sqrt(np.outer(np.diag(work), np.diag(work)))
    assert np.abs((work - work.T) / size).max() <= CLOSE


# symmetry and sums


def test_pressure_on_the_trailing_flank_is_the_mirror_of_the_leading() -> None:
    part = ring()
    names = [patch(part, 0, "leading"), patch(part, 0, "trailing")]
    whole = solve_whole(periodic_plan(part), STEEL, names, COARSE)
    for copy in whole.plan.all_copies:
        twin = next(c for c in whole.plan.all_copies if c.h == copy.h and c.j == (-1 - copy.j) % 4)
        a, b = wall_strain(whole, copy.j, copy.h)[:, :, 0], wall_strain(whole, twin.j, twin.h)[:, :, 1]
        # each quarter is seen mirrored into the same place
        assert np.abs(a - b).max() <= 1e-9 * np.abs(b).max()


def test_clamp_and_strut_are_patches_of_one_newton() -> None:
    """A clamp: pressure on both flanks, 1 N each. A strut: shear through the wall on four flanks, 1 N a slot."""
    part = ring()
    sides = [(slot, flank) for slot in (0, 1) for flank in ("leading", "trailing")]
    for case, traction, share in (("clamp", "pressure", 1.0), ("strut:0", "shear_wall", 0.5)):
        whole = solve_whole(mirror_plan(part), STEEL, [case, *(patch(part, *s, traction) for s in sides)], COARSE)
        forces = [np.abs(relief.net[:2]).max() for relief in whole.relief[1:]]
        assert forces == pytest.approx([default_patch(part, *sides[0], traction).force_N(part)] * 4, rel=1e-3)
        for copy in whole.plan.all_copies:
            strain = wall_strain(whole, copy.j, copy.h)
            added = share * np.einsum("k,sdkc->sdc", 1 / np.array(forces), strain[:, :, 1:])
            assert np.abs(strain[:, :, 0] - added).max() <= CLOSE * np.abs(added).max()


@pytest.mark.parametrize("traction", ["pressure", "shear_wall", "shear_edge"])
@pytest.mark.parametrize("flank", FLANKS)
def test_single_slots_add_up_to_all(flank: str, traction: str) -> None:
    part = ring(3)
    names = [patch(part, k, flank, traction) for k in (0, 1, 2, None)]
    whole = solve_whole(mirror_plan(part), STEEL, names, COARSE)
    for copy in whole.plan.all_copies:
        strain = wall_strain(whole, copy.j, copy.h)
        each, every = strain[:, :, :3].sum(2), strain[:, :, 3]
        assert np.abs(each - every).max() <= CLOSE * np.abs(strain).max()


# cost


def test_one_more_case_needs_no_new_factorisation(monkeypatch: pytest.MonkeyPatch) -> None:
    part = ring()
    made: list[int] = []

    class Counted(ring_sector.Factored):
        def __init__(self, *given: Any) -> None:
            made.append(1)
            super().__init__(*given)

    monkeypatch.setattr(ring_sector, "Factored", Counted)
    counts, seconds = [], []
    some = [patch(part, 0, "leading")]
    for names in (
        some,
        [*some, patch(part, 1, "trailing"), patch(part, 0, "leading", profile="linear")],
        every_case(part),
    ):
        made.clear()
        start = time.perf_counter()
        solve_whole(mirror_plan(part), STEEL, names, Fineness(order=3, cells_per_arc=2, wall_cells=2))
        seconds.append(time.perf_counter() - start)
        counts.append(len(made))
    assert counts == [4, 4, 8]  # one for each parity that the cases have
    each = (seconds[1] - seconds[0]) / 2
    print(f"first case {seconds[0]:.2f} s, each further {each:.3f} s, all {len(every_case(part))} {seconds[2]:.2f} s")


# refusals


def test_untapered_shear_is_refused() -> None:
    with pytest.raises(InputFault, match="no finite peak"):
        default_patch(ring(), 0, "leading", "shear_wall", taper_mm=0.0)
    sound = patch(ring(), 0, "leading", "shear_edge")
    bare_ends = ":".join([*sound.split(":")[:-1], "0.0"])
    with pytest.raises(InputFault, match="no finite peak"):
        solve_whole(mirror_plan(ring()), STEEL, [bare_ends], COARSE)


@pytest.mark.parametrize(
    "name", ["flank:2:leading:pressure:uniform:96.0:16.0", "clamp:2", "strut:5", "flank:0:bow:pressure:uniform:9.0:1.0"]
)
def test_places_that_the_ring_does_not_have_are_refused(name: str) -> None:
    with pytest.raises(InputFault):
        solve_whole(mirror_plan(ring()), STEEL, [name], COARSE)


def test_strut_needs_an_opposite_slot() -> None:
    with pytest.raises(InputFault, match="no slot stands opposite"):
        solve_whole(mirror_plan(ring(3)), STEEL, ["strut:0"], COARSE)


def test_names_of_no_case_are_refused() -> None:
    with pytest.raises(KeyError, match="rotations"):
        solve_whole(mirror_plan(ring()), STEEL, ["rotations"], COARSE)


def test_alternate_rows_need_an_even_number_of_them() -> None:
    with pytest.raises(ValueError, match="even number"):
        mirror_plan(ring(rows="alternate"), 1)


# convergence


def test_torsion_converges_with_order() -> None:
    """Twist per torque grows with every order, by less each time. Stiffness and peak: an independent finite element library
    (stored beside tests/peers/ring_loads_reference.py, own error 1e-4).
    """
    cutout = fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm="full")
    twist, tension, compression = [], [], []
    for order in (2, 3, 4, 5):
        level = whole_level(mirror_plan(ring(cutout=cutout)), STEEL, ["torsion"], Fineness(order, 2, wall_cells=2))
        found = level.edge.combine([1e6]).peaks()
        twist.append(level.whole.motions[3, 0])
        tension.append(float(found.tension))
        compression.append(float(found.compression))
    steps = np.diff(twist)
    assert (steps > 0).all()
    assert (steps[1:] < 0.5 * steps[:-1]).all()
    assert 1 / twist[-1] == pytest.approx(7.6272733e14, rel=2e-4)
    wrong = np.abs(np.array(tension) / 0.294016 - 1)
    assert (wrong < [0.04, 0.003, 0.003, 0.0006]).all()
    # a torque pulls as much as it pushes
    assert compression == pytest.approx([-t for t in tension], rel=1e-9)


def test_the_band_holds_under_bending() -> None:
    """computed: order 5 on six layers of half as large cells, 0.0083009 MPa per kN m; the worst of ten rings."""
    part = ring(cutout=fd.Slot(around_mm=60, axial_mm=120, corner_radius_mm=22))
    answer = fd.solve(part, fd.Bending(moment_Nm=1e3, direction_deg=90), STEEL)
    assert answer.peak.value is not None
    assert answer.peak.band is not None
    assert abs(answer.peak.value - 0.0083009) <= answer.peak.band
