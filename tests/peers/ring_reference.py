"""Independent reference for the slotted ring: high-order curved tetrahedra of a general finite element library.

Shares no code with femdrum. One symmetric cell of a long drum of equal rows, slots cut straight along the
radius through their middle (flat parallel flanks), sharp rims. Two unit solutions (load with the end
plane held, unit stretch of the end plane without load) are added so that the net axial force is as given.

On traction-free surfaces the in-surface strain and the plane-stress law give the stress; on a rim, where
two free surfaces meet, the strain along the rim and the uniaxial law.

Run `python tests/peers/ring_reference.py` to rebuild ring_reference.csv (`--only "A aligned" ...` for some rows).
Needs the `peers` extra.
"""

from __future__ import annotations

import argparse
import csv
import gc
import math
import sys
import time
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

CSV = Path(__file__).with_name("ring_reference.csv")
YOUNG, NU, RHO, RPM = 206_000.0, 0.3, 7850.0, 1000.0  # MPa, -, kg/m3, 1/min
COARSER = (
    1.5  # alternate rows: the cell's second slot is the first one's twin by symmetry; results are read at the first
)
OMEGA2 = (2 * math.pi * RPM / 60) ** 2


@dataclass(frozen=True)
class Geometry:
    """One ring: sizes in mm, radius a number or "full"."""

    outer_radius: float
    wall: float
    pitch: float
    slots: int
    around: float
    axial: float
    radius: float | str
    rows: str

    @property
    def bore(self) -> float:
        return self.outer_radius - self.wall

    @property
    def r(self) -> float:
        return 0.5 * min(self.around, self.axial) if self.radius == "full" else float(self.radius)

    @property
    def angle(self) -> float:
        return math.pi / self.slots

    @property
    def height(self) -> float:
        return 0.5 * self.pitch if self.rows == "aligned" else self.pitch


@dataclass(frozen=True)
class Discretisation:
    """Polynomial order and target sizes (mm): slot's corner arc, its rims, slot's flanks, their rims, rest."""

    order: int
    arc: float
    rim: float
    flank: float
    flank_rim: float
    rest: float
    grading: float = 0.4
    curvature: float = 2.0  # the mesher's own refinement at curved faces

    def finer(self, factor: float) -> Discretisation:
        sizes = {name: getattr(self, name) / factor for name in ("arc", "rim", "flank", "flank_rim", "rest")}
        return replace(self, **sizes)


@dataclass(frozen=True)
class Extreme:
    """A principal stress with its place: angle from the first slot's middle, height from mid-row, depth from outside."""

    value: float
    theta_deg: float
    z: float
    depth: float
    surface: str


@dataclass(frozen=True)
class Result:
    """Extremes on the slot's wall (rims included), and on bore and outer surface within one corner radius of a rim."""

    load: str
    tension: Extreme
    compression: Extreme
    bore_outer_tension: Extreme
    bore_outer_compression: Extreme
    all_tension: Extreme  # anywhere on bore and outer surface
    all_compression: Extreme


@dataclass
class Solution:
    results: dict[str, Result]
    unknowns: int
    elements: int
    seconds: dict[str, float] = field(default_factory=dict)


def default_discretisation(g: Geometry, order: int = 4, per_arc: float = 4.0) -> Discretisation:
    arc = min(0.5 * math.pi * g.r / per_arc, 1.6 * g.wall / per_arc)
    flank = max(arc, 1.6 * g.wall / per_arc)
    return Discretisation(order, arc, 0.5 * arc, flank, 0.5 * flank, min(5 * g.wall / per_arc, 0.25 * g.pitch))


def build_mesh(g: Geometry, d: Discretisation):
    """Curved tetrahedral mesh of the cell."""
    from netgen.occ import Axes, OCCGeometry, WorkPlane, X, Z
    from ngsolve import Mesh

    alpha, height = g.angle, g.height
    deg = math.degrees(alpha)
    plane = WorkPlane(Axes((0, 0, 0), n=Z, h=X))
    plane.MoveTo(g.bore, 0).Line(g.wall).Rotate(90).Arc(g.outer_radius, deg).Rotate(90).Line(g.wall).Rotate(90)
    shell = plane.Arc(g.bore, -deg).Close().Face().Extrude(height)
    for face in shell.faces:
        c = face.center
        if c.z < 1e-6:
            face.name = "bottom"
        elif c.z > height - 1e-6:
            face.name = "top"
        elif abs(math.atan2(c.y, c.x)) < 1e-6:
            face.name = "start"
        elif abs(math.atan2(c.y, c.x) - alpha) < 1e-6:
            face.name = "end"
        else:
            chord = math.sin(alpha / 2) / (alpha / 2)
            face.name = "bore" if math.hypot(c.x, c.y) / chord < g.bore + 0.5 * g.wall else "outer"
    shell = shell - _slot(g, d, (1, 0, 0), (0, 1, 0), 0.0)
    sized = {"slot": d.flank_rim, "slot_arc": d.rim}
    if g.rows == "alternate":
        radial = (math.cos(alpha), math.sin(alpha), 0)
        coarse = d.finer(1 / COARSER)
        shell = shell - _slot(g, coarse, radial, (math.sin(alpha), -math.cos(alpha), 0), height)
        sized |= {"twin": coarse.flank_rim, "twin_arc": coarse.rim}
    for name, size in sized.items():
        for face in (f for f in shell.faces if f.name == name):
            for edge in face.edges:
                rho = math.hypot(edge.center.x, edge.center.y)
                if abs(rho - g.bore) < 0.2 * g.wall or abs(rho - g.outer_radius) < 0.2 * g.wall:
                    edge.maxh = size
    mesh = Mesh(OCCGeometry(shell).GenerateMesh(maxh=d.rest, grading=d.grading, curvaturesafety=d.curvature))
    mesh.Curve(d.order)
    return mesh


def _slot(g: Geometry, d: Discretisation, radial, tangent, z0):
    """One quarter of a slot (and a little more across the mirror planes), straight along `radial`."""
    from netgen.occ import Axes, WorkPlane

    a, b, r, over = 0.5 * g.around, 0.5 * g.axial, g.r, 10.0
    plane = WorkPlane(Axes((0, 0, z0), n=radial, h=tangent))
    plane.MoveTo(-over, -over).LineTo(a, -over)
    if b - r > 1e-9:
        plane.LineTo(a, b - r)
    plane.Rotate(0).Direction(0, 1).Arc(r, 90)
    tool = plane.LineTo(-over, b).Close().Face().Extrude(g.outer_radius + 20)
    up, name = (1.0, "slot") if z0 == 0.0 else (-1.0, "twin")
    for face in tool.faces:
        c = face.center
        u, v = c.x * tangent[0] + c.y * tangent[1], up * (c.z - z0)
        face.name, face.maxh = name, d.flank
        if u > a - r + 1e-6 and v > b - r + 1e-6:
            face.name, face.maxh = f"{name}_arc", d.arc
    return tool


def reference(g: Geometry, order: int = 4, *, disc: Discretisation | None = None, held: bool = False) -> Solution:
    """Solve one ring for rotation (1000 rpm) and for an axial pull of 1 MPa gross; `held`: rotation without axial growth."""
    import ngsolve as ng

    d = disc or default_discretisation(g, order)
    t0 = time.perf_counter()
    mesh = build_mesh(g, d)
    t1 = time.perf_counter()

    # Unknown displacement parts: those normal to the two radial mirror planes, and the axial one. Their
    # constant dual basis keeps the space polynomial and the mirror conditions exact.
    normals = np.array([[0.0, 1.0], [-math.sin(g.angle), math.cos(g.angle)]])
    dual = np.linalg.inv(normals)  # columns g1, g2
    basis = np.eye(3)
    basis[:2, :2] = dual
    to_xyz = ng.CF(tuple(basis.ravel()), dims=(3, 3))
    space = ng.VectorH1(mesh, order=d.order, dirichletx="start", dirichlety="end", dirichletz="bottom|top")
    trial, test = space.TnT()
    lam, mu = YOUNG * NU / ((1 + NU) * (1 - 2 * NU)), YOUNG / (2 * (1 + NU))

    def strain(v):
        grad = to_xyz * ng.Grad(v)
        return 0.5 * (grad + grad.trans)

    eu, ev = strain(trial), strain(test)
    form = ng.BilinearForm(space, symmetric=True, condense=True)
    form += (2 * mu * ng.InnerProduct(eu, ev) + lam * ng.Trace(eu) * ng.Trace(ev)) * ng.dx
    pull = RHO * 1e-12 * OMEGA2 * ng.CF((ng.x, ng.y, 0))
    load = ng.LinearForm((pull * (to_xyz * test)) * ng.dx(bonus_intorder=2))
    with ng.TaskManager():
        form.Assemble()
        load.Assemble()
        inverse = form.mat.Inverse(space.FreeDofs(True), inverse="sparsecholesky")
        spun, stretch = ng.GridFunction(space), ng.GridFunction(space)
        _solve(form, inverse, spun, load.vec)
        stretch.components[2].Set(1.0, definedon=mesh.Boundaries("top"))
        _solve(form, inverse, stretch, None)
        t2 = time.perf_counter()
        es = strain(stretch)
        stiffness = ng.Integrate((2 * mu * ng.InnerProduct(es, es) + lam * ng.Trace(es) ** 2) * ng.dx, mesh)
        work = float(ng.InnerProduct(load.vec, stretch.vec))
    area = math.pi * (g.outer_radius**2 - g.bore**2) / (2 * g.slots)

    fields = {"slot": _surface(mesh, "slot|slot_arc", d.order, (spun, stretch), strain)}
    fields["bore"] = _surface(mesh, "bore", d.order, (spun, stretch), strain)
    fields["outer"] = _surface(mesh, "outer", d.order, (spun, stretch), strain)
    states = {"rotation": (1.0, work / stiffness), "axial": (0.0, area / stiffness)}
    if held:
        states["rotation_held"] = (1.0, 0.0)
    results = {name: _extremes(g, name, fields, factors) for name, factors in states.items()}
    t3 = time.perf_counter()
    seconds = {"mesh": t1 - t0, "solve": t2 - t1, "recover": t3 - t2}
    return Solution(results, space.ndof, mesh.ne, seconds)


def _solve(form, inverse, u, rhs) -> None:
    """Static condensation: add to u what the right-hand side and u's given values ask for."""
    residual = u.vec.CreateVector()
    residual.data = -1.0 * (form.mat * u.vec)
    if rhs is not None:
        residual.data += rhs
    # the condensed matrix holds the outer unknowns only; inner ones follow from the outer by inner_matrix
    residual.data += form.harmonic_extension_trans * residual
    u.vec.data += inverse * residual
    u.vec.data += form.harmonic_extension * u.vec
    if rhs is not None:
        u.vec.data += form.inner_solve * rhs


def _lattice(n: int):
    return [(i / n, j / n) for i in range(n + 1) for j in range(n + 1 - i)]


def _surface(mesh, region: str, order: int, solutions, strain):
    """Places, normals and strains (per solution, global axes) on a dense lattice of every face of a region."""
    import ngsolve as ng

    points = _lattice(2 * order)
    rule = ng.IntegrationRule(points=points, weights=[1.0] * len(points))
    mapped = mesh.MapToAllElements(rule, mesh.Boundaries(region))
    place = np.column_stack([ng.x(mapped), ng.y(mapped), ng.z(mapped)])
    normal = np.asarray(ng.specialcf.normal(3)(mapped))
    strains = [np.asarray(ng.BoundaryFromVolumeCF(strain(u))(mapped)).reshape(-1, 3, 3) for u in solutions]
    return place, normal, strains


def _extremes(g: Geometry, load: str, fields, factors) -> Result:
    wall = _principal(g, fields["slot"], factors)
    surfaces = [(name, *_principal(g, fields[name], factors)) for name in ("bore", "outer")]
    tension, compression = _pick(g, [("slot", *wall)], None)
    near = _pick(g, surfaces, g.r)
    anywhere = _pick(g, surfaces, None)
    return Result(load, tension, compression, *near, *anywhere)


def _principal(g: Geometry, surface, factors):
    """Places and the in-surface principal stresses, averaged where faces meet."""
    place, normal, strains = surface
    eps = sum(f * e for f, e in zip(factors, strains, strict=True))
    across = np.eye(3) - normal[:, :, None] * normal[:, None, :]
    flat = across @ eps @ across
    stress = YOUNG / (1 - NU**2) * ((1 - NU) * flat + NU * np.trace(flat, axis1=1, axis2=2)[:, None, None] * across)
    rim, along = _rims(g, place, normal)
    stretch = np.einsum("pi,pij,pj->p", along, eps, along)
    uniaxial = YOUNG * stretch[:, None, None] * along[:, :, None] * along[:, None, :]
    stress = np.where(rim[:, None, None], uniaxial, stress)
    key = np.round(place, 5) + 0.0
    unique, inverse = np.unique(key, axis=0, return_inverse=True)
    inverse = inverse.ravel()
    count = np.bincount(inverse).astype(float)
    mean = np.stack([np.bincount(inverse, stress[:, i, j]) / count for i in range(3) for j in range(3)], axis=1)
    values = np.linalg.eigvalsh(mean.reshape(-1, 3, 3))
    return unique, values


def _rims(g: Geometry, place, normal):
    """Which places lie on a rim of a slot, and the direction along the rim."""
    rho = np.hypot(place[:, 0], place[:, 1])
    on_shell = np.minimum(np.abs(rho - g.bore), np.abs(rho - g.outer_radius)) < 1e-3
    offset, outward = _offset(g, place)
    rim = on_shell & (np.abs(offset) < 1e-3)
    radial = np.column_stack([place[:, 0] / rho, place[:, 1] / rho, 0 * rho])
    along = np.cross(radial, outward)
    size = np.linalg.norm(along, axis=1)
    along = along / np.where(size > 0, size, 1.0)[:, None]
    return rim, along


def _offset(g: Geometry, place):
    """Distance from the nearest slot's outline, seen along that slot's radius, and the outline's normal there."""
    a, b, r = 0.5 * g.around, 0.5 * g.axial, g.r
    centres = [(0.0, 0.0)] + ([(g.angle, g.height)] if g.rows == "alternate" else [])
    best, normal = np.full(len(place), np.inf), np.zeros((len(place), 3))
    for theta, z0 in centres:
        tangent = np.array([-math.sin(theta), math.cos(theta), 0.0])
        u, v = place @ tangent, place[:, 2] - z0
        cu, cv = np.maximum(np.abs(u) - (a - r), 0.0), np.maximum(np.abs(v) - (b - r), 0.0)
        reach = np.hypot(cu, cv)
        distance = reach - r
        size = np.where(reach > 0, reach, 1.0)
        n = (np.sign(u) * cu / size)[:, None] * tangent + (np.sign(v) * cv / size)[:, None] * np.array([0.0, 0.0, 1.0])
        nearer = np.abs(distance) < np.abs(best)
        best = np.where(nearer, distance, best)
        normal = np.where(nearer[:, None], n, normal)
    return best, normal


def _pick(g: Geometry, surfaces, within: float | None):
    most, least = None, None
    for name, place, values in surfaces:
        ok = np.ones(len(place), bool)
        if within is not None:
            ok = (_offset(g, place)[0] <= within) & (place[:, 2] < 0.5 * g.pitch + 1e-3)
        high = np.where(ok, values[:, 2], -np.inf)
        low = np.where(ok, values[:, 0], np.inf)
        i, j = int(np.argmax(high)), int(np.argmin(low))
        if most is None or high[i] > most.value:
            most = _extreme(g, float(high[i]), place[i], name)
        if least is None or low[j] < least.value:
            least = _extreme(g, float(low[j]), place[j], name)
    return most, least


def _extreme(g: Geometry, value: float, p, name: str) -> Extreme:
    rho = math.hypot(p[0], p[1])
    return Extreme(value, math.degrees(math.atan2(p[1], p[0])), float(p[2]), g.outer_radius - rho, name)


GEOMETRIES = {
    "A alternate": Geometry(380, 40, 180, 2, 60, 120, 8, "alternate"),
    "A aligned": Geometry(380, 40, 180, 2, 60, 120, 8, "aligned"),
    "B aligned": Geometry(450, 40, 200, 6, 60, 120, 15, "aligned"),
    "B alternate": Geometry(450, 40, 200, 6, 60, 120, 15, "alternate"),
    "C aligned": Geometry(300, 30, 150, 4, 50, 90, "full", "aligned"),
    "C alternate": Geometry(300, 30, 150, 4, 50, 90, "full", "alternate"),
    "D r30": Geometry(450, 40, 200, 6, 60, 120, 30, "aligned"),
    "D r6": Geometry(450, 40, 200, 6, 60, 120, 6, "aligned"),
    "D r2": Geometry(450, 40, 200, 6, 60, 120, 2, "aligned"),
    "E aligned": Geometry(380, 40, 180, 2, 60, 120, "full", "aligned"),
    "E alternate": Geometry(380, 40, 180, 2, 60, 120, "full", "alternate"),
}


def ladder(g: Geometry) -> tuple[Discretisation, Discretisation, Discretisation]:
    """Coarse mesh at order 5, fine mesh at order 4, fine mesh at order 5."""
    coarse, fine = (1.6, 2.2) if g.r <= 3 else (3.5, 5.0) if g.r <= 10 else (4.5, 7.0)
    steps = (default_discretisation(g, order, n) for order, n in ((5, coarse), (4, fine), (5, fine)))
    # a tight corner through a thick wall: leave the mesher's own refinement at the arc out, or memory does not suffice
    return tuple(replace(d, rim=0.8 * d.arc, curvature=1.0) if g.r <= 3 else d for d in steps)


HEAD = """\
# Slotted ring: largest principal tension and compression, by an independent finite element library.
# Provenance: computed with {versions}, curved tetrahedra of order 5 on the finer of two meshes; regenerate with
# `python tests/peers/ring_reference.py`. Invented geometries. Shares no code with femdrum.
# Model: one mirror-symmetric cell of an endless drum; slot cut straight along the radius through its middle, flat parallel
# flanks, sharp rims, empty slots; E 206000 MPa, nu 0.3, 7850 kg/m3. Units mm, MPa, degrees.
# load: rotation = 1000 rpm, end plane stays plane, net axial force zero; rotation_held = the same with the end plane held;
# axial = net axial force of 1 MPa times the plain annulus, end plane stays plane.
# tension, compression: on the slot's wall, rims included; place: theta from the slot's middle, z from mid-row, depth from
# outside. bore_outer_*: largest on bore and outer surface within one corner radius of a rim; all_*: anywhere on bore and outer.
# *_err: larger of |finer - coarser mesh| at order 5 and half of |order 5 - order 4| on the finer mesh. est_rel_err: that of
# the peak (larger magnitude of tension and compression) over the peak.
"""
VALUES = ("tension", "compression", "bore_outer_tension", "bore_outer_compression", "all_tension", "all_compression")
PLACES = ("theta_deg", "z_mm", "depth_mm")
COLUMNS = (
    ["name", "outer_radius_mm", "wall_mm", "pitch_mm", "slots_around", "around_mm", "axial_mm", "corner_radius_mm"]
    + ["rows", "load"]
    + [f"{v}_{w}" for v in VALUES[:2] for w in ("MPa", "err_MPa", *PLACES)]
    + [f"{v}_{w}" for v in VALUES[2:4] for w in ("MPa", "err_MPa")]
    + [f"{v}_MPa" for v in VALUES[4:]]
    + ["est_rel_err", "unknowns_coarse", "unknowns", "seconds", "how"]
)


def rows_of(name: str, g: Geometry) -> list[dict[str, object]]:
    """Run the ladder of one geometry: a row per load."""
    steps = []
    for disc in ladder(g):
        steps.append(reference(g, disc=disc, held=g.rows == "aligned"))
        gc.collect()
        last = steps[-1]
        print(
            f"{name}: order {disc.order}, {last.unknowns} unknowns, {sum(last.seconds.values()):.1f} s", file=sys.stderr
        )
    coarse, lower, best = steps
    rows = []
    for load, result in best.results.items():
        row: dict[str, object] = {
            "name": name, "outer_radius_mm": g.outer_radius, "wall_mm": g.wall, "pitch_mm": g.pitch,
            "slots_around": g.slots, "around_mm": g.around, "axial_mm": g.axial, "corner_radius_mm": g.radius,
            "rows": g.rows, "load": load,
        }  # fmt: skip
        errors = {}
        for what in VALUES:
            at = getattr(result, what)
            others = [getattr(s.results[load], what).value for s in (coarse, lower)]
            errors[what] = max(abs(at.value - others[0]), 0.5 * abs(at.value - others[1]))
            row |= {f"{what}_MPa": f"{at.value:.6g}", f"{what}_err_MPa": f"{errors[what]:.2g}"}
            row |= {f"{what}_theta_deg": f"{at.theta_deg:.3f}", f"{what}_z_mm": f"{at.z:.2f}"}
            row |= {f"{what}_depth_mm": f"{abs(at.depth):.2f}"}
        tension = abs(result.tension.value) >= abs(result.compression.value)
        peak = result.tension if tension else result.compression
        row["est_rel_err"] = f"{errors['tension' if tension else 'compression'] / abs(peak.value):.1e}"
        row |= {"unknowns_coarse": coarse.unknowns, "unknowns": best.unknowns}
        row["seconds"] = f"{sum(sum(s.seconds.values()) for s in steps):.0f}"
        row["how"] = f"order 5; {coarse.elements} and {best.elements} elements; order 4 on the finer"
        rows.append({c: row[c] for c in COLUMNS})
    return rows


def write(rows: list[dict[str, object]]) -> None:
    """Write the csv, geometries in the order of GEOMETRIES."""
    from importlib.metadata import version

    order = list(GEOMETRIES)
    rows = sorted(rows, key=lambda r: order.index(str(r["name"])))
    with CSV.open("w", newline="", encoding="utf-8") as out:
        out.write(HEAD.format(versions=f"ngsolve {version('ngsolve')} (netgen-mesher {version('netgen-mesher')})"))
        writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def read() -> list[dict[str, str]]:
    """Stored rows as text."""
    with CSV.open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def main() -> None:
    parser = argparse.ArgumentParser(description="Rebuild ring_reference.csv")
    parser.add_argument("--only", nargs="*", default=list(GEOMETRIES), choices=list(GEOMETRIES), metavar="NAME")
    parser.add_argument("--threads", type=int, default=2)
    args = parser.parse_args()
    import ngsolve as ng

    ng.SetNumThreads(args.threads)
    for name in args.only:
        new = rows_of(name, GEOMETRIES[name])
        kept = [r for r in read() if r["name"] != name] if CSV.exists() else []
        write([*kept, *new])


if __name__ == "__main__":
    main()
