#!/usr/bin/env python3
"""Writes bars.csv: stepped bars under one force, by the frame library PyNiteFEA.

    python3 -m venv env && env/bin/pip install PyNiteFEA==3.2.0 scipy && env/bin/python bars.py > bars.csv

N, mm, MPa. The bar lies along X; its segments have principal axes turned about X against Y and Z, so that a force along
one of these moves it along both. A segment is written as end:yy:zz:yz, the last three its second moments about Y and Z as
integrals of y², z² and yz. Shear deflection is not in it. Moments are those at the station, as the part before it feels
them: above 0 where they bend the bar as a force does that pulls at its free end.
"""

import math
import random
from importlib.metadata import version

from Pynite import FEModel3D


def bar(holding, modulus, segments, load, force, station):
    model = FEModel3D()
    model.add_material("wood", modulus, modulus / 16, 0.3, 1e-9)
    places = sorted({0.0, load, station, *(end for end, *_ in segments)})
    length = places[-1]
    for at in places:
        model.add_node(f"N{at}", at, 0, 0)
    for one, other in zip(places, places[1:]):
        middle = 0.5 * (one + other)
        place = next(k for k, (end, *_) in enumerate(segments) if middle < end)
        _, across, up, turned = segments[place]
        name = f"S{one}"
        # Iz goes with deflection along the member's own y.
        model.add_section(name, 1e4, up, across, across + up)
        model.add_member(f"M{one}", f"N{one}", f"N{other}", "wood", name, rotation=turned)
    clamped = holding != "centers"
    model.def_support("N0.0", True, True, True, True, clamped, clamped)
    if holding != "clamped":
        model.def_support(f"N{length}", False, True, True, False, False, False)
    model.add_node_load(f"N{load}", "FY", force[0])
    model.add_node_load(f"N{load}", "FZ", force[1])
    model.analyze_linear(log=False)
    combo = "Combo 1"
    node, end = model.nodes[f"N{station}"], model.nodes[f"N{length}"]
    ends = model.members[f"M{station}"].F(combo).flatten()
    # The integral of M over s/E is the slope, whatever the axes: My turns z down, Mz turns y up.
    return [node.DY[combo], node.DZ[combo], -end.RxnFY.get(combo, 0.0), -end.RxnFZ.get(combo, 0.0), -ends[5], ends[4]]


def second_moments(across, up, turned):
    c, s = math.cos(math.radians(turned)), math.sin(math.radians(turned))
    return across * c * c + up * s * s, across * s * s + up * c * c, (across - up) * c * s


random.seed(7)
print(f"# PyNiteFEA {version('PyNiteFEA')}")
print("holding,modulus,segments,load,force_y,force_z,station,y,z,reaction_y,reaction_z,moment_y,moment_z")
for row in range(48):
    holding = ["clamped", "propped", "centers"][row % 3]
    modulus = random.choice([8500.0, 11600.0, 12600.0, 69000.0])
    ends = sorted(round(random.uniform(20, 480), 1) for _ in range(random.randint(2, 6))) + [500.0]
    segments = []
    for end in ends:
        across = round(math.pi / 64 * random.uniform(8, 40) ** 4, 2)
        segments.append((end, across, round(across * random.uniform(0.3, 1.0), 2), round(random.uniform(-90, 90), 1)))
    load, station = round(random.uniform(5, 495), 2), round(random.uniform(5, 495), 2)
    force = [round(random.uniform(-40, 40), 2) for _ in range(2)]
    answers = bar(holding, modulus, segments, load, force, station)
    cells = ";".join(
        ":".join(f"{value:.9g}" for value in (end, *second_moments(across, up, turned)))
        for end, across, up, turned in segments
    )
    print(f"{holding},{modulus},{cells},{load},{force[0]},{force[1]},{station}," + ",".join(f"{v:.9g}" for v in answers))
