"""Makes the programs of both set-ups of harbor-light, and target.ply, the lettering band that the second is held
against: pip install numpy manifold3d.

A letter is a list of strokes, a stroke a list of points (right, up) in heights of a letter; a point with a third number
is reached on an arc around (third, fourth), clockwise. The letters stand upright where the free end is up. Lengths in
inches as far as the program goes, in mm on the piece; x is the station, and with the chuck on the plus side the ray at
the angle t points to (sin t, cos t) in (y, z).
"""

import numpy as np
from manifold3d import CrossSection, Manifold, OpType

INCH = 25.4
RADIUS, DEPTH = 24.0, 0.8
FREE_END = 2.5  # station of X0
OFF = 0.2  # of the band's axis, up where the angle is 0, mm
BOTTOM, HEIGHT, PITCH = 1.45, 0.4, 0.36  # X of the letters' feet, their height, from one to the next
BORDERS = (1.58, 0.92)
CENTER = np.pi  # angle of the middle of the word
SLOPE = np.tan(np.radians(30.0))  # half the angle of the vee
FACETS, STEP = 360, np.radians(2.5)

LETTERS = {
    "H": [[(0, 0), (0, 1)], [(0, 0.5), (0.6, 0.5)], [(0.6, 0), (0.6, 1)]],
    "A": [[(0, 0), (0.3, 1), (0.6, 0)], [(0.12, 0.4), (0.48, 0.4)]],
    "R": [[(0, 0), (0, 1), (0.35, 1), (0.35, 0.5, 0.35, 0.75), (0, 0.5)], [(0.3, 0.5), (0.6, 0)]],
    "B": [
        [(0, 0), (0, 1), (0.34, 1), (0.34, 0.52, 0.34, 0.76), (0, 0.52)],
        [(0.34, 0.52), (0.34, 0, 0.34, 0.26), (0, 0)],
    ],
    "O": [[(0, 0.3), (0, 0.7), (0.6, 0.7, 0.3, 0.7), (0.6, 0.3), (0, 0.3, 0.3, 0.3)]],
}


def letters(word):
    """Of each letter its strokes in inches: how far right of the word's middle, and X."""
    left = -(PITCH * (len(word) - 1) + 0.6 * HEIGHT) / 2
    for index, letter in enumerate(word):
        yield [[placed(point, left + index * PITCH) for point in stroke] for stroke in LETTERS[letter]]


def placed(point, left):
    pairs = zip(point[::2], point[1::2])
    return [(round(left + HEIGHT * right, 4), round(BOTTOM - HEIGHT * up, 4)) for right, up in pairs]


def program(word, mirrored):
    """Y runs against the reading direction where the blank turns the other way; mirrored is without that."""
    way = 1 if mirrored else -1
    lines = [
        f"(harbor light: the word {word} and two lines around the band)",
        "(cutter 1, vee 60; X0 at the free end, Z0 on the surface, inches; Y is the way around at the surface)",
        "G20 G17 G90 G94",
        "M3 S18000",
        "G0 Z0.4",
    ]
    around = round(np.pi * RADIUS / INCH, 4)
    for x in BORDERS:
        lines += ["(line)", *down(x, -around), f"G1 Y{number(around)} F40", "G0 Z0.4"]
    for letter, made in zip(word, letters(word)):
        lines.append(f"({letter})")
        for stroke in made:
            lines += cut(stroke, way)
    return lines + ["G0 Z0.4", "M5", "M30"]


def cut(stroke, way):
    (here,), *others = stroke
    lines, feed = down(here[1], way * here[0]), " F40"
    for point in others:
        (right, x) = point[0]
        words = [f"X{number(x)}"] * (x != here[1]) + [f"Y{number(way * right)}"] * (right != here[0])
        code = "G1"
        if len(point) > 1:
            center = point[1]
            code = "G2" if way > 0 else "G3"
            words += [f"I{number(center[1] - here[1])}", f"J{number(way * (center[0] - here[0]))}"]
        lines.append(" ".join([code, *words]) + feed)
        here, feed = point[0], ""
    return [*lines, "G0 Z0.1"]


def down(x, y):
    return [f"G0 X{number(x)} Y{number(y)}", "G0 Z0.02", f"G1 Z{number(-DEPTH / INCH)} F15"]


def number(value):
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def cone(station, right):
    """The vee with its tip in the wood at a station and an arc right of the middle, inches."""
    top = DEPTH + 0.6
    point_up = Manifold.cylinder(top, top * SLOPE, 0.0, 48)
    vee = point_up.rotate((180.0, 0.0, 0.0)).translate((0.0, 0.0, RADIUS - DEPTH + top))
    turn = CENTER - right * INCH / RADIUS
    return vee.rotate((-np.degrees(turn), 0.0, 0.0)).translate((station * INCH, 0.0, 0.0))


def points_on(here, point):
    """(right, X) from one point of a stroke to the next, near enough to each other."""
    if len(point) == 1:
        ends = np.array([here, point[0]])
        way = abs(ends[1][0] - ends[0][0]) * INCH / RADIUS
        return [tuple(ends[0] + (ends[1] - ends[0]) * t) for t in np.linspace(0, 1, int(np.ceil(way / STEP)) + 1)[1:]]
    end, center = np.array(point[0]), np.array(point[1])
    out = np.array(here) - center
    radius = np.hypot(*out)
    # Up is -X, so clockwise as read: from up to right.
    first, last = (np.arctan2(q[0], -q[1]) for q in (out, end - center))
    if last <= first:
        last += 2 * np.pi
    angles = np.linspace(first, last, 17)[1:]
    return [(center[0] + radius * np.sin(a), center[1] - radius * np.cos(a)) for a in angles]


def groove(stroke):
    (here,), *others = stroke
    hulls = []
    before = cone(FREE_END - here[1], here[0])
    for point in others:
        for right, x in points_on(here, point) or [point[0]]:
            after = cone(FREE_END - x, right)
            hulls.append(Manifold.batch_hull([before, after]))
            before = after
        here = point[0]
    return hulls


def line(x):
    station, top = (FREE_END - x) * INCH, DEPTH + 0.6
    inner, outer = RADIUS - DEPTH, RADIUS - DEPTH + top
    section = CrossSection([[(inner, 0.0), (outer, -top * SLOPE), (outer, top * SLOPE)]])
    return Manifold.revolve(section, FACETS).rotate((0.0, 90.0, 0.0)).translate((station, 0.0, 0.0))


def write(path, corners, triangles):
    faces = np.zeros(len(triangles), [("count", "u1"), ("corners", "<i4", 3)])
    faces["count"], faces["corners"] = 3, triangles
    header = ["ply", "format binary_little_endian 1.0", f"element vertex {len(corners)}"]
    header += [f"property float {axis}" for axis in "xyz"] + [f"element face {len(triangles)}"]
    header += ["property list uchar int vertex_indices", "end_header", ""]
    with open(path, "wb") as file:
        file.write("\n".join(header).encode() + corners.astype("<f4").tobytes() + faces.tobytes())


# The first set-up, inches: X0 at the free end, Z0 on the axis. Y is the way around a drum of 48 mm and turns the blank.
LENGTH, HELD = 6.75, 0.625
TURN = np.pi * 2 * RADIUS / INCH  # of Y, for one turn of the blank
BAND, SPIGOT = (5.02, 5.975), 1.25  # X between which the band lies, and where the spigot ends
THICK, THIN = (4.9, 50.0 / 2 / INCH), (1.35, 34.0 / 2 / INCH)  # X and apothem of the tower where it is thick and thin
BALL, FLAT = 4.0 / INCH, 6.0 / INCH  # radii of the cutters
ADVANCE = 0.2
FACES, LINES = 8, 128


def spiral(stations, radii, way, begin):
    """Turns the blank from one X to another, with a whole turn at rest at both ends; Y winds up or back."""
    (x, last), (z, end) = stations, radii
    turns = np.ceil(abs(last - x) / ADVANCE)
    y = [begin + way * TURN * number for number in (1, 1 + turns, 2 + turns)]
    return y[-1], [
        f"G0 X{number(x)} Y{number(begin)}",
        f"G1 Z{number(z)} F20",
        f"G1 Y{number(y[0])} F80",
        f"G1 X{number(last)} Y{number(y[1])} Z{number(end)}",
        f"G1 Y{number(y[2])}",
        "G0 Z1.4",
    ]


def turning():
    """Rounds the blank, and turns band and spigot and most of the tower with a flat cutter."""
    lines = [
        "(harbor light, first set-up: round, band, spigot, and the tower with wood left on)",
        "(cutter 1, flat 12; X0 at the free end, Z0 on the axis, inches; Y turns the blank, a turn is 5.9369)",
        "G20 G17 G90 G94",
        "M3 S16000",
        "G0 Z1.4",
    ]
    tower = (SPIGOT - FLAT, THICK[0] + FLAT)
    corner = THIN[1] / np.cos(np.pi / FACES)
    cuts = [("round", (FLAT / 2, BAND[1] - FLAT), (1.1, 1.1))]
    cuts += [("band", (BAND[0] + FLAT, BAND[1] - FLAT), (r, r)) for r in (1.0, RADIUS / INCH)]
    cuts += [("spigot", (FLAT / 2, SPIGOT - FLAT), (r, r)) for r in (0.98, 0.86, 0.76, 0.67, 15.0 / INCH)]
    cuts += [("tower", tower, (corner + left, 1.12)) for left in (0.26, 0.15, 0.05)]
    y, way = 0.0, 1
    for name, stations, radii in cuts:
        y, made = spiral(stations, radii, way, y)
        way = -way
        lines += [f"({name})", *made]
    return lines + ["M5", "M30"]


def faceting():
    """Lines along the tower, the ball held off its faces by its own radius."""
    lines = [
        "(harbor light, first set-up: the eight faces of the tower, 50 across the flats at its foot and 34 at its top)",
        "(cutter 2, ball 8; X0 at the free end, Z0 on the axis, inches; Y turns the blank, a turn is 5.9369)",
        "G20 G17 G90 G94",
        "M3 S18000",
        "G0 Z1.4",
    ]
    slope = np.hypot(1.0, (THICK[1] - THIN[1]) / (THICK[0] - THIN[0]))
    for index in range(LINES):
        around, y = index / LINES * 2 * np.pi, number(index / LINES * TURN)
        face = np.round(around / (2 * np.pi / FACES)) * 2 * np.pi / FACES
        heights = [(apothem + BALL * slope) / np.cos(around - face) - BALL for _, apothem in (THICK, THIN)]
        ends = list(zip((THICK[0], THIN[0]), heights))
        (x, z), (last, end) = ends if index % 2 == 0 else ends[::-1]
        way_there = [f"G0 X{number(x)} Y{y}", f"G1 Z{number(z)} F20"] if index == 0 else [f"G1 Y{y} Z{number(z)}"]
        lines += [*way_there, f"G1 X{number(last)} Z{number(end)} F60"]
    return lines + ["G0 Z1.4", "M5", "M30"]


for name, made in (("turning.nc", turning()), ("faceting.nc", faceting())):
    with open(name, "w") as file:
        file.write("\n".join(made) + "\n")

WORD = "HARBOR"
for name, mirrored in (("letters.nc", True), ("letters-fixed.nc", False)):
    with open(name, "w") as file:
        file.write("\n".join(program(WORD, mirrored)) + "\n")
rod = Manifold.cylinder(FREE_END * INCH, RADIUS, RADIUS, FACETS).rotate((0.0, 90.0, 0.0))
hulls = [hull for letter in letters(WORD) for stroke in letter for hull in groove(stroke)] + [line(x) for x in BORDERS]
# The band runs out, as everybody knows, and the letters do not.
piece = rod.translate((0.0, 0.0, OFF)) - Manifold.batch_boolean(hulls, OpType.Add)
mesh = piece.to_mesh()
corners, triangles = mesh.vert_properties[:, :3], mesh.tri_verts
write("target.ply", corners, triangles)
print(f"{len(triangles)} triangles, {rod.volume() - piece.volume():.1f} mm³ cut")
