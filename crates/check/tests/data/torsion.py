#!/usr/bin/env python3
"""Writes torsion.csv: torsion constants of sections and greatest shear stresses per torque, by finite elements.

    python3 -m venv env && env/bin/pip install sectionproperties==3.10.2 && env/bin/python torsion.py > torsion.csv

The library is general-purpose: quadratic triangles, warping function. Lengths in mm, polygons of many corners. A sharp inner
corner has no greatest stress, so that none is told for sections that have one.
"""

import math
from importlib.metadata import version

from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry
from shapely import Point, Polygon, box
from shapely.affinity import rotate, scale


def disc(radius, y=0.0, z=0.0):
    return Point(y, z).buffer(radius, quad_segs=180)


def ngon(sides, flats):
    corner = 0.5 * flats / math.cos(math.pi / sides)
    angles = [2 * math.pi * (k + 0.5) / sides for k in range(sides)]
    return Polygon([(corner * math.cos(a), corner * math.sin(a)) for a in angles])


SECTIONS = {
    "circle": (disc(10), True),
    "square": (box(-10, -10, 10, 10), True),
    "hexagon": (ngon(6, 20), True),
    "triangle": (ngon(3, 12), True),
    "ellipse": (scale(disc(10), 1.0, 0.5), True),
    "blade": (box(-10, -2, 10, 2), True),
    "tube": (disc(10) - disc(7), True),
    "bored": (disc(10) - disc(4, 3, 0), True),
    "keyed": (disc(10) - box(-2.5, 6, 2.5, 20), False),
    "slotted": (disc(10) - disc(8) - box(-0.4, 0, 0.4, 20), False),
    "fluted": (disc(10) - disc(4, 10, 0) - disc(4, -5, 8.660254), False),
    "off": (disc(4, 5, 2), True),
    "turned": (rotate(box(-10, -5, 10, 5), 30), True),
}

print(f"# sectionproperties {version('sectionproperties')}")
print("section,constant,stress")
for name, (shape, is_smooth) in SECTIONS.items():
    geometry = Geometry(shape).create_mesh(mesh_sizes=[shape.area / 6000])
    section = Section(geometry)
    section.calculate_geometric_properties()
    section.calculate_warping_properties()
    stress = section.calculate_stress(mzz=1.0)
    greatest = max(max(row["sig_zxy_mzz"]) for row in stress.get_stress())
    print(f"{name},{section.get_j():.7g},{f'{greatest:.5g}' if is_smooth else ''}")
