#!/usr/bin/env python3
"""Writes solid.obj and distances.csv: signed distances of random points to a closed mesh, by trimesh.

    python3 -m venv env && env/bin/pip install trimesh==5.2.0 numpy scipy rtree && env/bin/python distances.py

The mesh is a waisted hexagonal bar with a twist, along x, its ends closed with fans. Points are given by station, angle
theta in degrees (a point lies at y = -r sin theta, z = r cos theta) and radius; distances are above 0 outside. mm.
"""

import math
import random
from pathlib import Path

import numpy as np
import trimesh

SIDES, RINGS = 6, 25
here = Path(__file__).parent


def corner(ring, side):
    station = 4.0 * ring
    radius = 14.0 - 5.0 * math.sin(math.pi * ring / (RINGS - 1)) ** 2
    theta = 2.0 * math.pi * side / SIDES + 0.03 * ring
    return [round(v, 6) for v in (station, -radius * math.sin(theta), radius * math.cos(theta))]


corners = [corner(ring, side) for ring in range(RINGS) for side in range(SIDES)]
first, last = len(corners), len(corners) + 1
corners += [[0.0, 0.0, 0.0], [4.0 * (RINGS - 1), 0.0, 0.0]]
faces = []
for side in range(SIDES):
    after = (side + 1) % SIDES
    faces.append([first, after, side])
    end = (RINGS - 1) * SIDES
    faces.append([last, end + side, end + after])
    for ring in range(RINGS - 1):
        a, b = ring * SIDES + side, ring * SIDES + after
        faces += [[a, b, b + SIDES], [a, b + SIDES, a + SIDES]]
mesh = trimesh.Trimesh(corners, faces, process=False)
assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0.0, mesh.volume
(here / "solid.obj").write_text(
    "# Made by distances.py.\n"
    + "".join(f"v {x:g} {y:.6f} {z:.6f}\n" for x, y, z in corners)
    + "".join(f"f {a + 1} {b + 1} {c + 1}\n" for a, b, c in faces)
)

random.seed(5)
places = [(random.uniform(-4.0, 100.0), random.uniform(0.0, 360.0), random.uniform(0.0, 20.0)) for _ in range(400)]
places = [tuple(round(v, 3) for v in place) for place in places]
points = np.array([(x, -r * math.sin(math.radians(t)), r * math.cos(math.radians(t))) for x, t, r in places])
inside = mesh.contains(points)
_, distances, _ = trimesh.proximity.closest_point(mesh, points)
rows = [
    f"{x:g}, {t:g}, {r:g}, {-d if within else d:.7f}\n"
    for (x, t, r), d, within in zip(places, distances, inside, strict=True)
]
(here / "distances.csv").write_text(
    f"# Signed distances to solid.obj by trimesh {trimesh.__version__}; made by distances.py.\n"
    "# station, theta, radius, distance; mm and degrees.\n" + "".join(rows)
)
