"""How a reader ends: what it found on the error stream, and 1 if that was anything, or if there was nothing to read."""

import pathlib
import sys
from collections.abc import Callable


def verdict(found: list[str], read: int) -> int:
    print("\n".join(found), file=sys.stderr, end="\n" if found else "")
    return 1 if found or read == 0 else 0


def of_files(faults: Callable[[pathlib.Path], list[str]]) -> int:
    """Of the files that are named on the command line."""
    paths = [pathlib.Path(path) for path in sys.argv[1:]]
    return verdict([fault for path in paths for fault in faults(path)], len(paths))
