"""Meshes made on the fly for the tests of meshes from files; lengths in mm."""

from __future__ import annotations

import math
from contextlib import contextmanager

import gmsh
import numpy as np

from femdrum.fem.mesh_file import mesher as started

KINDS = ("tri6", "quad9", "tet10", "hex27")


@contextmanager
def mesher(order=2, incomplete=False):
    with started():
        options = {"Mesh.ElementOrder": order, "Mesh.Binary": 1, "Mesh.SecondOrderIncomplete": int(incomplete)}
        for option, value in options.items():
            gmsh.option.setNumber(option, value)
        yield


def middle(dim, tag):
    low, high = gmsh.model.getParametrizationBounds(dim, tag)
    return gmsh.model.getValue(dim, tag, [0.5 * (a + b) for a, b in zip(low, high, strict=True)])


def block(path, kind, *, cells=2, distort=0.0, order=2, incomplete=False, seed=1, size=(1.0, 1.0, 1.0)):
    """A rectangle or a box with faces x0, x1, y0, y1 (z0, z1); nodes inside moved at random, so cells are curved."""
    dim = 3 if kind in ("tet10", "hex27") else 2
    with mesher(order, incomplete):
        geo = gmsh.model.occ
        if dim == 3:
            geo.addBox(0, 0, 0, *size)
        else:
            geo.addRectangle(0, 0, 0, *size[:2])
        geo.synchronize()
        for _, tag in gmsh.model.getEntities(1):
            gmsh.model.mesh.setTransfiniteCurve(tag, cells + 1)
        for d, tag in gmsh.model.getEntities(2):
            gmsh.model.mesh.setTransfiniteSurface(tag)
            if kind in ("quad9", "hex27"):
                gmsh.model.mesh.setRecombine(d, tag)
        for _, tag in gmsh.model.getEntities(3):
            gmsh.model.mesh.setTransfiniteVolume(tag)
        for axis, name in enumerate("xyz"[:dim]):
            for end in (0, 1):
                tags = [
                    t for d, t in gmsh.model.getEntities(dim - 1) if abs(middle(d, t)[axis] - end * size[axis]) < 1e-9
                ]
                gmsh.model.addPhysicalGroup(dim - 1, tags, name=f"{name}{end}")
        gmsh.model.addPhysicalGroup(dim, [t for _, t in gmsh.model.getEntities(dim)], name="body")
        gmsh.model.mesh.generate(dim)
        random = np.random.default_rng(seed)
        tags, xyz, _ = gmsh.model.mesh.getNodes()
        for tag, place in zip(tags, xyz.reshape(-1, 3), strict=True):
            share = place[:dim] / np.array(size[:dim])
            if distort and (share > 1e-9).all() and (share < 1 - 1e-9).all():
                place[:dim] += distort / cells * random.uniform(-1, 1, dim) * np.array(size[:dim])
                gmsh.model.mesh.setNode(tag, place, [])
        gmsh.write(str(path))
    return str(path)


def quarter_plan(radius, half_width, half_length, *, around, across, along, growth=1.0):
    """Surfaces of a quarter plate with a hole in the mesher's own kernel: two fans about the hole and an end piece.

    around: cells on each 45 degrees of the hole. Returns the tags of the surfaces.
    """
    geo, c, w = gmsh.model.geo, radius / math.sqrt(2), half_width
    p = [geo.addPoint(x, y, 0) for x, y in ((0, 0), (radius, 0), (c, c), (0, radius), (w, 0), (w, w), (0, w))]
    arcs = [geo.addCircleArc(p[1], p[0], p[2]), geo.addCircleArc(p[2], p[0], p[3])]
    rays = [geo.addLine(p[1], p[4]), geo.addLine(p[2], p[5]), geo.addLine(p[3], p[6])]
    sides = [geo.addLine(p[4], p[5]), geo.addLine(p[5], p[6])]
    loops = [[rays[0], sides[0], -rays[1], -arcs[0]], [rays[1], sides[1], -rays[2], -arcs[1]]]
    for curve in (*arcs, *sides):
        geo.mesh.setTransfiniteCurve(curve, around + 1)
    for curve in rays:
        geo.mesh.setTransfiniteCurve(curve, across + 1, "Progression", growth)
    if half_length > half_width:
        q = [geo.addPoint(half_length, y, 0) for y in (0, w)]
        end = [geo.addLine(p[4], q[0]), geo.addLine(q[0], q[1]), geo.addLine(q[1], p[5])]
        loops.append([end[0], end[1], end[2], -sides[0]])
        geo.mesh.setTransfiniteCurve(end[0], along + 1)
        geo.mesh.setTransfiniteCurve(end[2], along + 1)
        geo.mesh.setTransfiniteCurve(end[1], around + 1)
    surfaces = [geo.addPlaneSurface([geo.addCurveLoop(loop)]) for loop in loops]
    for surface in surfaces:
        geo.mesh.setTransfiniteSurface(surface)
    return surfaces


def name_plate(dim, radius, half_length, thickness=0.0):
    """Names x0, y0 (z0, top), end, hole for the faces of a quarter plate."""
    rules = {
        "x0": lambda p: abs(p[0]) < 1e-9,
        "y0": lambda p: abs(p[1]) < 1e-9,
        "end": lambda p: abs(p[0] - half_length) < 1e-9,
        "hole": lambda p: abs(math.hypot(p[0], p[1]) - radius) < 1e-6,
    }
    if dim == 3:
        rules |= {"z0": lambda p: abs(p[2]) < 1e-9, "top": lambda p: abs(p[2] - thickness) < 1e-9}
    for name, rule in rules.items():
        tags = [t for d, t in gmsh.model.getEntities(dim - 1) if rule(middle(d, t))]
        gmsh.model.addPhysicalGroup(dim - 1, tags, name=name)
    gmsh.model.addPhysicalGroup(dim, [t for _, t in gmsh.model.getEntities(dim)], name="body")


def plane_plate(
    path, *, kind="quad9", radius=10.0, half_width=50.0, half_length=100.0, around=4, across=6, along=3, growth=1.4
):
    """Quarter of a plate with a hole, plane."""
    with mesher():
        surfaces = quarter_plan(
            radius, half_width, half_length, around=around, across=across, along=along, growth=growth
        )
        if kind == "quad9":
            for surface in surfaces:
                gmsh.model.geo.mesh.setRecombine(2, surface)
        gmsh.model.geo.synchronize()
        name_plate(2, radius, half_length)
        gmsh.model.mesh.generate(2)
        gmsh.write(str(path))
    return str(path)


def ring_quarter(path, *, kind="quad9", inner=50.0, outer=100.0, cells=4):
    """Quarter of an annulus with faces inner, outer, x0, y0."""
    with mesher():
        geo = gmsh.model.geo
        p = [geo.addPoint(*xy, 0) for xy in ((0, 0), (inner, 0), (outer, 0), (0, outer), (0, inner))]
        curves = [
            geo.addLine(p[1], p[2]),
            geo.addCircleArc(p[2], p[0], p[3]),
            geo.addLine(p[3], p[4]),
            geo.addCircleArc(p[4], p[0], p[1]),
        ]
        surface = geo.addPlaneSurface([geo.addCurveLoop(curves)])
        for curve, count in zip(curves, (cells, 2 * cells, cells, 2 * cells), strict=True):
            geo.mesh.setTransfiniteCurve(curve, count + 1)
        geo.mesh.setTransfiniteSurface(surface)
        if kind == "quad9":
            geo.mesh.setRecombine(2, surface)
        geo.synchronize()
        for curve, name in zip(curves, ("y0", "outer", "x0", "inner"), strict=True):
            gmsh.model.addPhysicalGroup(1, [curve], name=name)
        gmsh.model.addPhysicalGroup(2, [surface], name="body")
        gmsh.model.mesh.generate(2)
        gmsh.write(str(path))
    return str(path)
