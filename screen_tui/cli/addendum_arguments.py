"""What ``screen-tui addendum`` may be asked; `screen_tui.cli.addendum_command` does it."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from screen_tui.cli.argument_kinds import a_path


def add_addendum(add: Callable[[str, str], argparse.ArgumentParser]) -> None:
    """Add the command.

    Args:
        add: Adds a command of a name that does something.
    """
    command = add("addendum", "add a correction or a remark to a finished session")
    command.add_argument("file", type=a_path, metavar="FILE", help="a session file; it grows")
    command.add_argument("--reason", required=True, metavar="WORDS", help="why it is added")
    command.add_argument("--text", default="", metavar="WORDS", help="what is added, in words")
    command.add_argument(
        "--trial", type=int, metavar="N", help="about a trial, numbered as explain numbers them"
    )
    change = command.add_mutually_exclusive_group()
    change.add_argument("--value", metavar="V", help="what the trial's value should have been")
    change.add_argument("--strike", action="store_true", help="the trial is not to count")
