"""Reads DXF files with ezdxf and audits them: nothing broken, nothing that had to be mended, drawn in millimetres.

Usage: dxf.py FILE.dxf...
"""

import pathlib
import sys

import ezdxf
from ezdxf import units
from verdict import of_files


def faults(path: pathlib.Path) -> list[str]:
    try:
        document = ezdxf.readfile(path)
    except (OSError, ezdxf.DXFError) as error:
        return [f"{path.name}: {error}"]
    auditor = document.audit()
    entities = len(document.modelspace())
    print(f"{path.name}: {document.dxfversion}, {entities} entities, {len(document.layers)} layers")
    found = [f"{path.name}: {entry.message}" for entry in [*auditor.errors, *auditor.fixes]]
    if entities == 0:
        found.append(f"{path.name}: draws nothing")
    if document.units != units.MM:
        found.append(f"{path.name}: not in millimetres")
    return found


if __name__ == "__main__":
    sys.exit(of_files(faults))
