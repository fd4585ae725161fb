"""Writes the programs of choir-stand and its outline profile.csv; Python alone will do.

Lengths in mm, angles in degrees, feeds in mm/min and, where A turns alone, degrees/min. X0 is the jaw face, Z0 the axis.
"""

import math

TURNING = 30  # turns of A a minute while it cuts
FIRST, LAST = 5.5, 470.0  # where the flat cutter stands at the jaws and at the end
TURNS = 155  # of a pass from one to the other, 3 mm each
CORNER = 12 * math.sqrt(2)
ROUNDED, POST, WAIST = 11.8, 9.0, 4.5  # radii
BEADS, HALF, QUIRK, BALL = (60, 130, 440), 6.0, 7.8, 2.0  # centers, half a bead's width, floor beside it, cutter
SAFE, ABOVE = 22, 0.3  # heights of rapids: over all that is left, and over the skin


class Program:
    """Lines of a program, and where the cutter stands."""

    def __init__(self, *remarks):
        self.lines = [f"({remark})" for remark in remarks]
        self.lines += ["G21 G17 G90 G94", "M3 S18000", f"G0 Z{SAFE}"]
        self.x, self.z, self.a = 0.0, float(SAFE), 0

    def over(self, x, skin):
        """Over a place, and down to just above the skin that is left there."""
        self.lines += [f"G0 X{x:g} Y0 A{self.a:g}", f"G0 Z{skin + ABOVE:.4g}"]
        self.x, self.z = x, round(skin + ABOVE, 2)

    def cut(self, turns, x=None, z=None, rate=TURNING):
        """To a place while the blank turns so often, at so many turns a minute."""
        x, z = self.x if x is None else x, self.z if z is None else z
        way = math.hypot(x - self.x, z - self.z)
        feed = (way or 360 * abs(turns)) * rate / abs(turns)
        self.a += 360 * turns
        moved = (("X", x, self.x), ("Z", z, self.z))
        words = [f"{letter}{there:.6g}" for letter, there, here in moved if there != here]
        self.lines.append(" ".join(["G1", *words, f"A{self.a:g}", f"F{feed:.5g}"]))
        self.x, self.z = x, z

    def remark(self, text):
        self.lines.append(f"({text})")

    def write(self, name):
        ends = [f"G0 Z{SAFE}", "G0 A0"] if name == "beads.nc" else [f"G0 Z{SAFE}"]
        with open(name, "w") as file:
            file.write("\n".join([*self.lines, *ends, "M5", "M30", ""]))


def wound(program, floor, to, turns, pieces=1):
    """Down to a floor in one turn, once around, along the blank, and once around at the far end."""
    sense, start = (1 if turns > 0 else -1), program.x
    program.cut(sense, z=floor)
    program.cut(sense)
    for piece in range(pieces):
        program.cut(turns // pieces, x=start + (to - start) * (piece + 1) / pieces)
    program.cut(sense)


def rounded():
    program = Program("choir stand: the square brought to round, out and back", "cutter 1, flat 6")
    program.over(FIRST, CORNER)
    wound(program, 14.3, LAST, TURNS)
    wound(program, ROUNDED, FIRST, -TURNS)
    program.write("round.nc")


def sized():
    program = Program("choir stand: the post to 18, the last of it by a light cut on the way back", "cutter 1, flat 6")
    program.over(FIRST, ROUNDED)
    wound(program, POST + 0.3, LAST, TURNS, 31)
    wound(program, POST, FIRST, -TURNS)
    program.write("size.nc")


def waisted(name, floors, skin):
    program = Program("choir stand: the waist, 9 thick and 20 wide", "cutter 1, flat 6")
    program.over(253, skin)
    for index, floor in enumerate(floors):
        wound(program, floor, *((267, 4) if index % 2 == 0 else (253, -4)))
    program.write(name)


def bead(from_center):
    """Radius of the outline so far from the center of a bead."""
    if from_center < HALF:
        return (POST + QUIRK) / 2 + (POST - QUIRK) / 2 * math.cos(math.pi * from_center / HALF)
    beside = from_center - HALF
    return min(POST, QUIRK + BALL - math.sqrt(BALL**2 - beside**2)) if beside < BALL else POST


def touching(from_center):
    """Height of a ball cutter that just touches the outline there."""
    reach = [BALL * step / 100 for step in range(-100, 101)]
    return max(bead(abs(from_center + d)) - BALL + math.sqrt(BALL**2 - d**2) for d in reach)


def beaded():
    program = Program("choir stand: three beads between their quirks", "cutter 2, ball 4")
    steps = [-HALF + index / 2 for index in range(int(4 * HALF) + 1)]
    for index, center in enumerate(BEADS):
        sense = 1 if index % 2 == 0 else -1
        program.remark(f"bead at station {center}")
        if index > 0:
            program.lines.append(f"G0 Z{SAFE}")
        program.over(center - sense * HALF, POST)
        program.cut(2 * sense, z=QUIRK, rate=20)
        program.cut(sense)
        for step in steps[1:]:
            program.cut(sense, x=center + sense * step, z=round(touching(step), 4))
        program.cut(sense)
    program.write("beads.nc")


def outline():
    rows = [(3, POST), (250, POST), (250.001, WAIST), (269.999, WAIST), (270, POST), (467, POST)]
    rows += [(center + step / 4, bead(abs(step / 4))) for center in BEADS for step in range(-32, 33)]
    with open("profile.csv", "w") as file:
        file.writelines(f"{station:g},{radius:.4f}\n" for station, radius in sorted(rows))


rounded()
sized()
beaded()
light = (8.3, 7.6, 6.9, 6.3, 5.7, 5.2, 4.8, WAIST)
waisted("waist.nc", light, POST)
waisted("waist-first.nc", (11.1, 10.4, 9.7, 9.0, *light), ROUNDED)
outline()
