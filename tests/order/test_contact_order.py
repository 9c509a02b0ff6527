"""Contact by finite elements: patches across meshes that do not match, order of convergence, what must hold of every solution, and
an independent solution of the same problem by relaxation.
"""

import math

import numpy as np
import pytest

from femdrum.errors import InputFault, SingularModel, SolveFailure
from femdrum.fem.contact import Contact, Drive
from femdrum.fem.contact_active import least
from femdrum.fem.contact_blocks import Spot, arc_ends, crown, divide, rounded_side, strip
from femdrum.fem.contact_body import Body, Elastic, Motion, hold, traction_load
from femdrum.fem.contact_friction import OPEN, SLIP_BACK, SLIP_FORTH, STICK
from femdrum.fem.contact_pair import Interface, pair
from femdrum.fem.contact_read import bearing_runs, read_face
from femdrum.fem.contact_side import Side
from femdrum.fem.harmonic_section import SectionBuilder, spread
from femdrum.handbook.closed_forms_bars import line_contact
from femdrum.model.material import Material

STEEL = Material(youngs_modulus_MPa=206e3, poissons_ratio=0.3)
SOFT = Material(youngs_modulus_MPa=70e3, poissons_ratio=0.34)


def turn(angle):
    return np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])


def block(low, high, cells, order, *, seed=None, angle=0.0):
    """A rectangle, its cells of random sizes where a seed is given, turned about the origin. Curves left, right, bottom, top."""
    rng = None if seed is None else np.random.default_rng(seed)
    axes = []
    for a, b, n in zip(low, high, cells, strict=True):
        share = np.linspace(0, 1, n + 1)
        if rng is not None:
            share[1:-1] += rng.uniform(-0.35, 0.35, n - 1) / n
        axes.append(spread(a + (b - a) * share, order))
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), -1) @ turn(angle).T
    builder = SectionBuilder(order)
    builder.add("block", grid)
    for name, line in (("left", grid[0]), ("right", grid[-1]), ("bottom", grid[:, 0]), ("top", grid[:, -1])):
        builder.curve(name, line)
    return builder.build()


def stress(body, u):
    """Stress at the cells' Gauss points [e, q, 2, 2], plane strain."""
    from femdrum.fem.elasticity import lame, mapped_gradients

    section = body.section
    gradients, _ = mapped_gradients(section.nodes, section.cells, (section.order,) * 2)
    lam, mu = lame(body.material, 3)
    slope = np.einsum("eqnd,eni->eqid", gradients, u[section.cells])
    strain = 0.5 * (slope + np.swapaxes(slope, -1, -2))
    return 2 * mu * strain + lam * np.trace(strain, axis1=-2, axis2=-1)[..., None, None] * np.eye(2)


@pytest.mark.parametrize("orders", [(1, 1), (1, 2), (2, 1), (2, 2), (3, 2), (2, 4)])
@pytest.mark.parametrize("friction", [0.0, 0.2])
@pytest.mark.parametrize("angle", [0.0, 0.7])
def test_patch_across_meshes_that_do_not_match(orders, friction, angle):
    """Even pressure on two or three floating blocks of other materials passes even to 1e-9, first side chosen either way."""
    upper = block((0, 5), (10, 9), (5, 3), orders[0], seed=1, angle=angle)
    middle = block((0, 3), (10, 5), (7, 2), orders[1], seed=2, angle=angle)
    lower = block((0, 0), (10, 3), (4, 3), orders[0], seed=3, angle=angle)
    # without friction the blocks widen each as it likes; with it they would hold each other, so these are alike
    bodies = [
        Body("upper", upper, STEEL),
        Body("middle", middle, STEEL if friction else SOFT),
        Body("lower", lower, STEEL),
    ]
    down = turn(angle) @ np.array([0.0, -1.0])
    forces = {0: traction_load(upper, "top", tuple(80 * down)), 2: traction_load(lower, "bottom", tuple(-80 * down))}
    for swap in (False, True):
        pairs = [((0, "bottom"), (1, "top")), ((2, "top"), (1, "bottom"))]
        faces = [Interface(f"{i}", *(p[::-1] if swap else p), friction) for i, p in enumerate(pairs)]
        contact = Contact(bodies, faces)
        state = contact.solve(forces)
        for face in state.faces.values():
            assert np.abs(face.pressure_MPa / 80 - 1).max() < 1e-9
            assert np.abs(face.shear_MPa).max() < 80e-9
            assert np.all(face.state != OPEN)
        even = -80 * np.outer(down, down)
        for body, u in zip(bodies, state.displacements, strict=True):
            assert np.abs(stress(body, u) - even).max() < 80e-9


def test_wider_side_first():
    """A side that the other covers in part only: force and moment still pass whole, and no pressure stands beside it."""
    upper = block((2.3, 5), (6.9, 9), (6, 5), 2)
    lower = block((0, 0), (10, 5), (17, 6), 2)
    bodies = [Body("upper", upper, STEEL), Body("lower", lower, STEEL, fixed=hold(lower, ["bottom"], ["bottom"]))]
    load = traction_load(upper, "top", (0.0, -100.0))
    load[:, 1] *= 1 + 0.02 * (upper.nodes[:, 0] - 4)
    results = []
    for first in (0, 1):
        sides = [(0, "bottom"), (1, "top")]
        contact = Contact(bodies, [Interface("face", sides[first], sides[1 - first])])
        face = contact.solve({0: load}).faces["face"]
        results.append(face)
        force, moment = (face.force_N, face.moment_Nmm) if first == 0 else (face.other_force_N, face.other_moment_Nmm)
        assert force == pytest.approx([0, -load[:, 1].sum()], abs=1e-9 * 460)
        assert moment == pytest.approx(-(upper.nodes[:, 0] * load[:, 1]).sum(), rel=1e-9)
        assert face.force_N + face.other_force_N == pytest.approx([0, 0], abs=1e-9 * 460)
    wide = results[1]
    assert wide.place_mm[:, 0].min() >= 2.3 - 1e-9
    assert wide.place_mm[:, 0].max() <= 6.9 + 1e-9
    assert wide.pairing.weight_mm.sum() == pytest.approx(4.6, rel=1e-9)


# a cylinder on a flat body, ever finer


def cylinder(cells, order=2, *, ratio=1.07, friction=0.0, free=("y",), fixed_turn=True):
    half, radius = 20.0, 100.0
    exact = line_contact(line_load=800.0, radius_mm=radius, other_radius_mm=math.inf, youngs_modulus_MPa=206e3, poissons_ratio=0.3)  # fmt: skip
    a = exact.half_width
    sections = []
    for r, up, scale in ((radius, True, 1.0), (math.inf, False, ratio)):
        size = scale * 1.5 * a / cells
        # halving all cells: the mesh between is that of the coarsest, divided
        coarse = divide((-half, half), (Spot(0.0, scale * 1.5 * a / 4, 1.5 * a),), 0.5, half / 3)
        parts = cells // 4
        ends = np.interp(np.arange(parts * (coarse.size - 1) + 1) / parts, np.arange(coarse.size), coarse)
        sections.append(
            crown(radius_mm=r, half_length_mm=half, depth_mm=half, ends=ends, first_mm=size, order=order, up=up)
        )
    top, bottom = sections
    bodies = (
        Body("upper", top, STEEL, fixed=hold(top, ["back"], ["back"]), motions=tuple(Motion(k) for k in free)),
        Body("lower", bottom, STEEL, fixed=hold(bottom, ["back"], ["back"])),
    )
    contact = Contact(bodies, [Interface("face", (0, "face"), (1, "face"), friction, normal="second")])
    return exact, contact, {0: traction_load(top, "back", (0.0, -800.0 / (2 * half)))}


@pytest.mark.parametrize("order", [1, 2])
def test_pressure_converges_with_every_halving(order):
    """Mean error of the pressure, over loads whose contact ends lie anywhere in a cell, falls with every halving, as h or better."""
    errors = []
    for cells in (4, 8, 16, 32):
        exact, contact, load = cylinder(cells, order)
        found = []
        for share in np.linspace(0.6, 1.05, 8):
            face = contact.solve({0: share * load[0]}).faces["face"]
            x, weight = face.place_mm[:, 0], face.pairing.weight_mm
            a, top = exact.half_width * math.sqrt(share), exact.pressure * math.sqrt(share)
            curve = top * np.sqrt(np.clip(1 - (x / a) ** 2, 0, None))
            found.append(weight @ (face.pressure_MPa - curve) ** 2 / (weight @ curve**2))
        errors.append(math.sqrt(np.mean(found)))
    falls = np.array(errors[:-1]) / errors[1:]
    assert np.all(falls > 1.5), errors
    assert np.log2(falls).mean() > 0.9
    assert errors[-1] < (0.05 if order == 1 else 0.02)


def test_rigid_approach_converges_monotonically():
    """The potential energy of the finest space is the lowest: the work of the load grows with every halving of nested cells."""
    work = []
    for cells in (4, 8, 16):
        _, contact, load = cylinder(cells, 2, ratio=1.0)
        state = contact.solve(load)
        work.append(float((load[0] * state.displacements[0]).sum()))
    assert abs(work[2] - work[1]) < 0.4 * abs(work[1] - work[0])
    assert work[2] == pytest.approx(work[1], rel=2e-3)


# what must hold of every solution


def random_case(seed, friction=0.3):
    """Two blocks with a wavy gap between, pressed and pushed aside."""
    rng = np.random.default_rng(seed)
    upper = block((0, 5), (10, 9), (9, 3), int(rng.integers(1, 4)), seed=seed)
    lower = block((-1, 0), (11, 5), (8, 4), int(rng.integers(1, 4)), seed=seed + 100)
    wave, phase, height = rng.uniform(0.3, 1.5), rng.uniform(0, 6), rng.uniform(2e-4, 4e-3)
    bodies = (
        Body("upper", upper, STEEL, fixed=hold(upper, ["top"], ["top"]), motions=(Motion("x"), Motion("y"), Motion("turn", 0.0, (5.0, 9.0)))),
        Body("lower", lower, SOFT, fixed=hold(lower, ["bottom"], ["bottom"])),
    )  # fmt: skip
    face = Interface(
        "face", (0, "bottom"), (1, "top"), friction, lambda at: height * (1 + np.sin(wave * at[:, 0] + phase))
    )
    contact = Contact(bodies, [face])
    load = traction_load(upper, "top", (0.0, -100.0))
    load[:, 1] *= 1 + rng.uniform(-0.04, 0.04) * (upper.nodes[:, 0] - 5)
    aside = load * 0
    aside[:, 0] = -rng.uniform(-0.5, 0.5) * friction * load[:, 1]
    return contact, load, aside


def check_face(face, friction):
    p, q, gap = face.pressure_MPa, face.shear_MPa, face.gap_mm
    top, width = p.max(), np.abs(gap).max() + 1e-6
    assert p.min() >= -1e-9 * top  # no tension
    assert gap.min() >= -1e-9 * width  # no overlap
    assert np.abs(p * gap).max() < 1e-9 * top * width  # pressure only where closed
    assert np.all(np.abs(q) <= friction * np.maximum(p, 0) + 1e-9 * top)
    assert np.array_equal(face.state == OPEN, p <= 1e-9 * top)


@pytest.mark.parametrize("seed", range(6))
def test_no_tension_no_overlap_and_balance(seed):
    contact, load, aside = random_case(seed)
    for friction in (False, True):
        force = load + aside if friction else load
        state = contact.solve({0: force}, friction=friction)
        face = state.faces["face"]
        check_face(face, 0.3 if friction else 0.0)
        assert face.force_N == pytest.approx(-force.sum(0), abs=1e-9 * 1000)
        assert face.other_force_N == pytest.approx(force.sum(0), abs=1e-9 * 1000)
        nodes = contact.bodies[0].body.section.nodes
        moment = (nodes[:, 0] * force[:, 1] - nodes[:, 1] * force[:, 0]).sum()
        assert face.moment_Nmm == pytest.approx(-moment, abs=1e-8 * 1000 * 10)
        if friction:
            slips = face.state >= SLIP_FORTH
            assert np.all(face.slip_mm[slips] * face.shear_MPa[slips] >= 0)  # friction takes work, never gives it
            assert np.abs(face.slip_mm[face.state == STICK]).max(initial=0.0) < 1e-12


@pytest.mark.parametrize("seed", range(4))
def test_the_start_does_not_matter(seed):
    """Any set of bearing nodes to begin with, the empty one too, ends in the same pressures."""
    contact, load, aside = random_case(seed)
    rng = np.random.default_rng(seed)
    m = contact.unknowns
    smooth = contact.solve({0: load}, friction=False)
    rough = contact.solve({0: load + aside})
    starts = [np.zeros(m), np.ones(m), rng.integers(0, 2, m), rng.integers(0, 2, m), np.arange(m) < 2]
    for start in starts:
        found = contact.solve({0: load}, friction=False, start=start.astype(np.int8))
        assert np.abs(found.faces["face"].pressure_MPa - smooth.faces["face"].pressure_MPa).max() < 1e-8 * 100
    for start in (np.full(m, STICK), np.full(m, SLIP_BACK), rng.integers(0, 4, m), rng.integers(0, 4, m)):
        found = contact.solve({0: load + aside}, start=start.astype(np.int8))
        assert np.abs(found.faces["face"].pressure_MPa - rough.faces["face"].pressure_MPa).max() < 1e-7 * 100
        assert np.abs(found.faces["face"].shear_MPa - rough.faces["face"].shear_MPa).max() < 1e-7 * 100


def test_by_relaxation():
    """The same pressures by Gauss and Seidel's relaxation with projection, on the assembled matrices of a small pair of blocks."""
    upper = block((0, 5), (10, 9), (5, 2), 2, seed=4)
    lower = block((0, 0), (10, 5), (6, 2), 2, seed=5)
    held = [hold(upper, ["top"], ["top"]), hold(lower, ["bottom"], ["bottom"])]
    bodies = [Body(n, s, STEEL, fixed=f) for n, s, f in zip(("upper", "lower"), (upper, lower), held, strict=True)]

    def gap(at):
        return 4e-3 * (np.abs(at[:, 0] - 4.3) / 5 - 0.9)

    contact = Contact(bodies, [Interface("face", (0, "bottom"), (1, "top"), gap=gap)])
    found = contact.solve().faces["face"]
    assert 3 < (found.state != OPEN).sum() < found.state.size
    # dense matrices, put together cell by cell
    from femdrum.fem.elasticity import lame, mapped_gradients, stiffness

    p = pair(Side.of(upper, "bottom"), Side.of(lower, "top"), gap)
    closes, stiff = [], []
    for section, fixed, line, push in ((upper, held[0], p.first, p.push), (lower, held[1], p.second, p.push_other)):
        gradients, weights = mapped_gradients(section.nodes, section.cells, (2, 2))
        matrix = np.zeros((section.nodes.size,) * 2)
        for cell, k in zip(section.cells, stiffness(gradients, weights, *lame(STEEL, 3)), strict=True):
            dofs = (2 * cell[:, None] + np.arange(2)).ravel()
            matrix[np.ix_(dofs, dofs)] += k
        rows = np.zeros((p.at.size, *section.nodes.shape))
        rows[:, line.nodes] = push
        free = ~fixed.ravel()
        closes.append(rows.reshape(p.at.size, -1)[:, free])
        stiff.append(matrix[np.ix_(free, free)])
    compliance = sum(b @ np.linalg.solve(k, b.T) for b, k in zip(closes, stiff, strict=True))
    pressure = np.zeros(p.at.size)
    for _ in range(20000):
        for i in range(pressure.size):
            rest = p.gap_mm2[i] + compliance[i] @ pressure - compliance[i, i] * pressure[i]
            pressure[i] = max(0.0, -rest / compliance[i, i])
    assert pressure == pytest.approx(found.pressure_MPa, abs=1e-7 * pressure.max())


def test_one_node_at_a_time():
    """Small convex problems with random bounds: both ways to the active set agree with every optimality condition."""
    from femdrum.fem.contact_active import _Problem

    rng = np.random.default_rng(8)
    for _ in range(30):
        m, k = int(rng.integers(3, 12)), int(rng.integers(0, 3))
        root = rng.normal(size=(m, m))
        matrix, linear = root @ root.T + 0.1 * np.eye(m), rng.normal(size=m)
        border = rng.normal(size=(m, k))
        low, high = -rng.uniform(0, 2, m), rng.uniform(0, 2, m)
        total = border.T @ rng.uniform(low, high)
        fast = least(matrix, linear, border, total, low=low, high=high)
        slow = _Problem(matrix, linear, border, total, low, high).one_by_one()
        assert fast.z == pytest.approx(slow.z, abs=1e-8)
        assert border.T @ fast.z == pytest.approx(total, abs=1e-9)
        slope = matrix @ fast.z + linear - border @ fast.motions
        assert np.all(fast.z >= low - 1e-9)
        assert np.all(fast.z <= high + 1e-9)
        inside = (fast.z > low + 1e-9) & (fast.z < high - 1e-9)
        assert np.abs(slope[inside]).max(initial=0.0) < 1e-8
        assert np.all(slope[fast.z <= low + 1e-9] > -1e-8)
        assert np.all(slope[fast.z >= high - 1e-9] < 1e-8)


def test_both_sides_first_converge_to_the_same():
    peaks = []
    for cells in (8, 24):
        _, contact, load = cylinder(cells)
        bodies = [e.body for e in contact.bodies]
        swapped = Contact(bodies, [Interface("face", (1, "face"), (0, "face"))])
        peaks.append([c.solve(load).faces["face"].pressure_MPa.max() for c in (contact, swapped)])
    assert abs(peaks[1][0] / peaks[1][1] - 1) < 2e-3


def test_steps_of_the_load():
    """Friction remembers: normal and tangential load that grow together never slip (shear Q/P times pressure everywhere, Mindlin
    and Deresiewicz); in one step, or normal first, the ends slip.
    """
    _, contact, load = cylinder(16, friction=0.2, free=("y", "x"))
    aside = {0: load[0][:, ::-1] * -0.1}  # half of what friction holds
    whole = {0: load[0] + aside[0]}
    once = contact.solve(whole).faces["face"]
    state = None
    for share in np.linspace(0.1, 1, 10):
        state = contact.solve({0: share * whole[0]}, before=state)
        check_face(state.faces["face"], 0.2)
    last = state.faces["face"]
    assert np.abs(last.pressure_MPa - once.pressure_MPa).max() < 0.02 * once.pressure_MPa.max()
    assert last.force_N == pytest.approx(once.force_N, abs=1e-9 * 800)
    inner = last.pressure_MPa > 0.5 * last.pressure_MPa.max()
    grown, at_once = (
        np.abs(np.abs(f.shear_MPa) - 0.1 * f.pressure_MPa)[inner].mean() / (0.1 * f.pressure_MPa.max())
        for f in (last, once)
    )
    assert grown < 0.15
    assert at_once > 2 * grown
    assert read_face(last).stick_share > 0.85
    assert read_face(once).stick_share == pytest.approx(math.sqrt(0.5), abs=0.06)
    # in one step it is the final state that decides, as after the normal load alone
    first = contact.solve(load)
    other = contact.solve(whole, before=first).faces["face"]
    assert np.abs(other.shear_MPa - once.shear_MPa).max() < 0.02 * np.abs(once.shear_MPa).max()


def test_turned_model():
    """The whole model turned: the same pressures and shears."""
    found = []
    for angle in (0.0, 1.1):
        upper = block((0, 5), (10, 9), (6, 3), 2, angle=angle)
        lower = block((-2, 0), (12, 5), (9, 4), 2, angle=angle)
        bodies = (
            Body("upper", upper, STEEL),
            Body("lower", lower, SOFT, fixed=hold(lower, ["bottom"], ["bottom"])),
        )
        contact = Contact(bodies, [Interface("face", (0, "bottom"), (1, "top"), 0.4)])
        load = traction_load(upper, "top", tuple(turn(angle) @ np.array([15.0, -100.0])))
        found.append(contact.solve({0: load}).faces["face"])
    assert found[0].pressure_MPa == pytest.approx(found[1].pressure_MPa, abs=1e-8 * 100)
    assert found[0].shear_MPa == pytest.approx(found[1].shear_MPa, abs=1e-8 * 100)


def test_scales():
    """Twice the load on a gap twice as wide: twice the pressures. Twice Young's modulus: half the displacements."""

    def made(scale, material):
        upper, lower = block((0, 5), (10, 9), (6, 3), 2), block((0, 0), (10, 5), (7, 3), 2)
        bodies = (
            Body("upper", upper, material, fixed=hold(upper, ["left"]), motions=()),
            Body("lower", lower, material, fixed=hold(lower, ["bottom"], ["bottom"])),
        )
        face = Interface("face", (0, "bottom"), (1, "top"), gap=lambda at: scale * 1e-4 * (at[:, 0] - 3) ** 2)
        return Contact(bodies, [face]).solve({0: traction_load(upper, "top", (0.0, -100.0 * scale))})

    one, two = made(1.0, STEEL), made(2.0, STEEL)
    assert two.faces["face"].pressure_MPa == pytest.approx(2 * one.faces["face"].pressure_MPa, abs=1e-7)
    stiffer = made(0.5, Material(youngs_modulus_MPa=412e3, poissons_ratio=0.3))
    softer = made(0.5, STEEL)
    assert stiffer.faces["face"].normal_force_N == pytest.approx(softer.faces["face"].normal_force_N, rel=1e-9)
    assert not np.allclose(stiffer.faces["face"].pressure_MPa, softer.faces["face"].pressure_MPa, rtol=1e-3)


# bodies and drives


def test_a_body_on_springs_and_held_evenly():
    """Springs give way by force over stiffness; what is held evenly gets its reaction spread and keeps its mean place."""
    section = block((0, 0), (10, 4), (4, 3), 2)
    spring = Elastic(Body("one", section, STEEL, fixed=hold(section, ["left"], ["left"]), motions=(Motion("x", 5e3), Motion("turn", 2e6, (0.0, 2.0)))))  # fmt: skip
    pull = traction_load(section, "right", (30.0, 10.0))
    stiff = Elastic(Body("one", section, STEEL, fixed=hold(section, ["left"], ["left"])))
    extra = spring.under(pull) - stiff.under(pull)
    angle = 40 * 10 / 2e6  # the moment of 10 MPa on 4 mm at 10 mm
    assert extra[:, 0] == pytest.approx(120 / 5e3 - angle * (section.nodes[:, 1] - 2), abs=1e-12)
    assert extra[:, 1] == pytest.approx(angle * section.nodes[:, 0], abs=1e-12)
    even = traction_load(section, "left", (0.25, 0.0))
    held = Elastic(Body("one", section, STEEL, held=even))
    assert held.motions.shape[-1] == 2
    u = held.under(traction_load(section, "right", (30.0, 0.0)))
    assert (even * u).sum() == pytest.approx(0, abs=1e-15)
    # even tension in plane strain: the right end moves by sigma L (1 - nu²) / E
    right = section.nodes[:, 0] == 10
    assert u[right, 0] == pytest.approx(30 * 10 * (1 - 0.09) / 206e3, rel=1e-9)
    with pytest.raises(InputFault, match="held"):
        Elastic(Body("one", section, STEEL, fixed=hold(section, ["left"], ["left"]), held=even))


def test_plane_stress_is_softer():
    upper = block((0, 5), (10, 9), (4, 2), 2)
    closing = []
    for plane in ("strain", "stress"):
        lower = block((0, 0), (10, 5), (5, 2), 2)
        bodies = (
            Body("upper", upper, STEEL, plane, fixed=hold(upper, [], ["top"])),
            Body("lower", lower, STEEL, plane, fixed=hold(lower, [], ["bottom"])),
        )
        contact = Contact(bodies, [Interface("face", (0, "bottom"), (1, "top"))], [Drive("face")])
        state = contact.solve(driven={"face": 1000.0})
        assert state.faces["face"].pressure_MPa == pytest.approx(
            np.full(state.faces["face"].state.size, 100.0), rel=1e-9
        )
        closing.append(state.drives["face"])
    # columns of 9 mm under 100 MPa, free to widen
    assert closing[0] == pytest.approx(100 * 9 * (1 - 0.09) / 206e3, rel=1e-9)
    assert closing[1] == pytest.approx(100 * 9 / 206e3, rel=1e-9)


def test_driven_by_a_load():
    """A load of unknown size that brings a force: the same state as that load given."""
    upper, lower = block((0, 5), (10, 9), (6, 3), 2), block((-1, 0), (11, 5), (7, 3), 2)
    bodies = (Body("upper", upper, STEEL), Body("lower", lower, STEEL, fixed=hold(lower, ["bottom"], ["bottom"])))
    faces = [Interface("face", (0, "bottom"), (1, "top"), 0.3)]
    push = traction_load(upper, "top", (2.0, -10.0))
    driven = Contact(bodies, faces, [Drive("face", (0, push))]).solve(driven={"face": 700.0})
    assert driven.drives["face"] == pytest.approx(7.0, rel=1e-9)
    given = Contact(bodies, faces).solve({0: 7 * push})
    assert driven.faces["face"].pressure_MPa == pytest.approx(given.faces["face"].pressure_MPa, abs=1e-7)
    assert driven.displacements[0] == pytest.approx(given.displacements[0], abs=1e-10)
    with pytest.raises(InputFault, match="driven"):
        Contact(bodies, faces, [Drive("face", (0, push))]).solve()


def test_what_cannot_be_held():
    upper, lower = block((0, 5), (10, 9), (4, 2), 1), block((0, 0), (10, 5), (4, 2), 1)
    bodies = (Body("upper", upper, STEEL), Body("lower", lower, STEEL, fixed=hold(lower, ["bottom"], ["bottom"])))
    contact = Contact(bodies, [Interface("face", (0, "bottom"), (1, "top"))])
    with pytest.raises(SingularModel, match="along faces that cannot hold it"):
        contact.solve({0: traction_load(upper, "top", (1.0, -10.0))})
    with pytest.raises(SolveFailure, match="part the bodies, or tip"):
        contact.solve({0: traction_load(upper, "top", (0.0, 10.0))})
    tips = traction_load(upper, "right", (0.0, -10.0)) + 0.5 * traction_load(upper, "left", (0.0, 10.0))
    tips[:, 1] += 0.0
    over = traction_load(upper, "top", (0.0, -1.0))
    over[:, 1] *= 3 * (upper.nodes[:, 0] - 4)
    with pytest.raises(SolveFailure, match="tip"):
        contact.solve({0: over})


# pieces


def test_divide():
    ends = divide((0.0, 3.0, 10.0), (Spot(3.0, 1e-3, 0.01), Spot(10.0, 0.5)), 0.5, 2.0)
    sizes = np.diff(ends)
    assert {0.0, 3.0, 10.0} <= set(ends)
    assert np.all(sizes > 0)
    near = np.abs(0.5 * (ends[1:] + ends[:-1]) - 3.0) < 0.008
    assert np.all(sizes[near] <= 1.01e-3)
    assert np.all(sizes[near] > 0.7e-3)
    assert sizes.max() <= 2.0
    steps = sizes[1:] / sizes[:-1]
    assert steps.max() < math.exp(0.5) * 1.1
    # slopes of its own beyond `far`
    gentle = divide((0.0, 10.0), (Spot(5.0, 0.01),), 0.3)
    steep = divide((0.0, 10.0), (Spot(5.0, 0.01, far=0.1, above=1.5),), 0.3)
    assert (steep > 5).sum() < 0.6 * (gentle > 5).sum()
    assert (steep < 5).sum() == pytest.approx((gentle < 5).sum(), abs=1)


def test_rounded_ends():
    low, high = arc_ends(-10.0, 10.0, 2.0)
    y = np.linspace(low, high, 401)
    back, far = rounded_side(y, -10.0, 10.0, 2.0)
    assert np.all(back[np.abs(y) < 8] == 0)
    # on a circle of radius 2 about (2, 8)
    upper = y > 8
    assert np.hypot(2 - back[upper], y[upper] - 8) == pytest.approx(2.0)
    assert (far[0], far[-1]) == (-10.0, 10.0)
    assert rounded_side(y, -10.0, 10.0, 0.0)[1] is y


def test_sides_look_outward():
    """Outward normals, whichever way a curve runs and however thin the first layer is."""
    angle = spread(np.linspace(0, 1.2, 4), 2)
    way = np.stack([np.sin(angle), -np.cos(angle)], -1)
    for shares in (np.array([0.0, 1e-3, 1.0]), np.array([0.0, 0.5, 1.0])):
        for outer in (True, False):
            first, last = (10 * way, 5 * way) if outer else (5 * way, 10 * way)
            section = strip(first, last, shares, 2, ("face", "back", "a", "b"))
            side = Side.of(section, "face")
            assert side.node_normals == pytest.approx(way if outer else -way, abs=0.02)


def test_ends_of_contact():
    """The end lies where the square of the pressure falls to zero, between the last node that bears and the next."""
    x = np.linspace(-2, 2, 41)
    p = np.sqrt(np.clip(1 - (x / 1.33) ** 2, 0, None))
    ((low, high),) = bearing_runs(x, p, p > 0)
    assert high == pytest.approx(1.33, abs=0.03)
    assert low == -high
    assert bearing_runs(x, np.ones_like(x), np.ones_like(x) > 0) == ((-2.0, 2.0),)
    two = bearing_runs(x, np.where(np.abs(x) > 1, 1.0, 0.0), np.abs(x) > 1)
    assert len(two) == 2
    assert two[0][0] == -2.0
    assert two[1][1] == 2.0
    alone = bearing_runs(x, np.where(x == x[10], 1.0, 0.0), x == x[10])
    assert alone[0] == pytest.approx((x[10] - 0.05, x[10] + 0.05))


def test_reading_along_the_arc_or_an_axis():
    _, contact, load = cylinder(8, friction=0.2)
    face = contact.solve(load).faces["face"]
    across, along = read_face(face, 0), read_face(face)
    assert across.peak_MPa == along.peak_MPa
    assert across.bears_mm == pytest.approx(along.bears_mm, rel=1e-3)
    assert along.half_width_mm > 0.9 * across.half_width_mm
    assert across.middle_mm == pytest.approx(0, abs=1e-6)
    assert across.normal_N == pytest.approx(800, rel=1e-9)
    assert across.couple_Nmm == pytest.approx(0, abs=1e-5)
    assert 0 < across.stick_share <= 1
