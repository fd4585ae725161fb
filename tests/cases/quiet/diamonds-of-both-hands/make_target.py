"""Makes target.ply: a round of 40 with four vee grooves that wind around it once, two to each hand; pip install numpy
manifold3d. Lengths in mm; x is the station, the ray at the angle t points to (-sin t, cos t) in (y, z).
"""

import numpy as np
from manifold3d import Manifold, OpType

RADIUS, DEPTH, SLOPE, STEP = 20.0, 1.0, np.tan(np.radians(30.0)), 4
TOP = DEPTH + 0.8


def cone(station, turn):
    vee = Manifold.cylinder(TOP, TOP * SLOPE, 0.0, 32).rotate((180.0, 0.0, 0.0))
    return vee.translate((0.0, 0.0, RADIUS - DEPTH + TOP)).rotate((turn, 0.0, 0.0)).translate((station, 0.0, 0.0))


def groove(start, hand):
    cones = [cone(30.0 + turn / 9.0, start + hand * turn) for turn in range(0, 361, STEP)]
    return [Manifold.batch_hull(pair) for pair in zip(cones, cones[1:])]


hulls = [hull for start in (0, 180) for hand in (1, -1) for hull in groove(start, hand)]
rod = Manifold.cylinder(100.0, RADIUS, RADIUS, 240).rotate((0.0, 90.0, 0.0))
mesh = (rod - Manifold.batch_boolean(hulls, OpType.Add)).to_mesh()
corners, triangles = mesh.vert_properties[:, :3], mesh.tri_verts
faces = np.zeros(len(triangles), [("count", "u1"), ("corners", "<i4", 3)])
faces["count"], faces["corners"] = 3, triangles
header = ["ply", "format binary_little_endian 1.0", f"element vertex {len(corners)}"]
header += [f"property float {axis}" for axis in "xyz"] + [f"element face {len(triangles)}"]
header += ["property list uchar int vertex_indices", "end_header", ""]
with open("target.ply", "wb") as file:
    file.write("\n".join(header).encode() + corners.astype("<f4").tobytes() + faces.tobytes())
