#!/usr/bin/env python3
"""Writes motion_times.csv: shortest times over a length between two speeds, by the motion library ruckig.

    python3 -m venv env && env/bin/pip install ruckig==0.19.4 && env/bin/python motion_times.py > motion_times.csv

The jerk is not bounded. Lengths in mm, seconds. Both end speeds are such that they can be reached from each other.
"""

import math
import random
from importlib.metadata import version

from ruckig import InputParameter, Result, Ruckig, Trajectory


def shortest(length, entry, cruise, leave, acceleration):
    asked = InputParameter(1)
    asked.current_position, asked.target_position = [0.0], [length]
    asked.current_velocity, asked.target_velocity = [entry], [leave]
    asked.max_velocity, asked.max_acceleration, asked.max_jerk = [cruise], [acceleration], [math.inf]
    trajectory = Trajectory(1)
    assert Ruckig(1).calculate(asked, trajectory) == Result.Working
    return trajectory.duration


random.seed(12)
print(f"# ruckig {version('ruckig')}")
print("length,entry,cruise,exit,acceleration,seconds")
for _ in range(200):
    cruise, acceleration = random.uniform(5, 150), random.choice([100.0, 400.0, 1500.0])
    length = random.choice([0.05, 0.5, 3.0, 20.0, 200.0]) * random.uniform(0.5, 1.5)
    entry = random.choice([0.0, random.uniform(0, cruise)])
    most = min(cruise, math.sqrt(entry**2 + 2 * acceleration * length))
    least = math.sqrt(max(0.0, entry**2 - 2 * acceleration * length))
    leave = random.uniform(least, most) if least > 0 else random.choice([0.0, random.uniform(0, most)])
    row = [round(v, 6) for v in (length, entry, cruise, leave, acceleration)]
    row[3] = min(row[3], row[2])
    try:
        print(",".join(str(v) for v in row) + f",{shortest(*row):.9f}")
    except (AssertionError, RuntimeError):
        continue
