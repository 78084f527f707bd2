"""``export``: a session in an open standard."""

from __future__ import annotations

import argparse

from screen_tui.cli.arguments import takes_session, writes_file
from screen_tui.cli.deidentify import takes_deidentify, without_identity
from screen_tui.cli.input import judged
from screen_tui.cli.output import put
from screen_tui.report.fhir.bundle import write_bundle
from screen_tui.timing.clock import SystemClock


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    takes_session(command)
    command.add_argument(
        "--fhir", action="store_true", required=True, help="as an HL7 FHIR R4 bundle (JSON)"
    )
    takes_deidentify(command)
    writes_file(command)


def run(arguments: argparse.Namespace) -> int:
    """Write the bundle, in UTF-8 whatever the terminal speaks."""
    protocol, session, found = judged(arguments)
    if arguments.deidentify:
        view = without_identity(protocol, session, SystemClock().wall())
        session, found = view.to_show(), view.assessed(protocol)
    bundle = write_bundle(protocol, session, found)
    put(bundle.encode(), arguments, "the bundle", [arguments.file])
    return 0
