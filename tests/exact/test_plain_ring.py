"""A ring without a slot, solved as a row of the drum: a thick tube, whose stress is known everywhere.

Copies, mirrors, macro motions, the growth of a transverse force's moment and the balance of loads are all at work;
only the slot is missing. Axial pull, bending and torsion: a straight bar (theory of elasticity). Pressure and
rotation: femdrum/handbook/closed_forms.py.

Transverse force V along x on a tube, radii a > b, moment V z. Provenance: computed: derived here, Saint-Venant
flexure (theory of elasticity textbooks, from memory).

    sigma_zz = V x z / I, and with
    u_x = V / (E I) (-nu z (x^2 - y^2) / 2 - z^3 / 6),  u_y = -V / (E I) nu x y z,  u_z = V / (E I) (x z^2 / 2 + w(x, y))
    the strains xx, yy are -nu zz, xy is zero, and
    gamma_xz = V / (E I) (w_x - nu (x^2 - y^2) / 2),  gamma_yz = V / (E I) (w_y - nu x y).

Equilibrium along z, G (gamma_xz,x + gamma_yz,y) = -V x / I, asks for laplace(w) = -2 x, so that
w = (-r^3 / 4 + c1 r + c2 / r) cos t. Radially gamma_rz = V / (E I) cos t (c1 - c2 / r^2 - (3 + 2 nu) r^2 / 4), zero at
both surfaces where c1 = (3 + 2 nu) (a^2 + b^2) / 4 and c2 = (3 + 2 nu) a^2 b^2 / 4. With E = 2 (1 + nu) G:

    tau_rz =  V cos t / (8 (1 + nu) I) (3 + 2 nu) (a^2 + b^2 - a^2 b^2 / r^2 - r^2)
    tau_tz = -V sin t / (8 (1 + nu) I) ((3 + 2 nu) (a^2 + b^2 + a^2 b^2 / r^2) - (1 - 2 nu) r^2)

At the neutral axis, t = 90 degrees, the shear against the sense of t is therefore
    bore:  V / (8 (1 + nu) I) (2 (3 + 2 nu) a^2 + (2 + 4 nu) b^2)
    outer: V / (8 (1 + nu) I) ((2 + 4 nu) a^2 + 2 (3 + 2 nu) b^2).
A test below checks the forms for equilibrium, compatibility, free surfaces and resultant without the solver.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import dblquad

import femdrum as fd
from femdrum.fem.cell import Fineness
from femdrum.fem.field import nodal_stress
from femdrum.fem.mesh import EdgeGrid, Mesh
from femdrum.fem.reference import lobatto
from femdrum.fem.ring_whole import RingWhole, solve_whole
from femdrum.fem.symmetry import Plan, mirror_plan, periodic_plan
from femdrum.handbook.closed_forms import Cylinder, lame, rotating_long_cylinder
from femdrum.units import density_t_mm3

Array = NDArray[np.float64]

STEEL = fd.steel("S355")
E, NU = STEEL.youngs_modulus_MPa, STEEL.poissons_ratio
G = E / (2 * (1 + NU))
OUTER, INNER, PITCH = 200.0, 130.0, 160.0
AREA = math.pi * (OUTER**2 - INNER**2)
POLAR = 0.5 * math.pi * (OUTER**4 - INNER**4)
INERTIA = 0.5 * POLAR
ORDER = 5
NAMES = ["axial", "bending_x", "bending_y", "torsion", "transverse_x", "transverse_y", "internal_pressure", "rotation"]


def ring(slots_around: int) -> fd.Ring:
    """The row; of its slot nothing is in the mesh."""
    hole = fd.Circle(diameter_mm=4)
    return fd.Ring(
        outer_diameter_mm=2 * OUTER, wall_mm=OUTER - INNER, pitch_mm=PITCH, slots_around=slots_around, rows="aligned", cutout=hole
    )  # fmt: skip


def tube_cell(angle: float, around: int) -> Mesh:
    """The quarter cell of the plain ring: angle 0 .. pi / N, y 0 .. pitch / 2, and the wall in two layers."""
    local = 0.5 * (lobatto(ORDER) + 1)
    counts = (around, 1, 2)
    axes = [np.append(((np.arange(c)[:, None] + local[:-1]) / c).ravel(), 1.0) for c in counts]
    x, y, depth = (v.ravel() for v in np.meshgrid(*axes, indexing="ij"))
    radius, theta = OUTER - depth * (OUTER - INNER), x * angle
    nodes = np.stack([radius * np.cos(theta), radius * np.sin(theta), 0.5 * PITCH * y], -1)
    number = np.arange(len(nodes)).reshape([a.size for a in axes])
    steps = np.indices((ORDER + 1,) * 3).reshape(3, -1)
    starts = np.indices(counts).reshape(3, -1) * ORDER
    cells = number[tuple(starts[:, :, None] + steps[:, None, :])]
    faces = {}
    for axis, (low, high) in enumerate((("x_min", "x_max"), ("y_min", "y_max"), ("outer", "bore"))):
        for name, first, end in ((low, 0, 0), (high, (counts[axis] - 1) * ORDER, ORDER)):
            faces[name] = cells[starts[axis] == first][:, steps[axis] == end]
    one = np.zeros(1)
    edge = EdgeGrid(one, (np.zeros((1, 1), dtype=np.intp),), (one,), (one,), (np.zeros((1, 1, 3)),))
    return Mesh((ORDER,) * 3, nodes, cells, faces, edge)


PLANS: dict[str, Callable[[], Plan]] = {
    "mirrors, two slots": lambda: mirror_plan(ring(2)),
    "mirrors, three slots": lambda: mirror_plan(ring(3)),
    "mirrors, one slot": lambda: mirror_plan(ring(1)),
    "periodic, two slots": lambda: periodic_plan(ring(2)),
}


@pytest.fixture(scope="module", params=PLANS)
def whole(request: pytest.FixtureRequest) -> RingWhole:
    plan = PLANS[request.param]()
    n = plan.ring.slots_around
    mesh = tube_cell(math.pi / n, max(2, 6 // n))
    return solve_whole(plan, STEEL, NAMES, Fineness(order=ORDER), mesh=mesh)


def polar(whole: RingWhole, name: str) -> list[tuple[Array, Array, Array, Array]]:
    """Radius, angle, height and stress (radial, around, axial) on the drum, of every copy."""
    mesh, ring, case = whole.mesh, whole.plan.ring, NAMES.index(name)
    own = np.arctan2(mesh.nodes[:, 1], mesh.nodes[:, 0])
    out = []
    for c in whole.plan.all_copies:
        u = whole.quarter.in_space(whole.displacement(c.j, c.h, inside=True))[..., case]
        frame = whole.quarter.frame
        stress = np.einsum("nia,nij,njb->nab", frame, nodal_stress(mesh, u, STEEL), frame) * np.outer(c.sign, c.sign)
        radius = np.hypot(mesh.nodes[:, 0], mesh.nodes[:, 1])
        out.append((radius, c.angle(ring, own), c.height(ring, mesh.nodes[:, 2]), stress))
    return out


def only(**parts: Array) -> Array:
    """Stress tensors [n, 3, 3] from components named by r, t, z."""
    some = next(iter(parts.values()))
    out = np.zeros((some.size, 3, 3))
    for name, values in parts.items():
        a, b = ("rtz".index(letter) for letter in name)
        out[:, a, b] = out[:, b, a] = values
    return out


def flexure(r: Array, t: Array, z: Array) -> Array:
    """Stress of 1 N along x, the form of the heading."""
    a2, b2, scale = OUTER**2, INNER**2, 1 / (8 * (1 + NU) * INERTIA)
    k = 3 + 2 * NU
    return only(
        zz=r * np.cos(t) * z / INERTIA,
        rz=scale * np.cos(t) * k * (a2 + b2 - a2 * b2 / r**2 - r**2),
        tz=-scale * np.sin(t) * (k * (a2 + b2 + a2 * b2 / r**2) - (1 - 2 * NU) * r**2),
    )


def of_cylinder(c: Cylinder) -> Array:
    return only(rr=c.radial, tt=c.hoop, zz=c.axial)


def pressed(r: Array) -> Cylinder:
    return lame(r, inner_mm=INNER, outer_mm=OUTER, inner_pressure_MPa=1.0, youngs_modulus_MPa=E, poissons_ratio=NU)


def spun(r: Array) -> Cylinder:
    return rotating_long_cylinder(
        r, inner_mm=INNER, outer_mm=OUTER, density_t_mm3=density_t_mm3(STEEL.density_kg_m3), omega_rad_s=1.0,
        youngs_modulus_MPa=E, poissons_ratio=NU,
    )  # fmt: skip


EXACT: dict[str, Callable[[Array, Array, Array], Array]] = {
    "axial": lambda r, t, z: only(zz=np.ones_like(r)),
    "bending_x": lambda r, t, z: only(zz=r * np.cos(t) / INERTIA),
    "bending_y": lambda r, t, z: only(zz=r * np.sin(t) / INERTIA),
    "torsion": lambda r, t, z: only(tz=r / POLAR),
    "transverse_x": flexure,
    "transverse_y": lambda r, t, z: flexure(r, t - 0.5 * math.pi, z),
    "internal_pressure": lambda r, t, z: of_cylinder(pressed(r)),
    "rotation": lambda r, t, z: of_cylinder(spun(r)),
}


@pytest.mark.parametrize("name", NAMES)
def test_stress_everywhere_is_that_of_a_thick_tube(whole: RingWhole, name: str) -> None:
    top, worst = 0.0, 0.0
    for r, t, z, stress in polar(whole, name):
        wanted = EXACT[name](r, t, z)
        top, worst = max(top, np.abs(wanted).max()), max(worst, np.abs(stress - wanted).max())
    assert worst <= 1e-4 * top


@pytest.mark.parametrize(
    ("name", "motion", "wanted"),
    [
        ("axial", 0, AREA / (E * AREA)),
        ("bending_x", 1, 1 / (E * INERTIA)),
        ("bending_y", 2, 1 / (E * INERTIA)),
        ("torsion", 3, 1 / (G * POLAR)),
        ("internal_pressure", 0, pressed(np.array([INNER])).axial_strain),
        ("rotation", 0, spun(np.array([INNER])).axial_strain),
    ],
)
def test_motion_of_the_row_is_that_of_a_bar(whole: RingWhole, name: str, motion: int, wanted: float) -> None:
    size = np.array([1.0, OUTER, OUTER, OUTER])  # as strain at the outer surface
    got = whole.motions[:, NAMES.index(name)] * size
    assert got[motion] == pytest.approx(wanted * size[motion], rel=1e-6)
    others = np.delete(got, motion)
    assert np.abs(others).max() <= 1e-6 * abs(got[motion])


@pytest.mark.parametrize("side", ["bore", "outer"])
def test_shear_of_a_transverse_force_at_the_neutral_axis(whole: RingWhole, side: str) -> None:
    a2, b2, k = OUTER**2, INNER**2, 2 * (3 + 2 * NU)
    bracket = k * a2 + (2 + 4 * NU) * b2 if side == "bore" else (2 + 4 * NU) * a2 + k * b2
    wanted = bracket / (8 * (1 + NU) * INERTIA)
    found = []
    for r, t, _, stress in polar(whole, "transverse_x"):
        at = np.isclose(r, INNER if side == "bore" else OUTER) & np.isclose(np.cos(t), 0.0, atol=1e-9)
        found += list(-np.sin(t[at]) * stress[at, 1, 2])
    assert found, "no node on the neutral axis"
    assert np.abs(np.array(found) / wanted - 1).max() <= 1e-4


def test_form_for_a_transverse_force_solves_the_problem() -> None:
    """By differences and integrals, without finite elements: resultant, moment, free surfaces, equilibrium along the
    axis, and the one equation of compatibility that is not fulfilled at once.
    """

    def at(r: float, t: float, z: float = 0.0) -> Array:
        return np.asarray(flexure(np.array([r]), np.array([t]), np.array([z]))[0])

    def across(t: float, r: float) -> float:
        s = at(r, t)
        return r * float(math.cos(t) * s[0, 2] - math.sin(t) * s[1, 2])

    force = dblquad(across, INNER, OUTER, 0, 2 * math.pi)[0]
    assert force == pytest.approx(1.0, rel=1e-9)
    moment = dblquad(lambda t, r: r**2 * math.cos(t) * at(r, t, 7.0)[2, 2], INNER, OUTER, 0, 2 * math.pi)[0]
    assert moment == pytest.approx(7.0, rel=1e-9)
    top = abs(at(INNER, 0.5 * math.pi)[1, 2])
    for r in (INNER, OUTER):
        assert abs(at(r, 0.3)[0, 2]) <= 1e-12 * top
    h = 1e-3

    def rz(r: float, t: float) -> float:
        return float(at(r, t)[0, 2])

    def tz(r: float, t: float) -> float:
        return float(at(r, t)[1, 2])

    def r_tz(r: float, t: float) -> float:
        return r * tz(r, t)

    def slope_r(form: Callable[[float, float], float], r: float, t: float) -> float:
        return (form(r + h, t) - form(r - h, t)) / (2 * h)

    def slope_t(form: Callable[[float, float], float], r: float, t: float) -> float:
        return (form(r, t + h / r) - form(r, t - h / r)) / (2 * h)

    for r, t in ((140.0, 0.4), (170.0, 1.9), (195.0, 4.0)):
        balance = slope_r(rz, r, t) + rz(r, t) / r + slope_t(tz, r, t) + r * math.cos(t) / INERTIA
        assert abs(balance) <= 1e-6 * r / INERTIA
        # gamma_yz,x - gamma_xz,y: nothing from w, -nu y from either of the other terms
        curl = (slope_r(r_tz, r, t) / r - slope_t(rz, r, t)) / G
        assert curl == pytest.approx(-2 * NU * r * math.sin(t) / (E * INERTIA), rel=1e-6)
