"""Reads STL files with trimesh: closed, wound the right way, and of the volume that is expected.

Usage: stl.py EXPECTED.json, a list of {"file", "volume_mm3", "within", "closed"}: `within` is the allowed share by which
the volume may differ. `closed` "surface": every edge has exactly two faces, as one surface has. "solids": thin solids
that lie on each other, so that an edge may belong to several; it then has as many faces one way round as the other.
"""

import json
import pathlib
import sys

import numpy as np
import trimesh
from verdict import verdict


def is_balanced(mesh: trimesh.Trimesh) -> bool:
    """Is every directed edge met by its opposite as often as it is there?"""
    edges, counts = np.unique(mesh.edges, axis=0, return_counts=True)
    seen = {tuple(edge): count for edge, count in zip(edges.tolist(), counts.tolist())}
    return all(seen.get((b, a), 0) == count for (a, b), count in seen.items())


def faults(entry: dict) -> list[str]:
    mesh = trimesh.load_mesh(entry["file"])
    share = mesh.volume / entry["volume_mm3"] - 1.0
    closed = {
        "surface": lambda: mesh.is_watertight and mesh.is_winding_consistent and mesh.euler_number == 2,
        "solids": lambda: is_balanced(mesh),
    }[entry["closed"]]()
    name = pathlib.Path(entry["file"]).name
    print(f"{name}: {len(mesh.faces)} triangles, closed {closed}, volume {mesh.volume:.0f} mm3, {share:+.3%} of what is expected")
    found = []
    if not closed:
        found.append(f"{name}: not closed")
    if not abs(share) <= entry["within"]:
        found.append(f"{name}: volume off by {share:+.3%}, {entry['within']:.2%} allowed")
    return found


def main() -> int:
    entries = json.loads(pathlib.Path(sys.argv[1]).read_text(encoding="utf-8"))
    found = [fault for entry in entries for fault in faults(entry)]
    return verdict(found, len(entries))


if __name__ == "__main__":
    sys.exit(main())
