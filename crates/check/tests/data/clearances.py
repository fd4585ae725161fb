#!/usr/bin/env python3
"""Writes clearances.csv: least distances of random pairs of bodies, by the Flexible Collision Library.

    python3 -m venv env && env/bin/pip install python-fcl==0.7.0.11 numpy && env/bin/python clearances.py > clearances.csv

The library places its bodies at their middles, cylinders and cones upright; each is turned into place here.
Lengths in mm, angles in degrees.
"""

import math
import random
from importlib.metadata import version

import fcl
import numpy as np

# The library's upright axis laid along the rotary axis, pointing to -x.
LAID = np.array([[0.0, 0.0, -1.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0]])
UPRIGHT = np.eye(3)
# Upside down, for a cone that stands on its point.
OVER = np.diag([1.0, -1.0, -1.0])


def about_x(degrees):
    s, c = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    return np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])


def moving(kind, numbers, tip):
    """cylinder: radius, from, to; ball: radius; vee: radius, height."""
    x, y, z = tip
    if kind == "cylinder":
        radius, low, high = numbers
        return fcl.Cylinder(radius, high - low), UPRIGHT, (x, y, z + (low + high) / 2)
    if kind == "ball":
        return fcl.Sphere(numbers[0]), UPRIGHT, (x, y, z + numbers[0])
    radius, height = numbers
    return fcl.Cone(radius, height), OVER, (x, y, z + height / 2)


def standing(kind, numbers, turn):
    """cylinder: from, to, radius; screw: from, to, radius, offset, angle; cone: apex, half angle, radius;
    box: x, x, y, y, z, z; jaw: x, x, inner, outer, width, angle."""
    if kind in ("cylinder", "screw"):
        low, high, radius = numbers[:3]
        offset, angle = numbers[3:] if kind == "screw" else (0.0, 0.0)
        y, z = about_x(angle - turn)[1:, 2] * offset
        return fcl.Cylinder(radius, high - low), LAID, ((low + high) / 2, y, z)
    if kind == "cone":
        apex, half, radius = numbers
        length = radius / math.tan(math.radians(half))
        return fcl.Cone(radius, length), LAID, (apex + length / 2, 0.0, 0.0)
    if kind == "box":
        low, high = np.array(numbers[0::2]), np.array(numbers[1::2])
        return fcl.Box(*(high - low)), UPRIGHT, (low + high) / 2
    x0, x1, inner, outer, width, angle = numbers
    turned = about_x(angle - turn)
    middle = turned @ np.array([0.0, 0.0, (inner + outer) / 2])
    return fcl.Box(x1 - x0, width, outer - inner), turned, (middle[0] + (x0 + x1) / 2, middle[1], middle[2])


def distance(a, b):
    bodies = [fcl.CollisionObject(shape, fcl.Transform(turned, np.array(place))) for shape, turned, place in (a, b)]
    return fcl.distance(*bodies, fcl.DistanceRequest(), fcl.DistanceResult())


def main():
    dice = random.Random(1)

    def between(low, high):
        return round(dice.uniform(low, high), 2)

    def span(low, high, least, most):
        start = between(low, high)
        return [start, round(start + between(least, most), 2)]

    movers = {
        "cylinder": lambda: [between(2, 20), *span(0, 30, 5, 30)],
        "ball": lambda: [between(1, 8)],
        "vee": lambda: [between(2, 10), between(3, 12)],
    }
    standers = {
        "cylinder": lambda: [*span(-40, 10, 5, 40), between(5, 40)],
        "screw": lambda: [*span(-10, 5, 5, 30), between(1, 4), between(5, 20), between(-180, 180)],
        "cone": lambda: [between(-20, 20), between(15, 45), between(4, 12)],
        "box": lambda: [*span(-30, 10, 5, 40), *span(-30, 10, 5, 40), *span(-60, -10, 5, 60)],
        "jaw": lambda: [*span(-30, 0, 5, 25), *span(8, 25, 5, 20), between(5, 18), between(-180, 180)],
    }
    print(f"# Least distances by python-fcl {version('python-fcl')} (Flexible Collision Library); made by clearances.py.")
    print("# moving; its numbers; fixed; its numbers; tip x, y, z and turn; least distance. mm and degrees.")
    for mover, mover_numbers in movers.items():
        for stander, stander_numbers in standers.items():
            rows = 0
            while rows < 12:
                own, other = mover_numbers(), stander_numbers()
                tip = [between(-45, 45) for _ in range(3)]
                turn = between(-720, 720)
                found = distance(moving(mover, own, tip), standing(stander, other, turn))
                if found < 0.05:
                    continue
                fields = [mover, own, stander, other, [*tip, turn], [f"{found:.5f}"]]
                print("; ".join(f if isinstance(f, str) else " ".join(str(n) for n in f) for f in fields))
                rows += 1


if __name__ == "__main__":
    main()
