"""How a ring vibrates: plain tubes against closed forms, rigid motions, and modes against each other."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from blocks import sector

import femdrum as fd
from femdrum.fem.copies import glued
from femdrum.fem.dynamic_cell import cell_matrices
from femdrum.fem.mesh import Mesh
from femdrum.fem.modes import FreeSector
from femdrum.fem.quarter import quarter
from femdrum.fem.symmetry import Parity, mirror_plan
from femdrum.units import density_t_mm3

STEEL = fd.steel("S355")
RHO = density_t_mm3(STEEL.density_kg_m3)
E, NU = STEEL.youngs_modulus_MPa, STEEL.poissons_ratio


def tube(
    wall_mm: float, length_mm: float, cells: tuple[int, int, int], order: int = 4, **more: Any
) -> tuple[fd.Ring, Mesh]:
    """A ring whose slots are left out of the mesh: a plain tube of mid-wall radius 300, two sectors of a quarter turn."""
    ring = fd.Ring(
        outer_diameter_mm=600 + wall_mm, wall_mm=wall_mm, pitch_mm=length_mm, slots_around=2, rows="aligned",
        cutout=fd.Circle(diameter_mm=0.1 * length_mm if length_mm < 600 else 60), **more,
    )  # fmt: skip
    return ring, sector(order, ring.inner_radius_mm, ring.outer_radius_mm, 0.5 * math.pi, 0.5 * length_mm, cells)


def sector_of(ring: fd.Ring, mesh: Mesh, parity: Parity) -> FreeSector:
    """The moving system of one parity."""
    plan = mirror_plan(ring)
    cell = quarter(mesh, STEEL, np.zeros((len(mesh.nodes), 3, 1)))
    copies = glued(ring, mesh, plan.sectors, plan.halves)
    return FreeSector(plan, cell, copies, parity, cell_matrices(mesh, STEEL, cell.frame), STEEL)


def thin_ring_rad_s(n: int, wall_mm: float) -> float:
    """In-plane bending of a thin ring without stretch, n waves around: memory, textbooks on vibration give
    omega^2 = E I n^2 (n^2 - 1)^2 / (rho A R^4 (n^2 + 1)). No shear, no rotary inertia, so good to about (n wall / R)^2. The far
    faces of a ring of the drum stay plane, so that its wall bends as a plate: E / (1 - nu^2).
    """
    stiff = E / (1 - NU**2) * wall_mm**2 / 12
    return math.sqrt(stiff * n**2 * (n**2 - 1) ** 2 / (RHO * 300.0**4 * (n**2 + 1)))


@pytest.mark.parametrize(
    ("n", "parity", "index"), [(2, (1, 1, 1), 0), (2, (-1, -1, 1), 1), (3, (1, -1, 1), 1), (3, (-1, 1, 1), 1)]
)
def test_ovalling_of_a_plain_ring(n: int, parity: Parity, index: int) -> None:
    off = []
    for wall in (6.0, 12.0, 24.0):
        ring, mesh = tube(wall, 20.0, (8, 1, 1))
        off.append(sector_of(ring, mesh, parity).modes(6).omega[index] / thin_ring_rad_s(n, wall) - 1)
    assert abs(off[0]) < 6e-4
    # shear and rotary inertia: a thick ring is slower, by the square of the wall
    assert off[2] < off[1] < off[0] < 1e-5
    assert off[2] / off[1] == pytest.approx(4.0, rel=0.05)
    assert abs(off[2]) < (n * 24 / 300) ** 2


def test_ring_that_breathes() -> None:
    """Uniform hoop stretch, free along the axis: omega^2 = E / (rho R^2) for a thin short ring."""
    ring, mesh = tube(3.0, 6.0, (8, 1, 1))
    omega = sector_of(ring, mesh, (1, 1, 1)).modes(14).omega
    breath = math.sqrt(E / RHO) / 300
    assert np.abs(omega / breath - 1).min() < 1e-3


def test_tube_that_twists_with_free_ends() -> None:
    """Half a wave of twist over the length, exact for any wall: f = c / (2 L), c^2 = G / rho. The ends turn as wholes."""
    ring, mesh = tube(40.0, 900.0, (2, 2, 1), order=5)
    moving = sector_of(ring, mesh, (-1, -1, -1))
    assert moving.motion_names == ("torsion",)
    first = math.sqrt(E / (2 * (1 + NU)) / RHO) / 1800
    assert np.abs(moving.modes(12).omega / (2 * math.pi * first) - 1).min() < 1e-7
    ring, mesh = tube(40.0, 900.0, (2, 2, 1), order=5, held="all")
    held = sector_of(ring, mesh, (-1, -1, -1))
    assert held.motion_names == ()
    # held ends: a wave over the half length
    shapes = held.modes(12).omega / (2 * math.pi)
    assert np.abs(shapes / (2 * first) - 1).min() < 1e-7


def test_tube_that_stretches_with_free_ends() -> None:
    """Half a wave of stretch: f = c / (2 L), c^2 = E / rho, slower by (nu pi R / L)^2 / 2 (Rayleigh, from memory)."""
    ring, mesh = tube(20.0, 9000.0, (2, 8, 1), order=4)
    moving = sector_of(ring, mesh, (1, 1, 1))
    omega = moving.modes(12).omega
    rod = math.pi * math.sqrt(E / RHO) / 9000
    expected = rod * (1 - 0.5 * (NU * math.pi * 300 / 9000) ** 2)
    assert np.abs(omega / expected - 1).min() < 2e-4
    assert np.abs(omega / rod - 1).min() > 2e-4


def test_beam_that_bends_with_free_ends() -> None:
    """First bending of a long free tube: (4.7300 / L)^2 sqrt(E I / rho A), slower by shear and rotary inertia."""
    ring, mesh = tube(60.0, 12_000.0, (2, 8, 1), order=4)
    omega = sector_of(ring, mesh, (1, -1, 1)).modes(12).omega
    second_moment = 0.25 * (330.0**4 - 270.0**4) / (330.0**2 - 270.0**2)
    slender = (4.730041 / 12_000) ** 2 * math.sqrt(E / RHO * second_moment)
    assert omega[0] == 0
    assert 0.95 < omega[1] / slender < 0.99


@pytest.mark.parametrize(
    ("parity", "names"),
    [((1, -1, 1), ("x",)), ((-1, 1, 1), ("y",)), ((1, 1, -1), ("z",)), ((-1, -1, 1), ("turn",)), ((1, 1, 1), ())],
)
def test_rigid_motions_cost_nothing_and_weigh_what_the_ring_weighs(parity: Parity, names: tuple[str, ...]) -> None:
    ring, mesh = tube(40.0, 200.0, (3, 1, 1))
    moving = sector_of(ring, mesh, parity)
    assert moving.rigid_names == names
    area = math.pi * (ring.outer_radius_mm**2 - ring.inner_radius_mm**2)
    for name in names:
        field = moving.rigid(name)
        assert np.abs(moving.stiffness @ field).max() < 1e-9 * abs(moving.stiffness).max() * np.abs(field).max()
        heavy = 8 * field @ moving.mass @ field
        gyration = 0.5 * (ring.outer_radius_mm**2 + ring.inner_radius_mm**2) if name == "turn" else 1.0
        assert heavy == pytest.approx(RHO * area * 200 * gyration, rel=1e-7)
    modes = moving.modes(10)
    assert modes.rigid == len(names)
    assert (modes.omega[: modes.rigid] == 0).all()
    assert (modes.omega[modes.rigid :] > 100).all()


def test_modes_are_square_to_each_other() -> None:
    ring, mesh = tube(40.0, 200.0, (3, 2, 1))
    moving = sector_of(ring, mesh, (-1, 1, 1))
    modes = moving.modes(20)
    mass = modes.shape.T @ moving.mass @ modes.shape
    stiff = modes.shape.T @ moving.stiffness @ modes.shape
    assert np.abs(mass - np.eye(20)).max() < 1e-10
    assert np.abs(stiff - np.diag(modes.omega**2)).max() < 1e-8 * modes.omega[-1] ** 2
    assert modes.residual < 1e-8
