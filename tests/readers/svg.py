"""Reads SVG files as XML: well formed, at 1:1 in millimetres, every dimension as long as it says.

Usage: svg.py FILE.svg...
"""

import math
import pathlib
import sys
from xml.etree import ElementTree

from verdict import of_files

SVG = "{http://www.w3.org/2000/svg}"

# Both ends of a dimension are written to a thousandth of a millimetre.
ROUNDING_MM = 2e-3


def faults(path: pathlib.Path) -> list[str]:
    try:
        drawing = ElementTree.parse(path).getroot()
    except ElementTree.ParseError as error:
        return [f"{path.name}: {error}"]
    found = []
    _, _, width, height = drawing.get("viewBox", "").split()
    if (drawing.get("width"), drawing.get("height")) != (f"{width}mm", f"{height}mm"):
        found.append(f"{path.name}: not at 1:1")
    if not drawing.findtext(f"{SVG}title") or not drawing.findtext(f"{SVG}desc"):
        found.append(f"{path.name}: without title or description")
    dimensions = [group for group in drawing.iter(f"{SVG}g") if group.get("data-dim")]
    if not dimensions:
        found.append(f"{path.name}: measures nothing")
    for group in dimensions:
        (line,) = [line for line in group.iter(f"{SVG}line") if line.get("class") == "measured"]
        x1, y1, x2, y2 = (float(line.get(name)) for name in ("x1", "y1", "x2", "y2"))
        length = math.hypot(x2 - x1, y2 - y1)
        if abs(length - abs(float(group.get("data-value")))) > ROUNDING_MM:
            found.append(f"{path.name}: {group.get('data-dim')} is drawn {length} mm long")
    return found


if __name__ == "__main__":
    sys.exit(of_files(faults))
