"""Independent reference for the slotted ring under torsion, bending, wedge clamp and pressure on one flank.

Curved tetrahedra of a general finite element library, as in ring_reference.py, whose mesh and sampling serve here
too; no code is shared with femdrum. Ring: two aligned slots a row, endless drum of equal rows, slots cut straight
along the radius through their middle (flat parallel flanks), sharp rims.

What is solved is an eighth of one row (angle 0 to 90 degrees from slot 0's middle, z 0 to half the pitch) with the
parity of the load about the planes theta = 0 (plane y = 0), theta = 90 degrees (plane x = 0) and z = 0:

| load | about theta 0, 90, z 0 | at z = pitch / 2 | factor 1 |
| torsion | A A A | u = phi (-y, x), u_z free | torque 1e6 N mm about +Z on the face looking to +Z |
| bending_x | S A S | u_z = kappa x, in-plane free | moment 1e6 N mm, tension at +X, that is at slot 0 |
| bending_y | A S S | u_z = kappa y, in-plane free | moment 1e6 N mm, tension at +Y, 90 degrees from slot 0 |
| clamp | S S S | u_z constant, net axial force zero | 1 MPa on leading and trailing flank of every slot |
| flank | a quarter of each of SSS, SAS, ASS, AAS | constant; kappa x; kappa y; 0, without net force or moment | 1 MPa on the leading flank of slot 0 in every row |

S: u normal to the plane is zero; A: u in the plane is zero. phi and kappa follow from torque and moment, which are
the work of the nodal reactions (exact on the mesh). A parity's free rigid motion is held at one node without reaction.

Pressure: uniform through the wall; along the flat flank 1 in the middle, and half a cosine down to 0 over a sixth
of the flat length at each of its ends. The net force and torque of the flank load are balanced by inertia relief:
body force -rho (a + alpha x r) with a = force / mass of one row and alpha = torque / polar moment of mass of one row.

Stress: in-surface strain and the known traction (none, or the pressure) give the stress on a surface; on a free rim
the strain along the rim does. On the pressed wall minus the pressure counts as a principal stress.

Run `python tests/peers/ring_loads_reference.py` to rebuild ring_loads_reference.csv, row by row
(`--only "torsion 12" ...` for some rows, `--missing` for those not yet there). Needs the `peers` extra.
"""

from __future__ import annotations

import argparse
import csv
import gc
import itertools
import math
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import ring_reference as base
from ring_reference import Discretisation, Extreme, Geometry

CSV = Path(__file__).with_name("ring_loads_reference.csv")
YOUNG, NU = base.YOUNG, base.NU  # MPa, -
FACTOR = {"torsion": 1e6, "bending_x": 1e6, "bending_y": 1e6, "clamp": 1.0, "flank": 1.0}
UNIT = {"torsion": "N mm", "bending_x": "N mm", "bending_y": "N mm", "clamp": "MPa", "flank": "MPa"}
TAPER = 1 / 6  # of the flat length, at each of its ends
ALIKE = {
    "torsion": "every",
    "bending_y": "every",
    "clamp": "every",
}  # loads under which all slots have the same extremes
SIGN = {"S": 1, "A": -1}
RINGS = {
    12.0: Geometry(380, 40, 180, 2, 60, 120, 12.0, "aligned"),
    30.0: Geometry(380, 40, 180, 2, 60, 120, 30.0, "aligned"),
}


@dataclass(frozen=True)
class Result:
    """Extremes of one slot: on its wall, rims included, and on bore and outer surface within a corner radius of a rim."""

    wall_tension: Extreme
    wall_compression: Extreme
    near_tension: Extreme
    near_compression: Extreme

    @property
    def tension(self) -> Extreme:
        """Largest principal tension of both."""
        return max(self.wall_tension, self.near_tension, key=lambda e: e.value)

    @property
    def compression(self) -> Extreme:
        """Largest principal compression of both, negative."""
        return min(self.wall_compression, self.near_compression, key=lambda e: e.value)

    @property
    def peak(self) -> Extreme:
        """The larger in magnitude; tension where they are equal but for rounding."""
        t, c = self.tension, self.compression
        return t if t.value >= (1 - 1e-6) * -c.value else c


@dataclass
class Solution:
    """Results by slot ("0", "1" or "every"), and what came out on the way, by name."""

    results: dict[str, Result]
    figures: dict[str, float]
    unknowns: int
    elements: int
    seconds: float


@dataclass(frozen=True)
class Part:
    """A state of pure parity (about theta = 0, theta = 90 degrees, z = 0) and its share of the load."""

    parity: str
    share: float
    strains: dict[str, np.ndarray]  # by surface


def patch(g: Geometry) -> tuple[float, float]:
    """Extent and taper (mm) of the pressure on a flank."""
    flat = g.axial - 2 * g.r
    return flat, TAPER * flat


def force_of_patch(g: Geometry) -> float:
    """Resultant (N) of 1 MPa on one flank."""
    extent, taper = patch(g)
    a = 0.5 * g.around
    return (extent - taper) * (math.sqrt(g.outer_radius**2 - a**2) - math.sqrt(g.bore**2 - a**2))


def discretisation(g: Geometry, order: int = 5, per_arc: float | None = None) -> Discretisation:
    """Sizes for so many elements a corner arc; without a number those for a quick look: seconds, and 0.1 % off."""
    d = base.default_discretisation(g, order, per_arc or (3.5 if g.r <= 15 else 4.5))
    return replace(d, flank=min(d.flank, patch(g)[1]))


def ladder(g: Geometry) -> tuple[Discretisation, Discretisation, Discretisation]:
    """Coarse mesh at order 5, fine mesh at order 4, fine mesh at order 5."""
    coarse, fine = (4.5, 6.5) if g.r <= 15 else (6.0, 9.0)
    return tuple(discretisation(g, order, n) for order, n in ((5, coarse), (4, fine), (5, fine)))


class Cell:
    """The meshed eighth of a row, its samples on the surfaces, and solves by parity."""

    def __init__(self, g: Geometry, d: Discretisation) -> None:
        self.g, self.d = g, d
        self.mesh = base.build_mesh(g, d)
        self.figures: dict[str, float] = {}
        self.unknowns = 0

    def space(self, parity: str):
        """Displacements of that parity, zero at the end plane where it will be moved or held."""
        import ngsolve as ng

        held: dict[str, list[str]] = {"x": [], "y": [], "z": []}
        for plane, normal, kind in zip(("start", "end", "bottom"), "yxz", parity, strict=True):
            for axis in normal if kind == "S" else "xyz".replace(normal, ""):
                held[axis].append(plane)
        for axis in "z" if parity[2] == "S" else "xy":
            held[axis].append("top")
        return ng.VectorH1(self.mesh, order=self.d.order, **{f"dirichlet{k}": "|".join(v) for k, v in held.items()})

    def free(self, space, parity: str):
        """Free unknowns, less one that holds the parity's rigid motion; and that motion's direction field."""
        import ngsolve as ng

        free = ng.BitArray(space.FreeDofs(True))
        motion = {"SAS": (1, 0, 0), "ASS": (0, 1, 0), "AAS": (-ng.y, ng.x, 0)}.get(parity)
        if motion is None:
            return free, None
        points = np.array([v.point for v in self.mesh.vertices])
        # far from the slot, on the plane x = 0; the rotation is held on y = 0, at the outer surface of the end plane
        aim = (self.g.outer_radius, 0, self.g.height) if parity == "AAS" else (0, self.g.outer_radius, self.g.height)
        vertex = int(np.argmin(np.linalg.norm(points - aim, axis=1)))
        unknown = space.Range(0 if parity == "SAS" else 1).start + vertex
        if not free[unknown]:
            raise RuntimeError("the unknown to be held is not free")
        free[unknown] = False
        return free, motion

    def pressure(self):
        """Pressure on the leading flank by z; zero beyond the flat."""
        import ngsolve as ng

        extent, taper = patch(self.g)
        beyond = ng.z - (0.5 * extent - taper)
        falling = ng.IfPos(beyond - taper, 0.0, 0.5 * (1 + ng.cos(math.pi * beyond / taper)))
        return ng.IfPos(beyond, falling, 1.0)

    def solve(self, parity: str, *, pressed: bool):
        """Strain fields for the load on the end plane (`moved`), or for the flank's pressure with that plane free as a whole.

        Returns the gridfunction and the total stiffness of the end plane's motion over the full ring.
        """
        import ngsolve as ng

        mesh, order = self.mesh, self.d.order
        space = self.space(parity)
        self.unknowns = space.ndof
        trial, test = space.TnT()
        lam, mu = YOUNG * NU / ((1 + NU) * (1 - 2 * NU)), YOUNG / (2 * (1 + NU))
        eu, ev = strain(trial), strain(test)
        form = ng.BilinearForm(space, symmetric=True, condense=True)
        form += (2 * mu * ng.InnerProduct(eu, ev) + lam * ng.Trace(eu) * ng.Trace(ev)) * ng.dx
        free, motion = self.free(space, parity)
        end = {"AAA": {0: -ng.y, 1: ng.x}, "SAS": {2: ng.x}, "ASS": {2: ng.y}, "SSS": {2: ng.CF(1.0)}, "AAS": {}}[
            parity
        ]
        with ng.TaskManager():
            form.Assemble()
            inverse = form.mat.Inverse(free, inverse="sparsecholesky")
            moved = ng.GridFunction(space)
            stiffness = 0.0
            if end:
                for component, shape in end.items():
                    moved.components[component].Set(shape, definedon=mesh.Boundaries("top"))
                base._solve(form, inverse, moved, None)
                # reactions times displacements, of four quarters of the end plane
                reaction = moved.vec.CreateVector()
                reaction.data = form.mat * moved.vec
                stiffness = 4 * float(ng.InnerProduct(reaction, moved.vec))
            if not pressed:
                return moved, stiffness
            load = ng.LinearForm(self.pressure() * test[1] * ng.ds("slot", bonus_intorder=2 * order)).Assemble()
            if motion is not None:
                self.balance(space, load, parity, motion)
            spun = ng.GridFunction(space)
            base._solve(form, inverse, spun, load.vec)
            if end:
                factor = 4 * float(ng.InnerProduct(load.vec, moved.vec)) / stiffness
                spun.vec.data += factor * moved.vec
        return spun, stiffness

    def balance(self, space, load, parity: str, motion) -> None:
        """Inertia relief: take off the uniform or angular acceleration that the load's resultant gives one row."""
        import ngsolve as ng

        test = space.TestFunction()
        rigid = ng.GridFunction(space)
        rigid.Set(ng.CF(motion))
        inertia = ng.LinearForm(ng.CF(motion) * test * ng.dx(bonus_intorder=4)).Assemble()
        resultant, mass = (4 * float(ng.InnerProduct(v.vec, rigid.vec)) for v in (load, inertia))
        load.vec.data -= resultant / mass * inertia.vec
        # over the full ring and at full share: a quarter of the load is of this parity, in every quarter of the ring
        if parity == "ASS":
            self.figures |= {"force_N": 0.5 * resultant, "volume_mm3": 2 * mass}
        if parity == "AAS":
            self.figures |= {"torque_Nmm": 0.5 * resultant, "polar_mm5": 2 * mass}


def strain(u):
    """Small strain of a displacement."""
    import ngsolve as ng

    return 0.5 * (ng.Grad(u) + ng.Grad(u).trans)


PARITIES = {
    "torsion": ["AAA"],
    "bending_x": ["SAS"],
    "bending_y": ["ASS"],
    "clamp": ["SSS"],
    "flank": ["SSS", "SAS", "ASS", "AAS"],
}


def reference(g: Geometry, load: str, disc: Discretisation) -> Solution:
    """Solve one load on one mesh."""
    import ngsolve as ng

    started = time.perf_counter()
    cell = Cell(g, disc)
    pressed = load in ("clamp", "flank")
    samples, parts = {}, []
    for parity in PARITIES[load]:
        u, stiffness = cell.solve(parity, pressed=pressed)
        share = 0.25 if load == "flank" else 1.0 if pressed else FACTOR[load] / stiffness
        if not pressed:
            # torque or moment over twist or curvature of the mean drum
            cell.figures["stiffness_Nmm2"] = stiffness * g.height
        strains = {}
        for surface, region in (("slot", "slot|slot_arc"), ("bore", "bore"), ("outer", "outer")):
            place, normal, fields = base._surface(cell.mesh, region, disc.order, (u,), strain)
            samples[surface] = (place, normal)
            strains[surface] = fields[0]
        parts.append(Part(parity, share, strains))
        del u
        gc.collect()
    if pressed:
        with ng.TaskManager():
            area = ng.Integrate(
                cell.pressure() * ng.specialcf.normal(3)[1] * ng.ds("slot", bonus_intorder=20), cell.mesh
            )
        cell.figures["patch_N"] = -2 * area  # of both halves of the flank
    results = extremes(g, load, samples, parts)
    return Solution(results, cell.figures, cell.unknowns, cell.mesh.ne, time.perf_counter() - started)


def extremes(g: Geometry, load: str, samples, parts: list[Part]) -> dict[str, Result]:
    """Extremes of every slot, over the mirror images of the solved eighth."""
    found: dict[str, list[tuple[str, bool, Extreme]]] = {}
    for image in itertools.product((0, 1), repeat=3):
        signs = [math.prod(SIGN[p] ** e for p, e in zip(part.parity, image, strict=True)) for part in parts]
        if image[2] == 1 and all(part.parity[2] == "S" for part in parts):
            continue  # the same as the half that was seen
        slot = ALIKE.get(load, str(image[1]))
        pressed = load == "clamp" or (load == "flank" and image[:2] == (0, 0))
        for surface, (place, normal) in samples.items():
            eps = sum(s * part.share * part.strains[surface] for s, part in zip(signs, parts, strict=True))
            points, values = principal(g, place, normal, eps, surface == "slot", pressed)
            near = base._offset(g, points)[0] <= g.r
            for largest, column in ((True, 2), (False, 0)):
                stress = values[:, column] if largest else -values[:, column]
                i = int(np.argmax(np.where(near | (surface == "slot"), stress, -np.inf)))
                found.setdefault(slot, []).append(
                    (surface, largest, extreme(g, values[i, column], points[i], image, surface))
                )
    results = {}
    for slot, items in sorted(found.items()):
        wall_or_near = []
        for on_wall in (True, False):
            for largest in (True, False):
                mine = [e for s, high, e in items if high == largest and (s == "slot") == on_wall]
                wall_or_near.append((max if largest else min)(mine, key=lambda e: e.value))
        results[slot] = Result(*wall_or_near)
    return results


def extreme(g: Geometry, value: float, point, image, surface: str) -> Extreme:
    """Place as seen from its slot's middle: the angle counts in the sense of rotation."""
    x, y, z = point
    theta = math.degrees(math.atan2(y, x)) * (-1) ** (image[0] + image[1])
    return Extreme(float(value), theta, float(z) * (-1) ** image[2], g.outer_radius - math.hypot(x, y), surface)


def x_of(g: Geometry, e: Extreme) -> float:
    """Distance (mm) from the plane through the axis and the slot's middle: half the width on a flank."""
    return (g.outer_radius - e.depth) * math.sin(math.radians(e.theta_deg))


def at_reach(g: Geometry, x: float, y: float) -> bool:
    """Whether a place lies where the search on bore and outer surface ends, so that its stress is no peak of the slot's."""
    a, b = 0.5 * g.around - g.r, 0.5 * g.axial - g.r
    return math.hypot(max(abs(x) - a, 0.0), max(abs(y) - b, 0.0)) - g.r > 0.9 * g.r


def principal(g: Geometry, place, normal, eps, wall: bool, pressed: bool):
    """Places and their three principal stresses, rising, averaged where faces meet.

    wall: the places are on the slot's wall. pressed: its leading flank is under pressure.
    """
    extent, taper = patch(g)
    rim, along = base._rims(g, place, normal)
    offset, outward = base._offset(g, place)
    beyond = np.abs(place[:, 2]) - (0.5 * extent - taper)
    push = np.where(beyond <= 0, 1.0, np.where(beyond < taper, 0.5 * (1 + np.cos(math.pi * beyond / taper)), 0.0))
    push = np.where((np.abs(offset) < 1e-3) & (np.abs(place[:, 1] - 0.5 * g.around) < 1e-3), push, 0.0) * pressed
    across = np.eye(3) - normal[:, :, None] * normal[:, None, :]
    flat = across @ eps @ across
    stress = YOUNG / (1 - NU**2) * ((1 - NU) * flat + NU * np.trace(flat, axis1=1, axis2=2)[:, None, None] * across)
    # flank and cylinders do not meet at a right angle: on a pressed rim the stress across the rim depends on the side
    # it is approached from, and each surface keeps its own limit
    rim &= push == 0
    if not wall:
        push = 0.0 * push
    stress = stress - (NU / (1 - NU) * push)[:, None, None] * across
    stretch = np.einsum("pi,pij,pj->p", along, eps, along)
    uniaxial = (YOUNG * stretch)[:, None, None] * along[:, :, None] * along[:, None, :]
    stress = np.where(rim[:, None, None], uniaxial, stress)
    stress = stress - push[:, None, None] * outward[:, :, None] * outward[:, None, :]
    unique, inverse = np.unique(np.round(place, 5) + 0.0, axis=0, return_inverse=True)
    inverse = inverse.ravel()
    count = np.bincount(inverse).astype(float)
    mean = np.stack([np.bincount(inverse, stress[:, i, j]) / count for i in range(3) for j in range(3)], axis=1)
    return unique, np.linalg.eigvalsh(mean.reshape(-1, 3, 3))


HEAD = """\
# Slotted ring under torsion, bending, wedge clamp and pressure on one flank: largest principal stress at the slots, by an
# independent finite element library. Provenance: computed with the versions in the last column, curved tetrahedra of order 5;
# regenerate with `python tests/peers/ring_loads_reference.py`, whose head says what is solved. Invented geometry. Shares no code with femdrum.
# Model: endless drum of equal aligned rows, slots cut straight along the radius through their middle, flat parallel flanks, sharp
# rims (edge break 0), E 206000 MPa, nu 0.3; an eighth of one row with the load's parity, or the sum of four parities (flank).
# torsion: torque 1e6 N mm about +Z. bending_x, bending_y: constant moment 1e6 N mm, tension at +X (slot 0) / at +Y (90 degrees on).
# clamp: 1 MPa on leading and trailing flank of every slot of every row, end plane stays plane, net axial force zero.
# flank: 1 MPa on the leading flank (x = +30) of slot 0 of every row; force and torque balanced by inertia relief of one row
# (-rho (a + alpha x r)); end plane stays plane without axial force or moment.
# Pressure patch of clamp and flank: extent_mm along the flat flank about mid-row, taper_mm at each of its ends (half a cosine), uniform
# through the wall; patch_N: its resultant on one flank at 1 MPa, so that clamp stress per N on each flank is the value over patch_N.
# peak, tension, compression: on the slot's wall (rims included) and on bore and outer surface within one corner radius of the
# rim; wall_*: on the wall alone. Minus the pressure counts as principal stress of the pressed wall. slot "every": the same extremes at all slots.
# Place of the peak: x_mm from the plane through axis and slot's middle, positive in the sense of rotation, theta_deg likewise
# from the slot's middle; y_mm from mid-row along +Z; depth_mm from outside. One of the places that the load's parity makes equal.
# at_reach "yes": the peak lies where that search ends, it is the shell's stress growing away from the slot; judge by wall_* there.
# *_err_MPa: larger of |finer - coarser mesh| at order 5 and half of |order 5 - order 4| on the finer mesh; own_error: that of the peak over the peak.
# stiffness_Nmm2: torque over twist per length, moment over curvature. volume_mm3, polar_mm5: of one row, as meshed (inertia relief).
"""
VALUES = ("peak", "tension", "compression", "wall_tension", "wall_compression")
FIGURES = ("stiffness_Nmm2", "patch_N", "force_N", "torque_Nmm", "volume_mm3", "polar_mm5")
COLUMNS = (
    ["load", "corner_radius_mm", "slot", "factor", "factor_unit", "outer_radius_mm", "wall_mm", "pitch_mm"]
    + ["slots_around", "around_mm", "axial_mm", "rows", "extent_mm", "taper_mm"]
    + ["peak_MPa", "own_error", "x_mm", "y_mm", "depth_mm", "theta_deg", "surface", "at_reach"]
    + [f"{v}_{w}" for v in VALUES[1:] for w in ("MPa", "err_MPa")]
    + [*FIGURES, "unknowns_coarse", "unknowns", "seconds", "how", "versions"]
)


def rows_of(load: str, g: Geometry) -> list[dict[str, object]]:
    """Run the ladder for one load: a row per slot."""
    from importlib.metadata import version

    steps = []
    for disc in ladder(g):
        steps.append(reference(g, load, disc))
        gc.collect()
        last = steps[-1]
        peaks = {slot: round(r.peak.value, 6) for slot, r in last.results.items()}
        print(
            f"{load} {g.r:g}: order {disc.order}, {last.unknowns} unknowns, {last.seconds:.1f} s, {peaks}",
            file=sys.stderr,
            flush=True,
        )
    coarse, lower, best = steps
    rows = []
    for slot, result in best.results.items():
        row: dict[str, object] = {
            "load": load, "corner_radius_mm": f"{g.r:g}", "slot": slot, "factor": f"{FACTOR[load]:g}", "factor_unit": UNIT[load],
            "outer_radius_mm": g.outer_radius, "wall_mm": g.wall, "pitch_mm": g.pitch, "slots_around": g.slots,
            "around_mm": g.around, "axial_mm": g.axial, "rows": g.rows,
        }  # fmt: skip
        if load in ("clamp", "flank"):
            extent, taper = patch(g)
            row |= {"extent_mm": f"{extent:g}", "taper_mm": f"{taper:g}"}
        errors = {}
        for what in VALUES:
            value = getattr(result, what).value
            others = [getattr(s.results[slot], what).value for s in (coarse, lower)]
            errors[what] = max(abs(value - others[0]), 0.5 * abs(value - others[1]))
            row |= {f"{what}_MPa": f"{value:.6g}", f"{what}_err_MPa": f"{errors[what]:.2g}"}
        peak = result.peak
        row["own_error"] = f"{errors['peak'] / abs(peak.value):.1e}"
        row |= {"x_mm": f"{x_of(g, peak):.3f}", "y_mm": f"{peak.z:.3f}", "depth_mm": f"{abs(peak.depth):.2f}"}
        row |= {"theta_deg": f"{peak.theta_deg:.3f}", "surface": {"slot": "wall"}.get(peak.surface, peak.surface)}
        row["at_reach"] = "yes" if at_reach(g, x_of(g, peak), peak.z) else "no"
        row |= {name: f"{best.figures[name]:.8g}" for name in FIGURES if name in best.figures}
        row |= {"unknowns_coarse": coarse.unknowns, "unknowns": best.unknowns}
        row["seconds"] = f"{sum(s.seconds for s in steps):.0f}"
        row["how"] = f"order 5; {coarse.elements} and {best.elements} elements; order 4 on the finer"
        row["versions"] = f"ngsolve {version('ngsolve')}; netgen-mesher {version('netgen-mesher')}"
        rows.append({c: row.get(c, "") for c in COLUMNS})
    return rows


JOBS = {f"{load} {radius:g}": (load, g) for load in FACTOR for radius, g in RINGS.items()}


def job_of(row) -> str:
    """Name of the run that gave a stored row."""
    return f"{row['load']} {row['corner_radius_mm']}"


def write(rows) -> None:
    """Write the csv, runs in the order of JOBS."""
    order = list(JOBS)
    rows = sorted(rows, key=lambda r: (order.index(job_of(r)), str(r["slot"])))
    with CSV.open("w", newline="", encoding="utf-8") as out:
        out.write(HEAD)
        writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def read() -> list[dict[str, str]]:
    """Stored rows as text."""
    with CSV.open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def main() -> None:
    parser = argparse.ArgumentParser(description="Rebuild ring_loads_reference.csv")
    parser.add_argument("--only", nargs="*", default=list(JOBS), choices=list(JOBS), metavar="NAME")
    parser.add_argument("--missing", action="store_true", help="leave out what is stored")
    parser.add_argument("--threads", type=int, default=1)
    args = parser.parse_args()
    import ngsolve as ng

    ng.SetNumThreads(args.threads)
    for name in args.only:
        stored = read() if CSV.exists() else []
        if args.missing and any(job_of(r) == name for r in stored):
            continue
        load, g = JOBS[name]
        new = rows_of(load, g)
        stored = read() if CSV.exists() else []
        write([*(r for r in stored if job_of(r) != name), *new])


if __name__ == "__main__":
    main()
