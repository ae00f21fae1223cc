#!/usr/bin/env python3
"""Makes the meshes of the examples (binary STL, millimetres). Needs: pip install manifold3d numpy.

The meshes are committed; this file is here so that they can be changed and made again.
"""
import pathlib
import struct

import numpy as np
from manifold3d import CrossSection, Manifold

HERE = pathlib.Path(__file__).parent


def box(x, y, z, at=(0, 0, 0)):
    return Manifold.cube((x, y, z)).translate(at)


def cylinder(d, h, at=(0, 0, 0), axis="z", n=64):
    c = Manifold.cylinder(h, d / 2, d / 2, n)
    if axis == "x":
        c = c.rotate((0, 90, 0))
    if axis == "y":
        c = c.rotate((-90, 0, 0))
    return c.translate(at)


def extruded(points, height):
    return Manifold.extrude(CrossSection([points]), height)


def write(name, solid):
    mesh = solid.to_mesh()
    corners = np.asarray(mesh.vert_properties)[:, :3].astype("<f4")[np.asarray(mesh.tri_verts)]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-20)
    path = HERE / name
    path.parent.mkdir(exist_ok=True)
    with open(path, "wb") as out:
        out.write(b"makeready example".ljust(80, b" "))
        out.write(struct.pack("<I", len(corners)))
        for normal, triangle in zip(normals.astype("<f4"), corners):
            out.write(normal.tobytes() + triangle.tobytes() + b"\0\0")
    print(f"{name}: {len(corners)} triangles, {solid.volume():.0f} mm3")


def coat_hook():
    """A hook for wet coats: back plate 40 x 8 x 90, an arm 22 wide that rises to its tip, two M5 holes along y."""
    plate = box(40, 8, 90)
    arm = extruded([(0, 0), (44, 14), (44, 34), (37, 34), (35, 26), (0, 30)], 22)
    # the profile lies in x-y and is extruded along z: turn it to stand in y-z, 22 wide along x
    arm = arm.rotate((90, 0, 90)).translate((9, 8, 22))
    solid = plate + arm
    for z in (10, 80):
        solid -= cylinder(5.5, 12, (20, -2, z), "y")
    return solid


def vane_bracket():
    """An angle bracket of one width (24 along y): wall plate at x = 0, arm along +x, gusset under it, a bore along z
    through the arm's end and two holes for inserts beside it."""
    profile = [(0, 0), (10, 0), (80, 52), (180, 52), (180, 76), (10, 76), (10, 96), (0, 96)]
    solid = extruded(profile, 24).rotate((90, 0, 0)).translate((0, 12, 0))
    solid -= cylinder(8, 40, (165, 0, 45))
    for z in (12, 86):
        solid -= cylinder(5.5, 30, (-5, 0, z), "x")
    for x in (145, 153):
        solid -= cylinder(4.0, 8, (x if x < 150 else 176, 0, 69))
    return solid


def peg_tag():
    """A numbered peg tag, 46 x 22 x 3, with a hole for a cord."""
    tag = Manifold.extrude(
        CrossSection.square((40, 16)).translate((3, 3)).offset(3, circular_segments=48), 3
    )
    return tag - cylinder(5, 5, (7, 11, -1))


def pulley_fork():
    """Fork for a rope pulley: base 50 x 30 x 8, two cheeks, a pin hole 8 along y, two bolt holes."""
    solid = box(50, 30, 8)
    for y in (0, 22):
        solid += box(30, 8, 36, (10, y, 8)) + cylinder(30, 8, (25, y, 44), "y")
    solid -= cylinder(8, 40, (25, -5, 44), "y")
    for x in (5, 45):
        solid -= cylinder(4.5, 12, (x, 15, -2))
    return solid


def spindle_block():
    """Bearing block for the grain mill's spindle: seat for a 608 bearing along y, two dowel holes, four bolt holes."""
    solid = box(60, 20, 40)
    solid -= cylinder(22, 7, (30, 13, 22), "y", 128) + cylinder(15, 30, (30, -5, 22), "y", 96)
    for x in (10, 50):
        solid -= cylinder(6, 14, (x, 10, -1))
    for x in (20, 40):
        solid -= cylinder(4.5, 50, (x, 5, -5))
    return solid


def coolant_elbow():
    """Hose elbow for the generator's coolant: two tubes 20 bore, 3 wall, meeting at right angles."""
    outer = cylinder(26, 60, (0, 0, 0), "x") + cylinder(26, 60, (0, 0, 0)) + Manifold.sphere(13, 64)
    inner = cylinder(20, 70, (0, 0, 0), "x") + cylinder(20, 70, (0, 0, 0)) + Manifold.sphere(10, 64)
    return outer - inner


def door_bumper():
    """Soft bumper for the woodshed door: a stepped disc with a screw hole and a counterbore for the screw's head."""
    solid = cylinder(40, 6) + cylinder(30, 18)
    return solid - cylinder(5, 30, (0, 0, -5)) - cylinder(11, 10, (0, 0, 12))


if __name__ == "__main__":
    write("coat-hook/coat-hook.stl", coat_hook())
    write("vane-bracket/vane-bracket.stl", vane_bracket())
    write("peg-tags/peg-tag.stl", peg_tag())
    write("pulley-fork/pulley-fork.stl", pulley_fork())
    write("spindle-block/spindle-block.stl", spindle_block())
    write("coolant-elbow/coolant-elbow.stl", coolant_elbow())
    write("door-bumper/door-bumper.stl", door_bumper())
