"""Measures the program in a real pseudo-terminal and holds the figures against their goals.

Not a test: the figures depend on the machine, so neither pytest nor CI runs this. The exit code is
1 when a goal is missed and 3 when something could not be measured at all.

    .venv/bin/python tests/benchmarks/run.py [--quick] [--json] [NAME ...]
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
from pathlib import Path

FAILED = 3


def main() -> int:
    """Run what was asked for and print it."""
    # A script finds what lies beside it; the helpers are imported as the tests import them.
    sys.path[0] = str(Path(__file__).resolve().parent.parent)
    from benchmarks.figures import Figures, Plan
    from benchmarks.registry import MEASUREMENTS
    from benchmarks.table import as_json, as_table, exit_code

    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(MEASUREMENTS))
    parser.add_argument("--quick", action="store_true", help="fewer repetitions, rougher figures")
    parser.add_argument("--json", action="store_true", help="the same for another program")
    arguments = parser.parse_args()
    unknown = [name for name in arguments.names if name not in MEASUREMENTS]
    if unknown:
        parser.error(f"no such measurement: {', '.join(unknown)}")
    found: dict[str, Figures] = {}
    failed = False
    for name in arguments.names or MEASUREMENTS:
        sys.stderr.write(f"{name} ...\n")
        try:
            found[name] = MEASUREMENTS[name](Plan(quick=arguments.quick))
        except Exception as error:
            # The figures of the others took minutes; they are told all the same.
            failed = True
            sys.stderr.write(f"{name} could not be measured: {error}\n")
    if arguments.json:
        sys.stdout.write(as_json(found, _machine(), quick=arguments.quick))
    else:
        about = "  ".join(f"{key} {value}" for key, value in _machine().items())
        sys.stdout.write(f"{about}\n\n{as_table(found)}")
    return FAILED if failed else exit_code(found)


def _machine() -> dict[str, object]:
    """What the figures depend on; the name of the machine is nobody's business."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else None
    return {
        "system": platform.system(),
        "python": platform.python_version(),
        "cores": os.cpu_count(),
        "load": load if load is None else round(load, 1),
    }


if __name__ == "__main__":
    sys.exit(main())
