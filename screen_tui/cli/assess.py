"""``assess``: what a saved session comes to."""

from __future__ import annotations

import argparse
import sys

from screen_tui.cli.arguments import takes_session, writes_json
from screen_tui.cli.input import judged
from screen_tui.cli.output import print_json
from screen_tui.report.answer import assessed_document
from screen_tui.report.layout import Layout, write_text
from screen_tui.report.machine import assessment_as_dict


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    takes_session(command)
    writes_json(command, "everything")


def run(arguments: argparse.Namespace) -> int:
    """Print the summary of an assessment, or all of it."""
    protocol, session, assessment = judged(arguments)
    if arguments.json:
        print_json(assessment_as_dict(protocol, session, assessment))
    else:
        document = assessed_document(protocol, session, assessment)
        sys.stdout.write(write_text(document, Layout(ascii_only=True)))
    return 0
