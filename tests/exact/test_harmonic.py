"""Harmonic elements of revolution against exact fields: patches, tubes, shafts, rotating bodies, a spherical cavity."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

import femdrum as fd
from femdrum.edge import UnitCase
from femdrum.errors import SingularModel, SolveFailure
from femdrum.fem.harmonic_element import (
    AXIAL,
    BENDING,
    TWIST,
    Harmonic,
    internal_forces,
    nodal_stress,
    stiffness_batches,
)
from femdrum.fem.harmonic_loads import (
    BeamSection,
    HarmonicLoad,
    body_load,
    curve_load,
    end_loads,
    resultants,
    rotation_load,
)
from femdrum.fem.harmonic_recovery import curve_stress
from femdrum.fem.harmonic_section import Section, SectionBuilder, rectangle_section, ruled, spread
from femdrum.fem.harmonic_solve import axis_supports, rigid_motions, solve_loads
from femdrum.fem.supports import Supports
from femdrum.handbook.closed_forms import lame, rotating_annulus, rotating_long_cylinder, rotating_solid_disc
from femdrum.units import density_t_mm3, omega_rad_s

STEEL = fd.steel("S355")
E, NU = STEEL.youngs_modulus_MPa, STEEL.poissons_ratio
G = E / (2 * (1 + NU))
KAPPA = 3 - 4 * NU


def shaft(inner: float, order: int = 4) -> Section:
    section = rectangle_section([inner, inner + 0.6 * (50 - inner), 50], [0, 40, 100, 200], order)
    return replace(
        section, curves={**section.curves, "cut": section.curves["bottom"], "bar_end": section.curves["top"]}
    )


def skewed(inner: float, order: int) -> Section:
    """A section whose cells are straight quadrilaterals, none of them a rectangle; the axis stays straight."""
    section = rectangle_section([inner, 0.4 + inner, 1.0 + inner], [0.0, 0.5, 0.8, 1.5], order)
    r, z = section.nodes.T
    return replace(section, nodes=np.stack([r * (1 + 0.2 * z), z * (1 + 0.25 * r) + 0.1 * r], -1))


def load(harmonic: Harmonic, force: np.ndarray) -> HarmonicLoad:
    return HarmonicLoad(UnitCase("test", "", ""), harmonic, force)


def along(like: np.ndarray, /, **kind: np.ndarray) -> np.ndarray:
    """Amplitudes [n, 3] from those along r, around (t) and along z."""
    return np.stack([kind.get(name, 0 * like) for name in ("r", "t", "z")], -1)


# -- rigid motions ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("inner", [0.0, 0.3])
@pytest.mark.parametrize("order", [2, 3, 5])
def test_rigid_motions_cost_nothing_and_stress_nothing(inner: float, order: int) -> None:
    section = skewed(inner, order)
    for harmonic, count in ((AXIAL, 1), (TWIST, 1), (BENDING, 2)):
        u = rigid_motions(section, harmonic)
        assert u.shape[2] == count
        assert np.abs(internal_forces(section, STEEL, harmonic, u)).max() <= 1e-11 * E
        assert np.abs(nodal_stress(section, STEEL, harmonic, u)).max() <= 1e-11 * E
        fixed = axis_supports(section, harmonic).fixed
        assert not np.any(harmonic.to_unknowns(u)[fixed]), "what holds on the axis must let rigid motions pass"


@pytest.mark.parametrize("harmonic", [AXIAL, TWIST, BENDING])
def test_element_matrices_are_symmetric_and_agree_with_the_internal_forces(harmonic: Harmonic) -> None:
    section = skewed(0.3, 3)
    n = len(section.nodes)
    whole = np.zeros((n * harmonic.unknowns,) * 2)
    for cells, k in stiffness_batches(section, STEEL, harmonic):
        assert np.abs(k - k.transpose(0, 2, 1)).max() <= 1e-13 * np.abs(k).max()
        dofs = (cells[..., None] * harmonic.unknowns + np.arange(harmonic.unknowns)).reshape(len(cells), -1)
        for d, one in zip(dofs, k, strict=True):
            whole[np.ix_(d, d)] += one
    values = np.linalg.eigvalsh(whole)
    assert (np.abs(values) <= 1e-11 * values[-1]).sum() == {"axial": 1, "twist": 1, "bending": 2}[harmonic.name]
    q = np.random.default_rng(2).normal(size=(n, harmonic.unknowns, 1))
    force = harmonic.from_space(internal_forces(section, STEEL, harmonic, harmonic.to_space(q)))
    assert np.allclose(force.ravel(), whole @ q.ravel(), rtol=0, atol=1e-11 * np.abs(whole).max())


# -- patches: third-order fields in balance without body force, from harmonic potentials ------------------------------
# u = grad(phi), u = z grad(phi) - (3 - 4 nu) phi e_z, u = x grad(phi) - (3 - 4 nu) phi e_x, u = curl(psi e_z)


def axial_gradient(r: np.ndarray, z: np.ndarray) -> np.ndarray:
    """phi = z^4 - 3 z^2 r^2 + 3/8 r^4."""
    return along(r, r=-6 * z**2 * r + 1.5 * r**3, z=4 * z**3 - 6 * z * r**2)


def axial_lifted(r: np.ndarray, z: np.ndarray) -> np.ndarray:
    """phi = z^3 - 3/2 z r^2 with z in front."""
    phi = z**3 - 1.5 * z * r**2
    return along(r, r=z * (-3 * z * r), z=z * (3 * z**2 - 1.5 * r**2) - KAPPA * phi)


def twist_field(r: np.ndarray, z: np.ndarray) -> np.ndarray:
    return along(r, t=r * z**2 - 0.25 * r**3 + 0.7 * r * z)


def bending_gradient(r: np.ndarray, z: np.ndarray) -> np.ndarray:
    """phi = (r z^3 - 3/4 r^3 z) cos t."""
    return along(r, r=z**3 - 2.25 * r**2 * z, t=-(z**3 - 0.75 * r**2 * z), z=3 * r * z**2 - 0.75 * r**3)


def bending_lifted(r: np.ndarray, z: np.ndarray) -> np.ndarray:
    """phi = (r z^2 - r^3 / 4) cos t with z in front."""
    phi = r * z**2 - 0.25 * r**3
    return along(r, r=z * (z**2 - 0.75 * r**2), t=-z * (z**2 - 0.25 * r**2), z=2 * r * z**2 - KAPPA * phi)


def bending_across(r: np.ndarray, z: np.ndarray) -> np.ndarray:
    """phi = z^3 - 3/2 z r^2 with x in front."""
    phi = z**3 - 1.5 * z * r**2
    return along(r, r=r * (-3 * z * r) - KAPPA * phi, t=KAPPA * phi, z=r * (3 * z**2 - 1.5 * r**2))


def bending_curl(r: np.ndarray, z: np.ndarray) -> np.ndarray:
    """psi = (r z^3 - 3/4 r^3 z) sin t."""
    return along(r, r=z**3 - 0.75 * r**2 * z, t=-(z**3 - 2.25 * r**2 * z))


FIELDS = [
    (AXIAL, axial_gradient),
    (AXIAL, axial_lifted),
    (TWIST, twist_field),
    (BENDING, bending_gradient),
    (BENDING, bending_lifted),
    (BENDING, bending_across),
    (BENDING, bending_curl),
]


def solved_from_border(section: Section, harmonic: Harmonic, u: np.ndarray) -> np.ndarray:
    """The field inside, from the exact displacements on the border."""
    names = ["outer", "bottom", "top"] + ([] if section.on_axis.size else ["inner"])
    border = np.unique(np.concatenate([section.curves[name] for name in names]))

    def held(some: Section, h: Harmonic) -> Supports:
        supports = axis_supports(some, h)
        for k in range(h.unknowns):
            supports.fix(border, k)
        return supports

    fixed = held(section, harmonic).fixed
    known = harmonic.to_space(np.where(fixed[..., None], harmonic.to_unknowns(u[..., None]), 0.0))
    pulled = internal_forces(section, STEEL, harmonic, known)[..., 0]
    return solve_loads(section, STEEL, [load(harmonic, -pulled)], held).u[..., 0] + known[..., 0]


@pytest.mark.parametrize("inner", [0.0, 0.3])
@pytest.mark.parametrize(("harmonic", "exact"), FIELDS, ids=lambda x: getattr(x, "__name__", getattr(x, "name", "")))
def test_third_order_fields_are_reproduced(harmonic: Harmonic, exact: Callable, inner: float) -> None:
    for order in (3, 4):
        section = skewed(inner, order)
        u = exact(*section.nodes.T)
        out_of_balance = internal_forces(section, STEEL, harmonic, u[..., None])[..., 0]
        names = ("outer", "bottom", "top", "inner")
        inside = np.setdiff1d(np.arange(len(u)), np.concatenate([section.curves[n] for n in names]))
        assert np.abs(out_of_balance[inside]).max() <= 1e-11 * np.abs(out_of_balance).max()
        got = solved_from_border(section, harmonic, u)
        assert np.abs(got - u).max() <= 1e-10 * np.abs(u).max()
    # and second-order cells cannot
    section = skewed(inner, 2)
    u = exact(*section.nodes.T)
    assert np.abs(solved_from_border(section, harmonic, u) - u).max() > 1e-6 * np.abs(u).max()


@pytest.mark.parametrize("inner", [0.0, 0.3])
def test_stress_at_the_nodes_is_that_of_the_field(inner: float) -> None:
    """Of gradients: stress = 2 G times the second derivatives of the potential."""
    section = skewed(inner, 4)
    r, z = section.nodes.T
    axial = nodal_stress(section, STEEL, AXIAL, axial_gradient(r, z)[..., None])[..., 0] / (2 * G)
    wanted = [-6 * z**2 + 4.5 * r**2, -6 * z**2 + 1.5 * r**2, 12 * z**2 - 6 * r**2, -12 * z * r, 0 * r, 0 * r]
    assert np.allclose(axial, np.stack(wanted, -1), rtol=0, atol=1e-10)
    bending = nodal_stress(section, STEEL, BENDING, bending_gradient(r, z)[..., None])[..., 0] / (2 * G)
    # tt: phi_r / r - phi / r^2; rt: -(phi_r / r - phi / r^2); tz: -phi_z / r
    wanted = [
        -4.5 * r * z, -1.5 * r * z, 6 * r * z, 3 * z**2 - 2.25 * r**2, 1.5 * r * z, -(3 * z**2 - 0.75 * r**2),
    ]  # fmt: skip
    assert np.allclose(bending, np.stack(wanted, -1), rtol=0, atol=1e-10)


# -- shafts and tubes ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("inner", [0.0, 20.0])
def test_beam_loads_have_their_resultants_and_are_in_balance(inner: float) -> None:
    section, beam = shaft(inner), BeamSection(inner, 50.0)
    loads = end_loads(section, STEEL, bar=beam, bar_end_mm=200.0, cut=beam)
    assert [one.case.name for one in loads] == ["thrust", "torsion", "bending", "shear"]
    thrust, torsion, bending, shear = (resultants(section, one.harmonic, one.force, 120.0) for one in loads)
    assert thrust.axial_N == pytest.approx(1.0, rel=1e-9)
    assert torsion.torque_Nmm == pytest.approx(1.0, rel=1e-9)
    for whole in (bending, shear):
        assert abs(whole.across_N) <= 1e-12
        assert abs(whole.moment_Nmm) <= 1e-9
    for name in ("bottom", "top"):
        part = curve_load(section, BENDING, name, lambda r, z: beam.flexure(r, 2.0, NU))
        assert resultants(section, BENDING, part).across_N == pytest.approx(-2.0, rel=1e-9)
        part = curve_load(section, BENDING, name, lambda r, z: beam.bend(r, 3.0))
        assert resultants(section, BENDING, part, 77.0).moment_Nmm == pytest.approx(3.0, rel=1e-9)


def test_a_solid_shaft_carries_all_beam_loads_exactly() -> None:
    section, beam = shaft(0.0), BeamSection(0.0, 50.0)
    field = solve_loads(section, STEEL, end_loads(section, STEEL, bar=beam, bar_end_mm=200.0, cut=beam))
    stress = curve_stress(field, STEEL, "outer")
    z = section.nodes[section.curves["outer"], 1]
    pull, twist, bend = 1 / beam.area_mm2, 50 / (2 * beam.inertia_mm4), 50 / beam.inertia_mm4
    zero = np.zeros((z.size, 3))
    for i, wanted in enumerate(
        [
            zero + np.array([pull, 0, 0]),
            zero + np.array([0, 0, twist]),
            zero + np.array([bend, 0, 0]),
            np.stack([bend * (200 - z), 0 * z, 0 * z + beam.flexure(np.array(50.0), 1.0, NU)[1]], -1),
        ]
    ):
        assert np.abs(stress[i] - wanted).max() <= 1e-9 * np.abs(wanted).max()
    # deflection of a shaft under a moment: M z^2 / (2 E I), towards 180 degrees, square on the axis
    axis = section.curves["inner"]
    place = section.nodes[axis, 1]
    across = field.u[axis, 0, 2] - field.u[axis[0], 0, 2]
    rise = -(place**2) / (2 * E * beam.inertia_mm4)
    assert np.abs(across - across[-1] / place[-1] * place - (rise - rise[-1] / place[-1] * place)).max() <= 1e-9 * abs(
        rise[-1]
    )
    assert np.allclose(
        field.u[axis, 0, 2:], -field.u[axis, 1, 2:], rtol=0, atol=1e-14 * np.abs(field.u[axis, 0, 2:]).max()
    )
    assert not np.any(field.u[axis, 2, 2:])


def test_flexure_of_a_tube_is_met_with_rising_order() -> None:
    """Its displacements hold 1/r and a logarithm: no order is exact, the error falls geometrically."""
    beam, errors = BeamSection(20.0, 50.0), []
    for order in (2, 4, 6, 8):
        section = shaft(20.0, order)
        field = solve_loads(section, STEEL, end_loads(section, STEEL, bar=beam, bar_end_mm=200.0, cut=beam))
        at = [curve_stress(field, STEEL, name)[3] for name in ("outer", "inner")]
        z = section.nodes[section.curves["outer"], 1]
        worst = 0.0
        for stress, r in zip(at, (50.0, 20.0), strict=True):
            wanted = np.stack([r / beam.inertia_mm4 * (200 - z), 0 * z], -1)
            worst = max(worst, np.abs(stress[:, :2] - wanted).max() / np.abs(wanted).max())
            shear = beam.flexure(np.array(r), 1.0, NU)[1]
            worst = max(worst, np.abs(stress[:, 2] / shear - 1).max())
        errors.append(worst)
    assert errors[-1] <= 1e-6
    assert all(b < 0.1 * a for a, b in itertools.pairwise(errors)), errors


def test_superposition_and_reciprocity() -> None:
    section, beam = shaft(20.0), BeamSection(20.0, 50.0)
    loads = (rotation_load(section, STEEL), *end_loads(section, STEEL, bar=beam, bar_end_mm=200.0, cut=beam))
    field = solve_loads(section, STEEL, loads)
    both = load(AXIAL, 2e-3 * loads[0].force - 5.0 * loads[1].force)
    alone = solve_loads(section, STEEL, [both]).u[..., 0]
    wanted = 2e-3 * field.u[..., 0] - 5.0 * field.u[..., 1]
    assert np.abs(alone - wanted).max() <= 1e-10 * np.abs(wanted).max()
    for a, b in ((0, 1), (3, 4)):
        one, other = np.sum(loads[a].force * field.u[..., b]), np.sum(loads[b].force * field.u[..., a])
        assert one == pytest.approx(other, rel=1e-9)


@pytest.mark.parametrize("ratio", [1.25, 2.0])
def test_tube_under_pressure_meets_lame(ratio: float) -> None:
    section = rectangle_section(np.linspace(30.0, 30.0 * ratio, 4), [0.0, 40.0], 8)
    section = replace(section, curves={**section.curves, "cut": section.curves["bottom"]})
    push = curve_load(section, AXIAL, "inner", lambda r, z: np.stack([1 + 0 * r, 0 * r, 0 * r], -1))
    field = solve_loads(section, STEEL, [load(AXIAL, push)])
    exact = lame(
        section.nodes[:, 0],
        inner_mm=30.0,
        outer_mm=30.0 * ratio,
        inner_pressure_MPa=1.0,
        youngs_modulus_MPa=E,
        poissons_ratio=NU,
    )
    got = nodal_stress(section, STEEL, AXIAL, field.u)[..., 0]
    size = np.abs(exact.hoop).max()
    for k, wanted in enumerate((exact.radial, exact.hoop, exact.axial)):
        assert np.abs(got[:, k] - wanted).max() <= 1e-6 * size
    assert np.abs(field.u[:, 0, 0] / exact.displacement - 1).max() <= 1e-8
    bore = curve_stress(field, STEEL, "inner", 1.0)[0]
    assert np.abs(bore[:, 1] / exact.hoop.max() - 1).max() <= 1e-8
    if ratio == 2.0:
        assert bore[0, 1] == pytest.approx(5 / 3, rel=1e-8)
        assert field.u[section.curves["inner"][0], 0, 0] * E / 30.0 == pytest.approx(1.96666666667, rel=1e-8)


# -- rotating bodies ------------------------------------------------------------------------------------------------------


def test_rotating_long_tube_meets_the_closed_form() -> None:
    """A cut that stays plane at one end, free at none: generalised plane strain with the force that holds the length."""
    section = rectangle_section([340.0, 360.0, 380.0], [0.0, 30.0], 6)
    section = replace(
        section, curves={**section.curves, "cut": np.concatenate([section.curves["bottom"], section.curves["top"]])}
    )
    field = solve_loads(section, STEEL, [rotation_load(section, STEEL)])
    omega = omega_rad_s(1000.0)
    exact = rotating_long_cylinder(
        section.nodes[:, 0], inner_mm=340.0, outer_mm=380.0, density_t_mm3=density_t_mm3(7850.0), omega_rad_s=omega,
        youngs_modulus_MPa=E, poissons_ratio=NU, ends="fixed",
    )  # fmt: skip
    got = nodal_stress(section, STEEL, AXIAL, field.u)[..., 0] * omega**2
    for k, wanted in enumerate((exact.radial, exact.hoop, exact.axial)):
        assert np.abs(got[:, k] - wanted).max() <= 1e-7 * exact.hoop.max()


DISCS = [
    # bore over outside, hoop at bore (or centre) and largest radial stress over rho w^2 b^2, plane stress, nu 0.3:
    # closed forms, checked for equilibrium and compatibility
    (0.0, 0.4125, 0.4125),
    (0.2, 0.832, 0.264),
    (0.5, 0.86875, 0.103125),
    (0.8, 0.937, 0.0165),
]


@pytest.mark.parametrize(("bore", "hoop", "radial"), DISCS)
def test_thin_rotating_disc_meets_plane_stress(bore: float, hoop: float, radial: float) -> None:
    b, half = 100.0, 0.5
    ends = np.concatenate([[bore * b], bore * b + (1 - bore) * b * np.array([0.1, 0.25, 0.5, 0.8, 1.0])])
    section = rectangle_section(ends, [0.0, half], 6)
    section = replace(section, curves={**section.curves, "cut": section.curves["bottom"]})  # the disc's middle plane
    field = solve_loads(section, STEEL, [rotation_load(section, STEEL)])
    stress = nodal_stress(section, STEEL, AXIAL, field.u)[..., 0]
    unit = density_t_mm3(7850.0) * b**2
    assert stress[section.curves["inner"], 1].max() / unit == pytest.approx(hoop, rel=1e-4)
    assert stress[:, 0].max() / unit == pytest.approx(radial, rel=2e-3)
    r = section.nodes[:, 0]
    motion = {"outer_mm": b, "density_t_mm3": density_t_mm3(7850.0), "omega_rad_s": 1.0, "poissons_ratio": NU}
    if bore:
        exact = rotating_annulus(r, inner_mm=bore * b, youngs_modulus_MPa=E, **motion)
    else:
        exact = rotating_solid_disc(r, **motion)
    assert np.abs(stress[:, 1] - exact.hoop).max() <= 2e-4 * exact.hoop.max()


def test_rotating_disc_with_a_hole_of_a_worked_note() -> None:
    """r 50.8 / 150 mm, 5000 rpm: largest radial stress 8.74 MPa as printed there; hoop at the bore 40.92 by the closed form.

    Published: an open worked note, seen in a secondary reproduction; its hoop value (41.75) is wrong and not used.
    """
    section = rectangle_section(np.linspace(50.8, 150.0, 6), [0.0, 0.5], 5)
    section = replace(section, curves={**section.curves, "cut": section.curves["bottom"]})
    field = solve_loads(section, STEEL, [rotation_load(section, STEEL)])
    stress = nodal_stress(section, STEEL, AXIAL, field.u)[..., 0] * omega_rad_s(5000.0) ** 2
    assert stress[:, 0].max() == pytest.approx(8.74, abs=0.01)
    assert stress[section.curves["inner"], 1].max() == pytest.approx(40.92, abs=0.01)


def test_body_force_has_its_resultant() -> None:
    section = shaft(20.0)
    volume = math.pi * (50.0**2 - 20.0**2) * 200.0
    weight = body_load(section, AXIAL, lambda r, z: along(r, z=2.0 + 0 * r))
    assert resultants(section, AXIAL, weight).axial_N == pytest.approx(2.0 * volume, rel=1e-12)
    across = body_load(section, BENDING, lambda r, z: along(r, r=2.0 + 0 * r, t=-2.0 + 0 * r))
    whole = resultants(section, BENDING, across, 60.0)
    assert whole.across_N == pytest.approx(2.0 * volume, rel=1e-12)
    assert whole.moment_Nmm == pytest.approx(-2.0 * volume * (100.0 - 60.0), rel=1e-11)


# -- a spherical cavity in a large body: curved edge, axis, all harmonics ----------------------------------------------------


def cavity(order: int, far: float = 1000.0, cells: int = 6) -> Section:
    """Upper half of a large ball with a cavity of radius 1; curves cavity (without the cell at the axis), far, equator."""
    angle = spread(np.linspace(0.0, 0.5 * math.pi, cells + 1), order)
    normal = np.stack([np.sin(angle), np.cos(angle)], -1)
    normal[0], normal[-1] = (0.0, 1.0), (1.0, 0.0)
    ends = np.concatenate([[0.0], np.geomspace(0.3, far - 1.0, 11)])
    shares = spread(ends / ends[-1], order)
    builder = SectionBuilder(order)
    grid = ruled(normal, far * normal, shares)
    builder.add("body", grid)
    builder.curve("cavity", grid[order:, 0])
    builder.curve("far", grid[:, -1])
    builder.curve("equator", grid[-1])
    return builder.build()


def cavity_solution(order: int, harmonic: Harmonic, cells: int = 6) -> tuple[np.ndarray, np.ndarray]:
    """Stress [k, 3] on the cavity and sin of the angle from the axis, under a remote stress of 1 MPa."""
    section = cavity(order, cells=cells)
    far = section.nodes[:, 0].max()
    traction = {
        AXIAL: lambda r, z: np.stack([0 * r, 0 * r, z / far], -1),  # pull along the axis
        TWIST: lambda r, z: np.stack([0 * r, r * z / far, 0 * r], -1),  # shear that grows by 1 MPa per radius
        BENDING: lambda r, z: np.stack([z / far, -z / far, r / far], -1),  # shear in the plane of angle 0
    }[harmonic]

    def held(some: Section, h: Harmonic) -> Supports:
        supports = axis_supports(some, h)
        equator = some.curves["equator"]
        for k in {AXIAL: (1,), TWIST: (0,), BENDING: (0, 1)}[h]:
            supports.fix(equator, k)
        if h is BENDING:
            supports.fix(equator[-1:], 2)
        return supports

    field = solve_loads(section, STEEL, [load(harmonic, curve_load(section, harmonic, "far", traction))], held)
    place = section.nodes[section.curves["cavity"]]
    return curve_stress(field, STEEL, "cavity")[0], place[:, 0]


def cavity_exact(harmonic: Harmonic, sin: np.ndarray) -> np.ndarray:
    """J. N. Goodier 1933 for pull and shear (form seen in secondary reproductions; its values at pole and equator are the
    classical ones); twist: u_t = r z (1 + 1 / (4 R^5)), which satisfies the equations and the free surface.
    """
    cos = np.sqrt(1 - sin**2)
    d = 7 - 5 * NU
    if harmonic is AXIAL:
        meridional = (27 - 15 * NU - 30 * cos**2) / (2 * d)
        return np.stack([meridional, (15 * NU - 3 - 30 * NU * cos**2) / (2 * d), 0 * sin], -1)
    if harmonic is TWIST:
        return np.stack([0 * sin, 0 * sin, -1.25 * sin**2], -1)
    both = -30 / d * sin * cos
    return np.stack([both, NU * both, np.full(sin.size, np.nan)], -1)


@pytest.mark.parametrize("harmonic", [AXIAL, TWIST, BENDING], ids=lambda h: h.name)
def test_spherical_cavity(harmonic: Harmonic) -> None:
    errors = []
    for order in (3, 5, 7):
        stress, sin = cavity_solution(order, harmonic)
        exact = cavity_exact(harmonic, sin)
        known = ~np.isnan(exact)
        errors.append(np.abs(stress - exact)[known].max() / np.abs(exact[known]).max())
    assert errors[0] <= 1e-2
    assert errors[-1] <= 1e-5, errors
    assert errors[0] > 5 * errors[1] > 25 * errors[2], errors
    if harmonic is AXIAL:
        assert stress[-1, 0] == pytest.approx(3 * (9 - 5 * NU) / (2 * (7 - 5 * NU)), rel=1e-5)  # 2.04545 at the equator
    if harmonic is BENDING:  # beside the plane of shear, on the equator: shear of 15 (1 - nu) / (7 - 5 nu)
        assert stress[-1, 2] == pytest.approx(15 * (1 - NU) / (7 - 5 * NU), rel=1e-5)
        assert np.abs(stress[:, 0]).max() == pytest.approx(15 / (7 - 5 * NU), rel=1e-3)


# -- refusals -----------------------------------------------------------------------------------------------------------------


def test_a_body_that_nothing_holds_is_refused() -> None:
    section, beam = shaft(20.0), BeamSection(20.0, 50.0)
    loads = end_loads(section, STEEL, bar=beam, bar_end_mm=200.0, cut=beam)
    for one in loads:
        with pytest.raises(SingularModel, match="rigid motion"):
            solve_loads(section, STEEL, [one], axis_supports)


def test_a_curve_beside_the_nodes_and_cells_inside_out_are_refused() -> None:
    builder = SectionBuilder(2)
    grid = np.stack(np.meshgrid(spread(np.array([1.0, 2.0]), 2), spread(np.array([0.0, 1.0]), 2), indexing="ij"), -1)
    builder.add("body", grid)
    builder.curve("astray", grid[:, 0] + 0.01)
    with pytest.raises(SolveFailure, match="astray"):
        builder.build()
    section = rectangle_section([1.0, 2.0, 3.0], [0.0, 1.0], 2)
    nodes = section.nodes.copy()
    nodes[np.isclose(nodes[:, 0], 2.0), 0] = 3.5
    with pytest.raises(SolveFailure, match="inside out"):
        rotation_load(replace(section, nodes=nodes), STEEL)


def test_nodes_that_only_touch_are_not_fused() -> None:
    order = 2
    line = spread(np.array([0.0, 0.5, 1.0]), order)
    low = np.stack(np.meshgrid(spread(np.array([1.0, 2.0]), order), line, indexing="ij"), -1)
    high = np.stack(np.meshgrid(spread(np.array([2.0, 3.0]), order), line, indexing="ij"), -1)
    touching = np.zeros(high.shape[:2], dtype=bool)
    touching[0, : order + 1] = True  # the lower half of the common line, with its end
    for mask, count in ((None, 25), (touching, 28)):
        builder = SectionBuilder(order)
        builder.add("low", low)
        builder.add("high", high, mask)
        assert len(builder.build().nodes) == count
