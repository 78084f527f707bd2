"""``export``: a session in an open standard."""

from __future__ import annotations

import argparse

from screen_tui.cli.arguments import takes_session, writes_file
from screen_tui.cli.input import judged
from screen_tui.cli.output import put
from screen_tui.report.fhir.bundle import write_bundle


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    takes_session(command)
    command.add_argument(
        "--fhir", action="store_true", required=True, help="as an HL7 FHIR R4 bundle (JSON)"
    )
    writes_file(command)


def run(arguments: argparse.Namespace) -> int:
    """Write the bundle, in UTF-8 whatever the terminal speaks."""
    put(write_bundle(*judged(arguments)).encode(), arguments, "the bundle", [arguments.file])
    return 0
