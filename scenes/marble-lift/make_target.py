"""Makes target.ply, the shape that marble-lift is held against: pip install numpy trimesh manifold3d.

A rod less what three cutters sweep: a helical groove (ball 16), an entry pocket with rounded corners and a lip (ball 6).
Lengths in mm; x is the station, the ray at the angle t points to (-sin t, cos t) in (y, z).
"""

import numpy as np
import trimesh
from manifold3d import CrossSection, Manifold, Mesh

RADIUS, LENGTH = 29.5, 280.0
START, LEAD, FLOOR, TURNS = 18.0, 40.0, 19.0, 6.25
OVER = 31.0  # where cutters end, outside the rod
ROUND = 96  # facets of the rod and steps of the groove in a turn


def ball_cutter(radius, tip, facets):
    """A ball cutter whose tip stands on z = tip, x = y = 0, up to OVER."""
    lower = np.linspace(-np.pi / 2, 0, facets // 4 + 1)
    outline = [(radius * np.cos(a), tip + radius + radius * np.sin(a)) for a in lower]
    return Manifold.revolve(CrossSection([outline + [(radius, OVER), (0.0, OVER)]]), facets)


def hollow(radius, tip, corners, facets):
    """What a ball cutter sweeps while its tip goes over a convex outline at one height."""
    cutters = [ball_cutter(radius, tip, facets).translate((x, y, 0.0)) for x, y in corners]
    return Manifold.batch_hull(cutters)


def touching_curve(radius, height, slope, facets):
    """Points of a ball cutter that touch the groove it cuts, its axis over the rod's: (x, y, z).

    slope is the lead over a turn in mm per radian. Where the surface touches it moves along itself:
    slope * x = height * y on the ball, slope * x = z * y on the flutes.
    """
    bottom = np.linspace(-np.pi / 2, np.pi / 2, facets // 2 + 1)
    along = 1.0 / np.hypot(1.0, slope / height)
    way = along * radius * np.sin(bottom)
    ball = list(zip(way, way * slope / height, height - radius * np.cos(bottom)))
    sides = []
    for z in np.linspace(height, OVER, 4)[1:]:
        x = radius / np.hypot(1.0, slope / z)
        sides.append((x, x * slope / z, z))
    left = [(-x, -y, z) for x, y, z in reversed(sides)]
    return np.array(left + ball + sides)


def turned(points, station, angle):
    """Points beside the cutter where the rod has turned by the angle and the cutter stands over the station."""
    x, y, z = points.T
    sine, cosine = np.sin(angle), np.cos(angle)
    return np.stack([x + station, y * cosine - z * sine, y * sine + z * cosine], axis=1)


def groove(radius=8.0, facets=48):
    slope = LEAD / (2 * np.pi)
    curve = touching_curve(radius, FLOOR + radius, slope, facets)
    steps = int(TURNS * ROUND)
    angles = np.arange(steps + 1) * 2 * np.pi / ROUND
    rows = [turned(curve, START + slope * a, a) for a in angles]
    width = len(curve)
    middle = [turned(np.array([[0.0, 0.0, FLOOR + radius]]), START + slope * a, a) for a in (angles[0], angles[-1])]
    corners = np.concatenate(rows + middle)
    triangles = []
    for row in range(steps):
        for k in range(width):
            a, b = row * width + k, row * width + (k + 1) % width
            triangles += [(a, a + width, b), (b, a + width, b + width)]
    first, last = len(corners) - 2, len(corners) - 1
    for k in range(width):
        a, b = k, (k + 1) % width
        triangles += [(first, a, b), (last, steps * width + b, steps * width + a)]
    swept = solid(corners, triangles)
    ends = []
    for a in (angles[0], angles[-1]):
        cutter = ball_cutter(radius, FLOOR, facets).rotate((np.degrees(a), 0.0, 0.0))
        ends.append(cutter.translate((START + slope * a, 0.0, 0.0)))
    return swept + ends[0] + ends[1]


def solid(corners, triangles):
    shape = trimesh.Trimesh(corners, triangles, process=False)
    if shape.volume < 0:
        shape.invert()
    made = Manifold(Mesh(np.asarray(shape.vertices, np.float32), np.asarray(shape.faces, np.uint32)))
    assert not made.is_empty(), made.status()
    return made


def write(path, corners, triangles):
    faces = np.zeros(len(triangles), [("count", "u1"), ("corners", "<i4", 3)])
    faces["count"], faces["corners"] = 3, triangles
    header = ["ply", "format binary_little_endian 1.0", f"element vertex {len(corners)}"]
    header += [f"property float {axis}" for axis in "xyz"] + [f"element face {len(triangles)}"]
    header += ["property list uchar int vertex_indices", "end_header", ""]
    with open(path, "wb") as file:
        file.write("\n".join(header).encode() + corners.astype("<f4").tobytes() + faces.tobytes())


rod = Manifold.cylinder(LENGTH, RADIUS, RADIUS, ROUND).rotate((0.0, 90.0, 0.0))
pocket = hollow(3.0, 22.0, [(11.0, -7.0), (25.0, -7.0), (25.0, 7.0), (11.0, 7.0)], 32)
lip = hollow(3.0, 27.0, [(25.0, 0.0), (44.0, 0.0)], 32)
piece = rod - groove() - pocket - lip
mesh = piece.to_mesh()
corners, triangles = mesh.vert_properties[:, :3], mesh.tri_verts
assert trimesh.Trimesh(corners, triangles, process=False).is_watertight, "the shape is open"
write("target.ply", corners, triangles)
print(f"{len(triangles)} triangles, {piece.volume():.1f} mm³")
