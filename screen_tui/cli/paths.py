"""``paths``: the places the program reads from and writes to."""

from __future__ import annotations

import argparse
import sys

from screen_tui.cli.arguments import writes_json
from screen_tui.cli.input import preferences, protocol_folders
from screen_tui.cli.output import print_json
from screen_tui.files.places import demo_folder, practice_runs_folder, sessions_folder
from screen_tui.files.text import harmless


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    writes_json(command)


def run(arguments: argparse.Namespace) -> int:
    """Print each place."""
    wished = preferences()
    protocols = [str(folder) for folder in protocol_folders(arguments, wished)]
    others = {
        "demo_sessions": str(demo_folder()),
        "sessions": str(sessions_folder(arguments.sessions)),
        "practice": str(practice_runs_folder(arguments.sessions)),
        "preferences": str(wished.path),
    }
    if arguments.json:
        print_json({"protocols": protocols, **others}, versioned=True)
        return 0
    for name, place in [*(("protocols", folder) for folder in protocols), *others.items()]:
        sys.stdout.write(f"{name.replace('_', ' ')}: {harmless(place)}\n")
    return 0
