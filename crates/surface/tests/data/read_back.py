#!/usr/bin/env python3
"""Writes a scene's bodies in every format and has other libraries read them back: trimesh, and lib3mf for 3MF.

    python3 -m venv env && env/bin/pip install trimesh==5.2.0 lib3mf==2.5.0 numpy scipy networkx lxml
    env/bin/python read_back.py COMMAND SCENE [PITCH]

COMMAND is a built dryturn, SCENE a folder with a scene.toml. Every body must be watertight, wound outward, of the volume
that `dryturn prove` counts, and the same in all formats; blank = piece + removed. Prints a row for each, and fails at the
first that is not so.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

import lib3mf
import numpy as np
import trimesh

command, scene = sys.argv[1:3]
pitch = ["--pitch", sys.argv[3]] if len(sys.argv) > 3 else []
# Of the blank: rays miss some of a wall that stands between them, and the piece is thinned by 5 um.
COUNTED, FORMATS, SUM = 2e-3, 1e-6, 1e-4
BODIES = ["piece", "removed", "blank"]


def run(*arguments):
    done = subprocess.run([command, *arguments], capture_output=True, text=True)
    if done.returncode not in (0, 1):
        sys.exit(done.stderr)


def one(name, path):
    """The body of a file, as one mesh in millimetres in the piece frame."""
    mesh = trimesh.load(path, force="mesh", process=True, merge_norm=True, merge_tex=True)
    if path.suffix == ".glb":
        # +Y up in metres: z of the piece is Y, its y is -Z.
        x, y, z = 1000.0 * mesh.vertices.T
        mesh.vertices = np.column_stack([x, -z, y])
        # Single precision in metres: what falls together within it is one.
        mesh.merge_vertices(digits_vertex=4, merge_norm=True)
    return mesh


def check(name, path, counted, blank):
    mesh = one(name, path)
    print(f"{path.name:<14}{len(mesh.faces):>9} triangles  watertight {mesh.is_watertight}  outward "
          f"{mesh.is_winding_consistent and mesh.volume > 0}  {mesh.volume:14.3f} mm3  "
          f"{(mesh.volume - counted) / blank:+.1e} of the blank")
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0, path
    assert abs(mesh.volume - counted) < COUNTED * blank, (path, counted)
    return mesh


def by_lib3mf(path, names):
    """What the consortium's own library finds in a file."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0, [reader.GetWarning(k) for k in range(reader.GetWarningCount())]
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects, found = model.GetMeshObjects(), []
    while objects.MoveNext():
        mesh = objects.GetCurrentMeshObject()
        assert mesh.IsManifoldAndOriented() and mesh.IsValid(), mesh.GetName()
        found.append(mesh.GetName())
    groups = model.GetBaseMaterialGroups()
    groups.MoveNext()
    group = groups.GetCurrentBaseMaterialGroup()
    paints = [group.GetName(number) for number in group.GetAllPropertyIDs()]
    print(f"lib3mf, strict: {path.name} manifold and oriented: {', '.join(found)}; paints {', '.join(paints)}")
    assert found[:len(names)] == names, found


with tempfile.TemporaryDirectory() as folder:
    folder = Path(folder)
    run("prove", scene, "--out", str(folder / "out"), "--quiet", "--fail-on", "never")
    report = json.loads((folder / "out/report.json").read_text())
    counted = dict(zip(BODIES, (report[key] for key in ("left_mm3", "removed_mm3", "blank_mm3"))))
    blank, volumes = report["blank_mm3"], {}
    for body in BODIES:
        for ending in ("stl", "ply", "glb", "3mf"):
            path = folder / f"{body}.{ending}"
            run("mesh", scene, "-o", str(path), "--what", body, "--quiet", *pitch)
            mesh = check(body, path, counted[body], blank)
            first = volumes.setdefault(body, mesh.volume)
            assert abs(mesh.volume / first - 1.0) < FORMATS, (path, first)
    rest = (volumes["blank"] - volumes["piece"] - volumes["removed"]) / blank
    print(f"blank less piece and removed: {rest:+.1e} of the blank")
    assert abs(rest) < SUM
    for color in ("wood", "cutter"):
        path = folder / f"all-{color}.3mf"
        run("mesh", scene, "-o", str(path), "--what", "piece,removed,blank,holding", "--color", color, *pitch)
        by_lib3mf(path, BODIES[:1] + BODIES[1:])
print("all read back")
