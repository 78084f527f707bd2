"""``python -m screen_tui`` and the installed command."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from screen_tui.spared import spare

__all__ = ["main"]


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program and give its exit code.

    Args:
        argv: The arguments without the program's name; those of the process when left out.
    """
    spare()
    from screen_tui import cli

    return cli.main(argv)


if __name__ == "__main__":
    sys.exit(main())
