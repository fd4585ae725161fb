#!/usr/bin/env python3
"""The carve beside a general-purpose mesh Boolean library: the same blocks, one after the other, on one core.

    python3 crates/carve/benches/side_by_side.py [--rounds N]

It needs Python with venv, Cargo, and on its first run a way to the Python packages. For every block the hull of the
cutter in both its positions is taken from a mesh of the blank, as is common where no sweep is at hand (common practice,
no source): block by block, and all in one batch. The cutters have 64 facets (flat) and 32 (ball), the blank 360.
"""

import argparse
import json
import math
import os
import platform
import statistics
import subprocess
import sys
import time
import venv
from pathlib import Path

LIBRARY = "manifold3d==3.5.4"
FACETS = {"flat 12": 64, "ball 3": 32}
BLANK_FACETS = 360

root = Path(__file__).resolve().parents[3]
target = Path(os.environ.get("CARGO_TARGET_DIR", root / "target")).resolve()


def main():
    parser = argparse.ArgumentParser(description="The carve beside mesh Booleans, on one core")
    parser.add_argument("--rounds", type=int, default=3, help="rounds, of which the median counts")
    rounds = max(1, parser.parse_args().rounds)
    go_on_with_library()
    build = ["cargo", "build", "--release", "--locked", "-p", "dryturn-carve", "--example", "side_by_side"]
    subprocess.run(build, cwd=root, check=True)
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
    seconds, volumes, truths = {}, {}, {}
    for round_number in range(rounds):
        job = carve(with_truth=round_number == 0)
        for work in job["works"]:
            name = work["name"]
            truths.setdefault(name, work["true_mm3"])
            for ran in work["carves"]:
                note(seconds, volumes, name, f"carve, pitch {ran['pitch']}", ran["seconds"], ran["removed_mm3"])
            for way, subtract in WAYS.items():
                note(seconds, volumes, name, way, *mesh(job, work, subtract))
    show(seconds, volumes, truths)


def go_on_with_library():
    """Starts this script anew in an environment that holds the library, which it makes where it is missing."""
    home = target / "side_by_side"
    python = home / "bin" / "python"
    if Path(sys.prefix).resolve() == home.resolve():
        return
    ready = home / LIBRARY
    if not ready.exists():
        venv.create(home, with_pip=True, clear=True)
        subprocess.run([python, "-m", "pip", "install", "--quiet", LIBRARY], check=True)
        ready.touch()
    os.execv(python, [str(python), __file__, *sys.argv[1:]])


def carve(with_truth):
    command = [target / "release" / "examples" / "side_by_side", *(["--truth"] if with_truth else [])]
    return json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)


def note(seconds, volumes, name, way, took, volume):
    seconds.setdefault((name, way), []).append(took)
    volumes[name, way] = volume


def one_by_one(blank, tools):
    for tool in tools:
        blank = blank - tool
        blank.num_tri()  # The library puts work off until its result is asked for.
    return blank


def batched(blank, tools):
    from manifold3d import Manifold, OpType

    return Manifold.batch_boolean([blank, *tools], OpType.Subtract)


WAYS = {"mesh, one by one": one_by_one, "mesh, batched": batched}


def mesh(job, work, subtract):
    """Seconds and the volume removed, mm³: from blocks to the volume, as for the carve."""
    from manifold3d import Manifold

    size = job["blank"]
    start = time.perf_counter()
    blank = Manifold.cylinder(size["length"], size["radius"], circular_segments=BLANK_FACETS).rotate([0, 90, 0])
    before = blank.volume()
    cutter = cutter_points(work)
    positions = [placed(cutter, pose) for pose in job["poses"]]
    left = subtract(blank, map(hull, positions, positions[1:]))
    removed = before - left.volume()
    return time.perf_counter() - start, removed


def hull(before, after):
    import numpy
    from manifold3d import Manifold

    return Manifold.hull_points(numpy.concatenate([before, after]))


def cutter_points(work):
    """Corners of the convex cutter, its tip at the origin, its axis along z."""
    import numpy

    facets, radius = FACETS[work["name"]], 0.5 * work["diameter"]
    rims = [(radius, work["length"])]
    if work["name"].startswith("ball"):
        quarter = [0.5 * math.pi * k / (facets // 4) for k in range(facets // 4 + 1)]
        rims += [(radius * math.sin(a), radius - radius * math.cos(a)) for a in quarter]
    else:
        rims += [(radius, 0.0)]
    around = [2 * math.pi * k / facets for k in range(facets)]
    return numpy.array([(r * math.cos(a), r * math.sin(a), z) for r, z in rims for a in around])


def placed(points, pose):
    """In the frame of the blank: what stands on top at the turn a lies at (−sin a, cos a)."""
    import numpy

    x, y, z, turn = pose
    s, c = math.sin(turn), math.cos(turn)
    about_x = numpy.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    return (points + (x, y, z)) @ about_x.T


def show(seconds, volumes, truths):
    date = time.strftime("%Y-%m-%d", time.gmtime())
    print(f"{date}, commit {commit()}, {platform.machine()}, {os.cpu_count()} cores, {LIBRARY}\n")
    print("| cutter | by | s | times the carve at 0.25 | at 0.1 | removed, mm³ | off, mm³ | off |")
    print("|---|---|---|---|---|---|---|---|")
    middle = {key: statistics.median(took) for key, took in seconds.items()}
    for (name, way), took in middle.items():
        carves = [middle[name, f"carve, pitch {pitch}"] for pitch in (0.25, 0.1)]
        times = [f"{took / carve:.0f}" if way in WAYS else "–" for carve in carves]
        off = volumes[name, way] - truths[name]
        cells = [name, way, f"{took:.3f}", *times, f"{volumes[name, way]:.2f}", f"{off:+.2f}"]
        print(f"| {' | '.join(cells)} | {100 * off / truths[name]:+.3f} % |")
    for name, truth in truths.items():
        print(f"\nTrue volume, {name}: {truth:.3f} mm³")


def commit():
    """The commit at hand, with a + if the crate differs from it."""

    def git(*arguments):
        return subprocess.run(["git", *arguments], cwd=root, check=True, stdout=subprocess.PIPE, text=True).stdout

    changed = git("status", "--porcelain", "--", "crates/carve/src", "crates/geom/src")
    return git("rev-parse", "--short", "HEAD").strip() + ("+" if changed else "")


if __name__ == "__main__":
    main()
