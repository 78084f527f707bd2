"""``protocols``: the tests, and where they were found."""

from __future__ import annotations

import argparse
import sys

from screen_tui.cli.arguments import writes_json
from screen_tui.cli.input import preferences, protocol_folders
from screen_tui.cli.output import print_json
from screen_tui.files.text import harmless, tell
from screen_tui.protocol.loader import load_protocol, read_layers
from screen_tui.protocol.raw import files_of


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    writes_json(command)


def run(arguments: argparse.Namespace) -> int:
    """Print the tests of the protocols in use."""
    wished = preferences()
    folders = protocol_folders(arguments, wished)
    protocol = load_protocol(folders, wished.now.protocol)
    parts, _ = read_layers([files_of(folder) for folder in folders])
    in_battery = {item.test for item in protocol.battery.items}
    files = {test.id: str(parts.tests[test.id].document.path) for test in protocol.tests}
    if arguments.json:
        tests = [
            {
                "test": test.id,
                "name": test.name,
                "in_battery": test.id in in_battery,
                "file": files[test.id],
            }
            for test in protocol.tests
        ]
        found = {
            "protocol": protocol.battery.id,
            "digest": protocol.digest,
            "folders": [str(folder) for folder in folders],
            "tests": tests,
        }
        print_json(found, versioned=True)
        return 0
    tell(f"screen-tui: {protocol.battery.name} ({protocol.digest})")
    for test in protocol.tests:
        outside = "" if test.id in in_battery else " (not in the test set)"
        sys.stdout.write(f"{test.id}: {test.name}{outside}\n  {harmless(files[test.id])}\n")
    return 0
