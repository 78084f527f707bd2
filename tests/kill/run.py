"""Ends the program at random instants and checks that nothing the screen said was lost.

    .venv/bin/python tests/kill/run.py [--kills 200] [--others 20] [--seed WORD] [--only N]

Each round starts the installed command in a real pseudo-terminal, does a screen with random keys,
ends the program (SIGKILL, then SIGTERM, SIGHUP and a closed terminal) and reads its folder. The
exit code is 1 when something was lost or could not be read.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path


def main() -> int:
    """Play what was asked for and tell what it came to."""
    # A script finds what lies beside it; the helpers are imported as the tests import them.
    sys.path[0] = str(Path(__file__).resolve().parent.parent)
    from kill.play import play

    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("--kills", type=int, default=200, help="rounds ended with SIGKILL")
    parser.add_argument("--others", type=int, default=20, help="rounds ended in each other way")
    parser.add_argument("--seed", default="knee", help="the same seed gives the same rounds")
    parser.add_argument("--only", type=int, help="play only the round of this number")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="knee-kill-") as below:
        tally = play(
            Path(below),
            arguments.seed,
            arguments.kills,
            arguments.others,
            only=arguments.only,
            tell=_tell,
        )
    _tell(str(tally))
    return tally.exit_code


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
