"""The elements by themselves: patch tests, resultants, an annulus against its closed form, orders of convergence."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from blocks import distorted, sector

import femdrum as fd
from femdrum.fem.cell import Fineness
from femdrum.fem.elasticity import face_load, lame, mapped_gradients, stiffness, surface_stress, volume_load
from femdrum.fem.field import nodal_stress
from femdrum.fem.level import plate_level
from femdrum.fem.reference import lagrange, lobatto
from femdrum.fem.ring_mesh import ring_supports
from femdrum.fem.supports import Supports
from femdrum.fem.system import displacements
from femdrum.fem.unit_cases.ring import rotation
from femdrum.handbook.closed_forms import rotating_long_cylinder
from femdrum.handbook.domains import FinitePlate
from femdrum.handbook.exact import exact_kt
from femdrum.units import density_t_mm3, omega_rad_s

STEEL = fd.steel("S355")


@pytest.mark.parametrize("order", [1, 2, 3, 5, 8])
def test_lagrange_polynomials_reproduce_their_order(order: int) -> None:
    x = np.linspace(-1, 1, 7)
    value, slope = lagrange(order, x)
    nodes = lobatto(order)
    for k in range(order + 1):
        assert np.allclose(value @ nodes**k, x**k, atol=1e-12)
        assert np.allclose(slope @ nodes**k, k * x ** max(k - 1, 0) if k else 0 * x, atol=1e-11)


@pytest.mark.parametrize(("dim", "order"), [(2, 1), (2, 2), (2, 4), (3, 1), (3, 2), (3, 3)])
def test_patch_of_distorted_cells_carries_a_constant_stress(dim: int, order: int) -> None:
    mesh = distorted(order, (3,) * dim)
    gradient = np.array([[1e-3, 4e-4, 2e-4], [-3e-4, 7e-4, 5e-4], [6e-4, -2e-4, -9e-4]])[:dim, :dim]
    wanted = mesh.nodes @ gradient.T
    border = np.unique(np.concatenate([f.ravel() for f in mesh.faces.values()]))
    # move the border by the linear field: one macro motion with every border component prescribed
    supports = Supports(len(mesh.nodes), dim)
    for k in range(dim):
        supports.fix(border, k)
    motion = np.zeros_like(mesh.nodes)
    motion[border] = wanted[border]
    supports.motions.append(motion)
    lam, mu = lame(STEEL, dim)
    strain = 0.5 * (gradient + gradient.T)
    stress = lam * np.trace(strain) * np.eye(dim) + 2 * mu * strain
    energy = float(np.tensordot(stress, strain))  # times the block's volume of 1, twice the work
    solved = displacements(mesh, STEEL, supports, np.zeros((*mesh.nodes.shape, 1)), np.array([[energy]]))
    assert solved.motions[0, 0] == pytest.approx(1.0, abs=1e-10)
    assert np.abs(solved.u[..., 0] - wanted).max() <= 1e-10 * np.abs(wanted).max()
    recovered = nodal_stress(mesh, solved.u[..., 0], STEEL)[:, :dim, :dim]
    assert np.abs(recovered - stress).max() <= 1e-10 * np.abs(stress).max()


@pytest.mark.parametrize("dim", [2, 3])
def test_rigid_motions_cost_no_energy(dim: int) -> None:
    mesh = distorted(3, (2,) * dim)
    k = stiffness(*mapped_gradients(mesh.nodes, mesh.cells, mesh.orders), *lame(STEEL, dim))
    turn = np.zeros((dim, dim))
    turn[0, 1], turn[1, 0] = -1e-3, 1e-3
    u = (mesh.nodes @ turn.T + 0.5)[mesh.cells].reshape(len(k), -1)
    assert np.abs(np.einsum("eab,eb->ea", k, u)).max() <= 1e-10 * np.abs(k).max() * np.abs(u).max()
    assert np.allclose(k, k.transpose(0, 2, 1), rtol=0, atol=1e-12 * np.abs(k).max())


def test_loads_sum_to_their_resultants() -> None:
    mesh = sector(5, 300.0, 380.0, 0.7, 90.0, (2, 2, 2))
    weight = volume_load(mesh.nodes, mesh.cells, mesh.orders, np.broadcast_to([0.0, 0.0, 2.0], mesh.nodes.shape)).sum(0)
    assert weight == pytest.approx([0, 0, 2.0 * 0.5 * 0.7 * (380**2 - 300**2) * 90], rel=1e-9)
    end = mesh.faces["y_max"]
    pull = face_load(mesh.nodes, end, mesh.face_orders("y_max"), np.broadcast_to([0.0, 0.0, 3.0], (*end.shape, 3))).sum(
        0
    )
    assert pull == pytest.approx([0, 0, 3.0 * 0.5 * 0.7 * (380**2 - 300**2)], rel=1e-9)


def test_rotating_annulus_without_slot_meets_the_closed_form_everywhere() -> None:
    ring = fd.Ring(
        outer_diameter_mm=760, wall_mm=80, pitch_mm=180, slots_around=4, rows="aligned", cutout=fd.Circle(diameter_mm=9)
    )
    mesh = sector(4, 300.0, 380.0, math.pi / 4, 90.0, (3, 1, 2))
    load = rotation(ring, mesh, STEEL).on_quarter(ring, len(mesh.nodes))
    solved = displacements(mesh, STEEL, ring_supports(ring, mesh), load.force[..., None], np.zeros((1, 1)))
    stress = nodal_stress(mesh, solved.u[..., 0] * omega_rad_s(1000) ** 2, STEEL)
    radius = np.hypot(mesh.nodes[:, 0], mesh.nodes[:, 1])
    out = mesh.nodes * [1, 1, 0] / radius[:, None]
    hoop = np.stack([-out[:, 1], out[:, 0], 0 * radius], -1)
    exact = rotating_long_cylinder(
        radius,
        inner_mm=300,
        outer_mm=380,
        density_t_mm3=density_t_mm3(7850),
        omega_rad_s=omega_rad_s(1000),
        youngs_modulus_MPa=206000,
        poissons_ratio=0.3,
    )
    got = {
        "hoop": np.einsum("ni,nij,nj->n", hoop, stress, hoop),
        "radial": np.einsum("ni,nij,nj->n", out, stress, out),
        "axial": stress[:, 2, 2],
    }
    top = exact.hoop.max()
    for name, values in got.items():
        assert np.abs(values - getattr(exact, name)).max() <= 1e-3 * top, name


def test_surface_law_agrees_with_the_full_law_under_pressure() -> None:
    lam, mu = lame(STEEL, 3)
    pressure = 7.0
    e11, e22, e12 = 1e-3, -4e-4, 3e-4
    # the strain through the surface that makes the normal stress -pressure
    e33 = (-pressure - lam * (e11 + e22)) / (lam + 2 * mu)
    trace = e11 + e22 + e33
    full = [lam * trace + 2 * mu * e11, lam * trace + 2 * mu * e22, 2 * mu * e12]
    assert surface_stress(np.array([e11, e22, e12]), pressure, STEEL) == pytest.approx(full, rel=1e-12)


PLATE = fd.Plate(length_mm=300, width_mm=200, thickness_mm=10, cutout=fd.Circle(diameter_mm=60))


@pytest.fixture(scope="module")
def kt() -> float:
    return exact_kt(PLATE.cutout, FinitePlate(length_mm=300, width_mm=200), stress_x=1.0, rel=1e-8).kt


def _error(fineness: Fineness, kt: float) -> float:
    peak = plate_level(PLATE, STEEL, ["tension_x"], fineness).edge.combine([1.0]).peaks().peak
    return abs(float(peak) / kt - 1)


def test_error_falls_with_the_order_as_for_an_analytic_field(kt: float) -> None:
    errors = [_error(Fineness(order=p), kt) for p in (2, 4, 6, 8)]
    assert errors[0] < 5e-2
    for coarse, fine in itertools.pairwise(errors):
        assert fine < 0.15 * coarse, errors


@pytest.mark.parametrize(("order", "least"), [(2, 1.7), (3, 2.7)])
def test_observed_order_of_convergence_with_smaller_cells(order: int, least: float, kt: float) -> None:
    # halve every cell: twice the cells an arc, the square root of the growth, half the first layer
    levels = [Fineness(order=order, cells_per_arc=4 * n, growth=2 ** (1 / n), first_layer=1.5) for n in (1, 2, 4)]
    errors = [_error(f, kt) for f in levels]
    assert math.log(errors[0] / errors[2]) / math.log(4) >= least, errors
