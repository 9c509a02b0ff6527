"""Whirling frequencies by an independent rotor dynamics library: makes and reads whirl_reference.csv.

The library is ROSS (ross-rotordynamics). It is no dependency: it wants an older plotting library than ours. Renew with it in
an environment of its own, beside femdrum:

    pip install ross-rotordynamics==2.3.0 'plotly<6'
    python tests/peers/whirl_reference.py

Both sides get the same nodes, sections, discs and springs, so only their element matrices and eigenvalues differ.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from pathlib import Path

__all__ = ["CASES", "STORED", "Case", "live", "read"]

STORED = Path(__file__).with_name("whirl_reference.csv")
SPEEDS_RPM = (0.0, 1000.0, 4000.0)
MODES = 8


@dataclass(frozen=True)
class Case:
    """Nodes (mm), outer and inner diameter of each element, discs (node, kg, polar and across kg m2), springs (node, N/mm twice)."""

    nodes_mm: tuple[float, ...]
    outer_mm: tuple[float, ...]
    inner_mm: tuple[float, ...]
    discs: tuple[tuple[int, float, float, float], ...]
    springs: tuple[tuple[int, float, float], ...]
    youngs_MPa: float = 206e3
    poisson: float = 0.3
    density_kg_m3: float = 7850.0


def _drum(across: float) -> Case:
    """Stubs, a shell of twelve elements with a disc at each row, a sheave beyond the bearing."""
    stub = (-180.0, 0.0, 100.0, 200.0)
    shell = tuple(200.0 + 150.0 * k for k in range(1, 13))
    end = (2100.0, 2200.0)
    nodes = (*stub, *shell, *end)
    outer = (140.0, 140.0, 180.0, *(800.0,) * 12, 180.0, 140.0)
    inner = (0.0, 0.0, 0.0, *(720.0,) * 12, 0.0, 0.0)
    rows = tuple((3 + k, 55.0, 4.5, 2.4) for k in range(1, 12))
    ends = ((3, 195.0, 12.8, 6.5), (15, 195.0, 12.8, 6.5), (0, 160.0, 8.0, 4.3))
    return Case(nodes, outer, inner, (*rows, *ends), ((1, 4e5, 4e5 * across), (17, 4e5, 4e5 * across)))


CASES: dict[str, Case] = {
    "drum, equal supports": _drum(1.0),
    "drum, unequal supports": _drum(0.55),
    "overhung disc": Case(
        tuple(250.0 * k for k in range(7)), (50.0,) * 6, (0.0,) * 6, ((6, 51.5, 0.805, 0.423),), ((0, 1e4, 1e4), (4, 1e4, 1e4)),
        211e3, 211 / (2 * 81.2) - 1, 7810.0,
    ),
    "hollow stepped shaft": Case(
        (0.0, 150.0, 300.0, 500.0, 700.0, 900.0), (60.0, 80.0, 120.0, 120.0, 70.0), (20.0, 20.0, 90.0, 90.0, 30.0),
        ((2, 30.0, 0.4, 0.25),), ((0, 2e5, 1e5), (5, 2e5, 1e5)),
    ),
}  # fmt: skip


def read() -> list[dict[str, str]]:
    """The stored rows."""
    with STORED.open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def live(case: Case, speed_rpm: float) -> list[float]:
    """Natural frequencies, Hz, of bending by the other library, rising; twist and stretch left out by their shapes."""
    import numpy as np
    import ross

    material = ross.Material(
        name="steel",
        rho=case.density_kg_m3,
        E=1e6 * case.youngs_MPa,
        G_s=1e6 * case.youngs_MPa / (2 * (1 + case.poisson)),
    )
    lengths = [b - a for a, b in zip(case.nodes_mm, case.nodes_mm[1:], strict=False)]
    shaft = [
        ross.ShaftElement(
            L=1e-3 * length, idl=1e-3 * inner, odl=1e-3 * outer, material=material, shear_effects=True, rotary_inertia=True,
            gyroscopic=True,
        )
        for length, outer, inner in zip(lengths, case.outer_mm, case.inner_mm, strict=True)
    ]  # fmt: skip
    discs = [ross.DiskElement(n=n, m=m, Ip=polar, Id=across) for n, m, polar, across in case.discs]
    bearings = [ross.BearingElement(n=n, kxx=1e3 * k, kyy=1e3 * c, cxx=0, cyy=0) for n, k, c in case.springs]
    rotor = ross.Rotor(shaft, discs, bearings)
    spin = speed_rpm * math.pi / 30
    mass, gyro, stiff = rotor.M(), rotor.G(), rotor.K(spin)
    # six unknowns a node: across (x, y), along, tilt about x and y, twist; the bending ones only
    dofs = len(mass) // len(case.nodes_mm)
    keep = [dofs * node + k for node in range(len(case.nodes_mm)) for k in ((0, 1, 3, 4) if dofs == 6 else range(4))]
    mass, gyro, stiff = (np.asarray(m)[np.ix_(keep, keep)] for m in (mass, gyro, stiff))
    zero, one = np.zeros_like(mass), np.eye(len(mass))
    state = np.block([[zero, one], [-np.linalg.solve(mass, stiff), -spin * np.linalg.solve(mass, gyro)]])
    values = np.linalg.eigvals(state).imag
    return sorted(float(v) / (2 * math.pi) for v in values if v > 1e-6)[:MODES]


def _write() -> None:
    import ross

    with STORED.open("w", encoding="utf-8", newline="") as out:
        out.write(
            f"# Natural frequencies of bending, Hz, by ROSS {ross.__version__}; regenerate: python tests/peers/whirl_reference.py\n"
        )
        table = csv.writer(out, lineterminator="\n")
        table.writerow(["case", "speed_rpm", *[f"f{k}_Hz" for k in range(MODES)]])
        for name, case in CASES.items():
            for speed in SPEEDS_RPM:
                table.writerow([name, f"{speed:g}", *[f"{f:.10g}" for f in live(case, speed)]])


if __name__ == "__main__":
    _write()
