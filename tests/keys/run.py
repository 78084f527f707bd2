"""Sends random keys, and all else a terminal may send, and checks that the program bears it.

    .venv/bin/python tests/keys/run.py [--sessions 500] [--seed WORD] [--only N] [--size 80x24]
                                       [--jobs 2] [--without KIND] [--shrink]

Each session opens the installed command in a real pseudo-terminal and sends for a few seconds what
comes from a keyboard, a mouse, a clipboard or a broken line; then the program is asked to end. The
exit code is 1 when a session did not end as it should.
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
    from keys.plans import chains
    from keys.play import Player, play
    from keys.sends import OTHERS

    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("--sessions", type=int, default=500, help="how many")
    parser.add_argument("--seed", default="knee", help="the same seed gives the same sessions")
    parser.add_argument("--only", type=int, help="play only this one, and those it goes on after")
    parser.add_argument("--size", type=_size, help="columns and rows, such as 80x24, of all")
    parser.add_argument("--jobs", type=int, default=1, help="how many at the same time")
    parser.add_argument("--without", action="append", default=[], choices=OTHERS, help="not sent")
    parser.add_argument("--shrink", action="store_true", help="the fewest sends that fail, too")
    arguments = parser.parse_args()
    _tell(f"seed {arguments.seed}")
    sessions = arguments.only or arguments.sessions
    plans = list(
        chains(arguments.seed, sessions, size=arguments.size, without=frozenset(arguments.without))
    )
    with tempfile.TemporaryDirectory(prefix="knee-keys-") as below:
        tally = play(
            Player(Path(below)),
            plans[-1:] if arguments.only else plans,
            jobs=arguments.jobs,
            shrink=arguments.shrink,
            tell=_tell,
        )
    _tell(str(tally))
    return tally.exit_code


def _size(text: str) -> tuple[int, int]:
    columns, rows = text.split("x")
    return int(columns), int(rows)


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
