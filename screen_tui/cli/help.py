"""``help``: the guides, one topic at a time."""

from __future__ import annotations

import argparse
import sys

from screen_tui.guides import TOPICS, guide


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    command.add_argument("topic", nargs="?", metavar="TOPIC", help="none lists the topics")


def run(arguments: argparse.Namespace) -> int:
    """Print the guide on a topic, or the topics."""
    if arguments.topic is not None:
        sys.stdout.write(guide(arguments.topic))
        return 0
    for topic, about in TOPICS.items():
        sys.stdout.write(f"screen-tui help {topic:<15} {about}\n")
    return 0
