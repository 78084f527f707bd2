"""``explain``: every step from trial to verdict."""

from __future__ import annotations

import argparse
import sys

from screen_tui.cli.arguments import takes_session
from screen_tui.cli.input import judged
from screen_tui.cli.output import print_json
from screen_tui.report.explain import write_explanation


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    takes_session(command)
    command.add_argument("--json", action="store_true", help="a step an element, in order")


def run(arguments: argparse.Namespace) -> int:
    """Print the explanation."""
    explanation = write_explanation(*judged(arguments))
    if arguments.json:
        print_json({"steps": explanation.rstrip("\n").split("\n")}, versioned=True)
    else:
        sys.stdout.write(explanation)
    return 0
